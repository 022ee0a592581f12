// Watches what the reader does and ticks the first tasks off.
import { draft } from '../edits/draft.svelte'
import { tasks } from '../text/help'
import { desk } from './desk.svelte'
import { place } from './place.svelte'

const KEPT = 'greyhen.first-tasks'

class Guide {
  ticked = $state<Record<string, boolean>>(read())

  tick(key: string) {
    if (this.ticked[key]) return
    this.ticked = { ...this.ticked, [key]: true }
    localStorage.setItem(KEPT, JSON.stringify(this.ticked))
  }

  /** Begin the tasks anew. */
  anew() {
    this.ticked = {}
    localStorage.removeItem(KEPT)
  }

  get all(): boolean {
    return tasks.every((t) => t.steps.every((s) => this.ticked[`${t.key}.${s.key}`]))
  }

  /** Called whenever what the page shows changes. */
  watch() {
    const row = desk.sheet?.leks.find((l) => l.lek === place.lek)
    if (row && row.pinch === place.season) this.tick('pinch.cell')
    if (desk.season && place.panel === 'why') this.tick('pinch.why')
    if (place.panel === 'feature') this.tick('pinch.mend')
    if (place.option !== null) this.tick('wood.option')
    if (draft.measure?.id && draft.movedBy !== 'begin') this.tick('wood.drag')
    if (place.year >= 20) this.tick('ahead.year')
    if (place.room === 'handover') this.tick('ahead.room')
  }
}

function read(): Record<string, boolean> {
  try {
    return JSON.parse(localStorage.getItem(KEPT) ?? '{}') as Record<string, boolean>
  } catch {
    return {}
  }
}

export const guide = new Guide()
