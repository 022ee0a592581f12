// What was asked to be put forward, kept while the reader looks at something else.
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
