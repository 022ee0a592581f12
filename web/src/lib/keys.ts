// Keys that work everywhere. What is being typed is never taken for one.
import { draft } from '../edits/draft.svelte'
import { desk } from './desk.svelte'
import { LAST_YEAR, ROOMS, place } from './place.svelte'

const typing = (target: EventTarget | null) =>
  target instanceof HTMLElement && (target.isContentEditable || target.matches('textarea, select, input:not([type=checkbox], [type=radio], [type=range])'))

const go = (year: number) => (place.year = Math.max(0, Math.min(LAST_YEAR, year)))

export function keys(event: KeyboardEvent) {
  const held = event.ctrlKey || event.metaKey
  const key = event.key.toLowerCase()
  if (held && key === 'k') place.show('search')
  else if (typing(event.target) || event.defaultPrevented) return
  else if (held && key === 'z') void (event.shiftKey ? desk.redo() : desk.undo())
  else if (held && key === 'y') void desk.redo()
  else if (held || event.altKey) return
  else if (key === '/') place.show('search')
  else if (key === '?') place.show('keys')
  else if (key === '[') go(place.year - 1)
  else if (key === ']') go(place.year + 1)
  else if (/^[1-5]$/.test(key)) place.room = ROOMS[Number(key) - 1] ?? 'ground'
  else if (key === 'm') { place.room = 'ground'; place.show('measures') }
  else if (key === 'f') { place.room = 'ground'; place.show('findings') }
  else if (key === 'w') { place.room = 'ground'; place.show('why') }
  else if (key === 'escape' && place.panel === 'explain') place.back()
  else if (key === 'escape' && !draft.measure && place.panel !== 'why') place.show('why')
  else return
  event.preventDefault()
}
