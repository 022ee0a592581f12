// Where the reader is: room, lek, season, option, year, and the ground looked at. Kept in the address, so that a reload finds everything there.
import { untrack } from 'svelte'
import type { PlanState } from '../api/types'

export const ROOMS = ['ground', 'works', 'birds', 'handover', 'survey'] as const
export type Room = (typeof ROOMS)[number]
/** What the side panel can hold, and whether it is about something: a measure, a kind, a figure, the option beside. */
const PANELS = {
  why: 'never', measures: 'sometimes', measure: 'always', suggest: 'always', draw: 'never', findings: 'sometimes', explain: 'always', search: 'never', help: 'sometimes',
  feature: 'always', compare: 'sometimes', keys: 'never', task: 'always', field: 'never', spend: 'never',
} as const
export type Panel = keyof typeof PANELS

/** The piece of ground in the picture: its middle, metres east and north, and metres a pixel. */
export interface Sight { east: number; north: number; metresPerPixel: number }

interface Held {
  room: Room
  lek: string | null
  season: string | null
  option: number | null
  year: number
  panel: Panel
  /** What the panel is about. */
  of: string | null
  /** As the address tells it; none until the picture has been moved. */
  sight: Sight | null
}

const START: Held = { room: 'ground', lek: null, season: null, option: null, year: 0, panel: 'why', of: null, sight: null }
export const LAST_YEAR = 30
/** As surveyed nothing planned stands yet: what is planned is looked at this many years on, where it begins to tell. */
const LOOK_AHEAD_YEARS = 10
/** A plan that is shown no wider than this cannot be read. */
const DOT_PX = 40

/** What a plan has to be at. */
type Plan = Pick<PlanState, 'options' | 'leks' | 'extent'>

/** `382400,549100,2.5` as a sight; nothing else is one. */
function sightOf(told: string | null): Sight | null {
  const [east = NaN, north = NaN, metresPerPixel = NaN, ...more] = (told ?? '').split(',').map((part) => (part.trim() === '' ? NaN : Number(part)))
  return [east, north, metresPerPixel].every(Number.isFinite) && metresPerPixel > 0 && !more.length ? { east, north, metresPerPixel } : null
}

/** A panel and what it is about; what is no panel, or is about something and does not say what, is none. */
function panelOf(told: URLSearchParams): Pick<Held, 'panel' | 'of'> {
  const panel = told.get('panel') ?? START.panel
  const about = Object.hasOwn(PANELS, panel) ? PANELS[panel as Panel] : null
  const of = about === 'never' ? null : told.get('of') || null
  return about === null || (about === 'always' && !of) ? { panel: START.panel, of: null } : { panel: panel as Panel, of }
}

function read(): Held {
  const [room, query] = location.hash.slice(1).split('?')
  const told = new URLSearchParams(query ?? '')
  const number = (key: string) => (/^\d{1,6}$/.test(told.get(key) ?? '') ? Number(told.get(key)) : null)
  return {
    room: ROOMS.find((r) => r === room) ?? START.room,
    lek: told.get('lek'),
    season: told.get('season'),
    option: number('option'),
    year: Math.min(number('year') ?? 0, LAST_YEAR),
    ...panelOf(told),
    sight: sightOf(told.get('sight')),
  }
}

/** Whether a picture stands by the plan: no farther off than the plan is wide, and not so far up that the plan is a dot. */
function standsBy({ extent: [west = 0, south = 0, east = 0, north = 0] }: Plan, sight: Sight): boolean {
  const wide = Math.max(east - west, north - south)
  const by = (at: number, from: number, to: number) => at >= from - wide && at <= to + wide
  return by(sight.east, west, east) && by(sight.north, south, north) && wide / sight.metresPerPixel >= DOT_PX
}

/** How the panel is read: how far down, which of what can be opened in it is open, in their order, and the button that was pressed. */
interface Reading { top_px: number; open: boolean[]; pressed: Pressed | null }
/** A button, by its words and how many with the same stand before it. */
interface Pressed { words: string; before: number }
/** What the panel held as a figure was asked after, and how it was read. */
type Asked = { panel: Panel; of: string | null } & Reading

const folds = () => [...(document.getElementById('panel')?.querySelectorAll('details') ?? [])]
const buttons = (words: string) => [...document.querySelectorAll('button')].filter((b) => b.textContent === words)

function reading(): Reading {
  const button = document.activeElement instanceof HTMLButtonElement ? document.activeElement : null
  const words = button?.textContent ?? ''
  return { top_px: document.getElementById('panel')?.scrollTop ?? 0, open: folds().map((d) => d.open), pressed: button && { words, before: buttons(words).indexOf(button) } }
}

/** The panel as it was read: opened what was open, as far down, and the focus on what was pressed; where that is gone, in the panel. */
export function readOn({ top_px, open, pressed }: Reading) {
  folds().forEach((fold, i) => (fold.open = open[i] ?? fold.open))
  const panel = document.getElementById('panel')
  const button = pressed && buttons(pressed.words)[pressed.before]
  if (button || !panel?.contains(document.activeElement)) (button ?? panel ?? document.getElementById('room'))?.focus({ preventScroll: true })
  panel?.scrollTo(0, top_px)
}

