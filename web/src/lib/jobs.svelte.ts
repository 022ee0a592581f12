// Long questions: asked once, followed until they are answered, stopped at will.
import { Gone, Refused, api } from '../api/client'
import type { Ask, Job, ProblemFault } from '../api/types'
import { said } from '../text/common'
import { inPage } from '../text/plain'
import { desk } from './desk.svelte'

const LOOK_EVERY_MS = 700

/** One question and how it stands. */
export class Question<T = unknown> {
  job = $state.raw<Job | null>(null)
  faults = $state.raw<string[]>([])
  asking = $state(false)
  /** The version of the plan it was asked of. */
  #asked = 0

  /** The answer, once there is one. */
  get answer(): T | null {
    return this.job?.state === 'done' ? (this.job.answer as T) : null
  }

  get working(): boolean {
    return this.asking || this.job?.state === 'waiting' || this.job?.state === 'working'
  }

  /** Whether the plan changed since it was asked. */
  get stale(): boolean {
    return this.job?.state === 'done' && desk.plan !== null && desk.plan.version > this.job.version
  }

  ask = (ask: Ask) => this.#follow(() => api.ask(ask))

  /** Take up one that was asked before the page was loaded anew. */
  take = (id: number) => this.#follow(() => api.job(id))

  async #follow(begin: () => Promise<Job>): Promise<Job | null> {
    const turn = (this.#asked += 1)
    this.asking = true
    this.faults = []
    this.job = null
    try {
      let job = await begin()
      while (turn === this.#asked) {
        this.job = job
        if (job.state !== 'waiting' && job.state !== 'working') break
        await new Promise((done) => setTimeout(done, job.seconds < 1 ? 150 : LOOK_EVERY_MS))
        job = await api.job(job.id)
      }
      if (turn !== this.#asked) return null
      if (job.state === 'failed') this.faults = job.faults.map(faultInPage)
      return job
    } catch (trouble) {
      if (turn === this.#asked) this.faults = faultsOf(trouble)
      return null
    } finally {
      if (turn === this.#asked) this.asking = false
    }
  }

  async stop() {
    if (!this.job) return
    try {
      this.job = await api.stop(this.job.id)
    } catch (trouble) {
      this.faults = faultsOf(trouble)
    }
  }
}

/** A fault of a long question; the desk has taken out hints that are typed. */
const faultInPage = (fault: string) => fault.replaceAll('`', '').replace(/\n\s*hint: /g, ' · ')

/** A fault of an answer in one line. */
export const faultLine = (f: ProblemFault) => [f.at, f.needed && said.needed(f.needed), f.found && (f.at || f.needed ? said.found(f.found) : inPage(f.found)), inPage(f.hint)].filter(Boolean).join(' · ')

/** A trouble in words, every fault. */
export function faultsOf(trouble: unknown): string[] {
  if (trouble instanceof Refused) {
    const { title, faults } = trouble.problem
    return [title, ...faults.map(faultLine)]
  }
  if (trouble instanceof Gone) return [said.gone]
  return [trouble instanceof Error ? trouble.message : String(trouble)]
}
