// The five things that are written down. A form gives what the entry says, or every fault at once.

import { count, el, field, own } from './dom'
import type { Book, Entry, What } from './words'

export type Kind = What['is']

export const TITLES: Record<Kind, string> = { visit: 'Dawn count', stick: 'Stick height', probe: 'Peat probe', note: 'Note', photo: 'Photograph' }

/** Whether the phone's place belongs to it. A count is of a lek: its place is known, and stays out of what is sent. */
export const placed = (kind: Kind): boolean => kind !== 'visit'

/** Today, and the time now, by the phone's clock. */
export function today(): string {
  const now = new Date()
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((n) => String(n).padStart(2, '0')).join('-')
}
const now = (): string => new Date().toTimeString().slice(0, 5)

/** The inputs of a kind, filled with what was written before. */
export function inputs(kind: Kind, book: Book, old: Record<string, string>): HTMLElement[] {
  const text = (name: string, label: string, hint = '') => {
    const area = el('textarea', { name, maxlength: 2000 })
    area.value = old[name] ?? ''
    return field(label, area, hint)
  }
  const day = () => field('Day', el('input', { name: 'date', type: 'date', required: true, max: today(), value: old.date ?? today() }))
  const cm = (label: string) => field(label, el('input', { name: 'cm', type: 'number', inputmode: 'decimal', min: 0, max: 2000, step: 'any', required: true, value: old.cm ?? '' }))
  switch (kind) {
    case 'visit': {
      const options = book.leks.map((lek) => el('option', { value: lek.id, selected: lek.id === old.lek }, [lek.name, lek.exact ?? lek.square].filter(Boolean).join(' · ')))
      return [
        field('Lek', el('select', { name: 'lek', required: true }, el('option', { value: '' }, 'Choose …'), ...options)),
        day(),
        field('Count began', el('input', { name: 'start', type: 'time', value: old.start ?? now() })),
        count('cocks', 'Cocks', old.cocks),
        count('hens', 'Hens', old.hens, 'Empty: not counted. None seen: 0.'),
        field('Weather', el('input', { name: 'weather', maxlength: 200, value: old.weather ?? '', autocomplete: 'off' }), 'Wind, rain, how far you could see'),
        text('note', 'Note'),
      ]
    }
    case 'stick': return [cm('Height of the sward, centimetres'), day(), text('note', 'Note')]
    case 'probe': return [cm('Depth of peat, centimetres'), day()]
    case 'note': return [text('text', 'Note')]
    case 'photo': return [field('Picture', el('input', { name: 'file', type: 'file', accept: 'image/*', capture: 'environment' })), text('text', 'What it shows')]
  }
}

/** What a form says; a string is what is missing. */
export function said(kind: Kind, form: HTMLFormElement): What | string {
  const data = new FormData(form)
  const text = (name: string) => String(data.get(name) ?? '').trim()
  const whole = (name: string): number | null => (text(name) === '' ? null : Number(text(name)))
  const missing: string[] = []
  const date = text('date')
  if (data.has('date') && !/^\d{4}-\d\d-\d\d$/.test(date)) missing.push('the day')
  const cm = Number(text('cm').replace(',', '.'))
  if (data.has('cm') && (text('cm') === '' || !(cm >= 0))) missing.push('the centimetres')
  for (const [name, words] of [['date', 'a day that is not to come'], ['cm', 'no more than 2,000 centimetres']] as const) {
    const input = form.elements.namedItem(name)
    if (input instanceof HTMLInputElement && input.validity.rangeOverflow) missing.push(words)
  }
  if (data.has('lek') && text('lek') === '') missing.push('the lek')
  for (const name of ['cocks', 'hens']) if (whole(name) !== null && !(Number.isInteger(whole(name)) && Number(whole(name)) >= 0)) missing.push(`a whole number of ${name}`)
  if (kind === 'note' && text('text') === '') missing.push('the words')
  if (missing.length > 0) return `Still needed: ${missing.join(', ')}.`
  switch (kind) {
    case 'visit': return { is: kind, lek: text('lek'), date, start: text('start').slice(0, 5) || null, cocks: whole('cocks'), hens: whole('hens'), weather: text('weather'), note: text('note') }
    case 'stick': return { is: kind, height_cm: cm, date, note: text('note') }
    case 'probe': return { is: kind, depth_cm: cm, date }
    case 'note': return { is: kind, text: text('text') }
    case 'photo': return { is: kind, text: text('text'), jpeg: '' }
  }
}

/** What an entry says, back in the form's fields. */
export function fields(what: What): Record<string, string> {
  const plain = Object.entries(what).map(([name, value]) => [name === 'height_cm' || name === 'depth_cm' ? 'cm' : name, value === null ? '' : String(value)])
  return Object.fromEntries(plain) as Record<string, string>
}

/** A day as people write it; its year where that is another. */
const day = (when: Date): string => when.toLocaleDateString('en-GB', { day: 'numeric', month: 'short', year: when.getFullYear() === new Date().getFullYear() ? undefined : 'numeric' })
const on = (date: string): string => day(new Date(`${date}T12:00`))

/** When an entry was written, by the phone's clock: today the time, else the day. */
export function written(entry: Entry): string {
  const when = new Date(entry.made_at)
  return when.toDateString() === new Date().toDateString() ? when.toTimeString().slice(0, 5) : day(when)
}

const counted = (n: number | null, one: string): string => (n === null ? `${one}s not counted` : `${n} ${n === 1 ? one : `${one}s`}`)

/** An entry in one line. */
export function line(what: What, book: Book): (HTMLElement | string)[] {
  switch (what.is) {
    case 'visit': {
      const lek = book.leks.find((known) => known.id === what.lek)?.name ?? what.lek
      return [own(lek), ` · ${on(what.date)} · ${counted(what.cocks, 'cock')}, ${counted(what.hens, 'hen')}`]
    }
    case 'stick': return [`${what.height_cm} cm of sward · ${on(what.date)}`]
    case 'probe': return [`${what.depth_cm} cm of peat · ${on(what.date)}`]
    case 'note': return ['Note: ', own(what.text.slice(0, 120))]
    case 'photo': return ['Photograph', ...(what.text ? [': ', own(what.text.slice(0, 120))] : [])]
  }
}
