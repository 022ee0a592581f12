// What came in from the hill, and the phones it came from.
import { api } from '../api/client'
import type { Choice, EntryState, FieldState } from '../api/types'
import { desk } from '../lib/desk.svelte'
import { faultsOf } from '../lib/jobs.svelte'

class Hill {
  state = $state.raw<FieldState | null>(null)
  faults = $state.raw<string[]>([])
  busy = $state(false)

  /** What waits for a person. */
  waiting = $derived(this.state?.entries.filter((e) => e.state === 'waiting') ?? [])
  settled = $derived(this.state?.entries.filter((e) => e.state !== 'waiting') ?? [])

  async read() {
    try {
      this.state = await api.field()
    } catch (trouble) {
      this.faults = faultsOf(trouble)
    }
  }

  async #do(work: () => Promise<unknown>) {
    this.busy = true
    this.faults = []
    try {
      await work()
    } catch (trouble) {
      this.faults = faultsOf(trouble)
    } finally {
      this.busy = false
      await this.read()
    }
  }

  pair = (exact: boolean) => this.#do(() => api.pair(exact))
  endPairing = () => this.#do(api.endPairing)
  forget = (id: number) => this.#do(() => api.forget(id))
  decide = (entry: EntryState, choice: Choice, lek: string | null, at: [number, number] | null) =>
    this.#do(() => desk.own(() => api.decide(entry.id, { choice, lek, at })))
}

export const hill = new Hill()