/** How a figure was come to is kept with the entry of the history, which a reload finds again. */
interface Entry { before?: Asked[]; step?: number }
const cameBy = () => (history.state as Entry | null)?.before ?? []
const stepOf = () => (history.state as Entry | null)?.step

class Place {
  room = $state<Room>(START.room)
  lek = $state<string | null>(null)
  season = $state<string | null>(null)
  option = $state<number | null>(null)
  year = $state(0)
  panel = $state<Panel>('why')
  of = $state<string | null>(null)
  sight = $state.raw<Sight | null>(null)
  /** How often the address was read: what it tells of the ground is gone to anew. */
  reads = $state(0)

  /** What the panel held before a figure was asked after, first asked first, and how it was read. */
  before = $state.raw<Asked[]>([])
  /** How what is come back to was left; null where the panel holds something anew. */
  left: Reading | null = null
  /** The plan that is open, as far as it is known. */
  #plan: Plan | null = null
  /** How many steps led to the entry of the history that is shown. */
  #step = stepOf() ?? 0
  /** What the entry of the history stands for that was written last. */
  #written = ''

  constructor() {
    Object.assign(this, read(), { before: cameBy() })
    this.#written = this.#entry
    addEventListener('popstate', () => this.#arrive())
  }

  /** By the browser's own Back and Forward, or an address that was typed. */
  #arrive() {
    const [was, at] = [this.#written, this.#step]
    const from = this.panel === 'explain' ? this.before.at(-1) : undefined
    Object.assign(this, read(), { before: cameBy() })
    this.left = from?.panel === this.panel && from.of === this.of ? from : null
    this.#letGo()
    this.#written = this.#entry
    const step = stepOf()
    this.#step = step ?? at + 1
    // What is there no more left a step that shows what the one beside it shows: it is stepped over.
    if (step !== undefined && step !== at && this.#written === was) {
      history.go(Math.sign(step - at))
      return
    }
    this.reads += 1
    this.write()
  }

  /** A plan is open: what the address tells and is not in it is let go, now and when the address is read anew. */
  keepTo(plan: Plan) {
    this.#plan = plan
    this.lead(() => this.#letGo())
  }

  #letGo() {
    const plan = this.#plan
    if (!plan) return
    if (!plan.options.some((o) => o.number === this.option)) this.option = null
    if (!plan.leks.some((l) => l.id === this.lek)) this.lek = null
    if (!this.lek) this.season = null
    if (this.sight && !standsBy(plan, this.sight)) this.sight = null
  }

  /** What Back leads to: going to another of these is a step; the year and the sight go along with it. */
  get #entry(): string {
    return JSON.stringify([this.room, this.panel, this.of, this.lek, this.season, this.option])
  }

  #hash(): string {
    const told = new URLSearchParams()
    if (this.lek) told.set('lek', this.lek)
    if (this.season) told.set('season', this.season)
    if (this.option !== null) told.set('option', String(this.option))
    if (this.year) told.set('year', String(this.year))
    if (this.panel !== 'why') told.set('panel', this.panel)
    if (this.of) told.set('of', this.of)
    if (this.sight) told.set('sight', [this.sight.east.toFixed(1), this.sight.north.toFixed(1), this.sight.metresPerPixel.toFixed(3)].join())
    const query = told.toString().replaceAll('%2C', ',')
    return `#${this.room}${query ? `?${query}` : ''}`
  }

  /** Write the address: where the reader went on, as a step that Back takes back; else in place of the one before. */
  write() {
    const step = this.#entry !== this.#written
    this.#written = this.#entry
    if (step) this.#step += 1
    history[step ? 'pushState' : 'replaceState']({ before: this.before, step: this.#step }, '', this.#hash())
  }

  /** The page itself goes elsewhere, as what was shown is no more or never was: that is no step, so that Back does not lead there. */
  lead(go: () => void) {
    untrack(() => {
      const gone = this.#entry !== this.#written
      go()
      // On a step of the reader's that is not written yet, it is where the step leads.
      if (!gone) this.#written = this.#entry
    })
  }

  /** Go on to a year in which what is planned tells, unless the reader is in one; the year gone on to, to be told. */
  lookAhead(): number | null {
    return this.year === 0 ? (this.year = LOOK_AHEAD_YEARS) : null
  }

  /** Show something in the side panel. */
  show(panel: Panel, of: string | null = null) {
    this.before = panel === 'explain' ? [...this.before, { panel: this.panel, of: this.of, ...reading() }] : []
    this.left = null
    this.panel = panel
    this.of = of
  }

  /** Back from a figure to where it was asked after. */
  back() {
    const to = this.before.at(-1)
    this.before = this.before.slice(0, -1)
    this.left = to ?? { top_px: 0, open: [], pressed: null }
    this.panel = to?.panel ?? START.panel
    this.of = to?.of ?? null
  }

  /** At the start of a plan: nothing of another is left to come back to. */
  begin() {
    this.lead(() => Object.assign(this, START, { before: [] }))
    this.left = null
  }
}

export const place = new Place()
