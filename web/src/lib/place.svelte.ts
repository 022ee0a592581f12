// Where the reader is: room, lek, season, option, year, and the ground looked at. Kept in the address, so that a reload finds everything there.

export const ROOMS = ['ground', 'works', 'birds', 'handover', 'survey'] as const
export type Room = (typeof ROOMS)[number]
/** What the side panel holds. */
export type Panel = 'why' | 'measures' | 'measure' | 'suggest' | 'draw' | 'findings' | 'explain' | 'search' | 'help' | 'feature' | 'compare' | 'keys' | 'task' | 'field' | 'spend'

/** The piece of ground in the picture: its middle, metres east and north, and metres a pixel. */
export interface Sight { east: number; north: number; metresPerPixel: number }

interface Held {
  room: Room
  lek: string | null
  season: string | null
  option: number | null
  year: number
  panel: Panel
  /** What the panel is about: a measure, a kind, a figure, the option beside. */
  of: string | null
  /** As the address tells it; none until the picture has been moved. */
  sight: Sight | null
}

const START: Held = { room: 'ground', lek: null, season: null, option: null, year: 0, panel: 'why', of: null, sight: null }
export const LAST_YEAR = 30
/** As surveyed nothing planned stands yet: what is planned is looked at this many years on, where it begins to tell. */
const LOOK_AHEAD_YEARS = 10

/** `382400,549100,2.5` as a sight; nothing else is one. */
function sightOf(told: string | null): Sight | null {
  const [east = NaN, north = NaN, metresPerPixel = NaN, ...more] = (told ?? '').split(',').map((part) => (part.trim() === '' ? NaN : Number(part)))
  return [east, north, metresPerPixel].every(Number.isFinite) && metresPerPixel > 0 && !more.length ? { east, north, metresPerPixel } : null
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
    panel: (told.get('panel') as Panel | null) ?? START.panel,
    of: told.get('of'),
    sight: sightOf(told.get('sight')),
  }
}

/** How the panel is read: how far down, and which of what can be opened in it is open, in their order. */
interface Reading { top_px: number; open: boolean[] }
const folds = () => [...(document.getElementById('panel')?.querySelectorAll('details') ?? [])]
const reading = (): Reading => ({ top_px: document.getElementById('panel')?.scrollTop ?? 0, open: folds().map((d) => d.open) })

/** The panel as it was read: opened what was open, and as far down. */
export function readOn({ top_px, open }: Reading) {
  folds().forEach((fold, i) => (fold.open = open[i] ?? fold.open))
  document.getElementById('panel')?.scrollTo(0, top_px)
}

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

  constructor() {
    Object.assign(this, read())
    addEventListener('hashchange', () => {
      if (location.hash === this.#hash()) return
      Object.assign(this, read())
      this.forgetBefore()
      this.reads += 1
    })
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

  /** Write the address, in place of the one before. */
  write() {
    const hash = this.#hash()
    if (hash !== location.hash) history.replaceState(null, '', hash)
  }

  /** Go on to a year in which what is planned tells, unless the reader is in one; the year gone on to, to be told. */
  lookAhead(): number | null {
    return this.year === 0 ? (this.year = LOOK_AHEAD_YEARS) : null
  }

  /** What the panel held before a figure was asked after, first asked first, and how it was read. */
  before = $state.raw<({ panel: Panel; of: string | null } & Reading)[]>([])
  /** How what is come back to was left; null where the panel holds something anew. */
  left: Reading | null = null

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
    this.left = to ?? null
    this.panel = to?.panel ?? START.panel
    this.of = to?.of ?? null
  }

  /** Nothing is left to come back to. */
  forgetBefore() {
    this.before = []
    this.left = null
  }
}

export const place = new Place()
