// What was asked to be put forward, kept while the reader looks at something else.
import { api } from '../api/client'
import { Question } from '../lib/jobs.svelte'
import { desk } from '../lib/desk.svelte'

export interface Suggested {
  measures: { id: string; why: string; gbp: { usual: number }; geometry: unknown }[]
  objective: number | null; upper_bound: number | null; gap: number | null; notes: string[]
  /** Not every designer tells these. */
  before?: number; gap_of_gain?: number; needs?: number; area_ha?: number; gbp?: number
}

/** One kind of work asked for in one option: what was allowed, and the answer. */
class Asked {
  question = new Question<Suggested>()
  wanted = $state<Record<string, string>>({})
  tracked = $state(false)
  #looked = false

  /** What was asked before the page was loaded anew, and is not out of date, is taken up. */
  async found(option: number | null, kind: string | null) {
    if (this.#looked) return
    this.#looked = true
    const jobs = await api.jobs().catch(() => [])
    const job = jobs.find(({ ask, state, version }) => ask.ask === 'suggest' && ask.option === option && ask.kind === kind && ['waiting', 'working', 'done'].includes(state) && version === desk.plan?.version)
    if (job?.ask.ask !== 'suggest' || this.question.job || this.question.working) return
    for (const [what, value] of Object.entries(job.ask)) if (typeof value === 'number' && what !== 'option') this.wanted[what] = String(value)
    this.tracked = job.ask.tracked ?? false
    void this.question.take(job.id)
  }
}

const asked = new Map<string, Asked>()
const key = (option: number | null, kind: string | null) => `${desk.plan?.file}|${option}|${kind}`

export function askedOf(option: number | null, kind: string | null): Asked {
  const of = key(option, kind)
  const held = asked.get(of) ?? new Asked()
  asked.set(of, held)
  return held
}

/** What was put forward has been laid. */
export const letGo = (option: number | null, kind: string | null) => asked.delete(key(option, kind))
