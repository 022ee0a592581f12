// The measure under the pen. It lives in the page's own store too, so that a lost desk or a closed page loses nothing.
import type { KindState, MeasureDraft, MeasureState, ProblemFault, ToPage } from '../api/types'
import { desk } from '../lib/desk.svelte'
import { place } from '../lib/place.svelte'
import { view } from '../ground/view.svelte'
import { edits as words } from '../text/edits'
import { geometryOf, type Shape } from './corners'
import { keep, letGo, look } from './kept'

const ANSWER_WITHIN_MS = 2000
/** No option has this number: a drawing whose own was taken out is kept without one. */
const NO_OPTION = 0
/** What is kept of it, with the name of its option: a number may be given again. */
interface Kept { measure?: MeasureDraft; version?: number; unclosed?: Shape | null; named?: string }
/** What an outline comes to by the corners set so far; nothing where they are too few. */
const soFar = (outline: Shape) => (outline.corners.length > (outline.type === 'Polygon' ? 2 : 1) ? geometryOf(outline) : null)

/** What the pen draws of a kind: what is drawn already, else what the kind asks for. */
function penOf(draws: KindState['draws'] | undefined, drawn: unknown): 'area' | 'line' | null {
  if ((drawn as { type?: string } | null)?.type?.includes('Line')) return 'line'
  return draws === 'nothing' ? null : draws === 'line' ? 'line' : 'area'
}

class Draft {
  measure = $state.raw<MeasureDraft | null>(null)
  /** `pen` where the map's pen moved it last, `numbers` where figures did. */
  movedBy = $state<'pen' | 'numbers' | 'begin'>('begin')
  corner = $state<[number, number] | null>(null)
  /** The corners set so far, while the pen is at an outline that is not ended; what goes with the pen is none of them. */
  unclosed = $state.raw<Shape | null>(null)
  area_ha = $state<number | null>(null)
  length_m = $state<number | null>(null)
  gbp = $state<number | null>(null)
  faults = $state.raw<ProblemFault[]>([])
  note = $state('')
  answered_ms = $state<number | null>(null)
  laying = $state(false)
  /** What was typed and cannot be read, by the field it stands in: nothing is laid while there is any. */
  unread = $state<Record<string, string>>({})
  /** The plan it was begun on: who changes the same measure meanwhile is not written over. */
  #version = 0
  /** The file of that plan. */
  #file = ''
  /** The year the ruler went on to as it was taken up. */
  #ahead: number | null = null
  /** Which taking up of a measure this is: each has the pen anew. */
  turn = $state(0)
  /** Something was done to it since it was taken up, and is lost with it. */
  #touched = false
  /** The plan whose store was looked in, and what the panel held as the page was opened. */
  #lookedIn = ''
  #opened = place.panel
  #stroke = 0
  #inFlight: { stroke: number; sent: number } | null = null
  #waits = false

  get kind(): KindState | null {
    return desk.kinds.find((k) => k.key === this.measure?.kind) ?? null
  }

  /** What would be laid: an outline that is not ended, by the corners set so far; nothing where they are too few. */
  get geometry(): unknown {
    return this.unclosed ? soFar(this.unclosed) : this.measure?.geometry
  }

  /** The option it goes into; none where that was taken out. */
  get option() {
    return desk.plan?.options.find((o) => o.number === this.measure?.option) ?? null
  }

  /** Begin a new measure of a kind. */
  begin(kind: string, option: number, geometry: unknown = null) {
    if (this.#stands()) return
    this.#take({ option, kind, facts: {}, geometry, year: null })
    place.show('draw')
  }

  /** Change one that is laid. */
  reshape(measure: MeasureState) {
    if (this.measure?.id !== measure.id) {
      if (this.#stands()) return
      this.#take({ id: measure.id, option: measure.option, kind: measure.kind, year: measure.year, geometry: measure.geometry, facts: measure.facts as Record<string, unknown> }, desk.measuresOf)
    }
    place.show('draw')
  }

  /** What is drawn and not laid is not thrown away for another: it is shown. */
  #stands(): boolean {
    if (!this.measure || !this.#touched) return false
    place.show('draw')
    desk.notice = words.unlaid
    return true
  }

  /** What was under the pen when the page was left. It is looked for once, as the plan is opened. */
  async found() {
    const { plan } = desk
    if (this.measure || !plan || this.#lookedIn === plan.file) return
    this.#lookedIn = plan.file
    const { measure, version, unclosed = null, named } = (await look<Kept>(plan.file)) ?? {}
    if (!measure || this.measure || desk.plan?.file !== plan.file) return
    // A measure that is laid knows its option, whatever that is called by now.
    const home = plan.options.some((o) => o.number === measure.option && (measure.id || o.name === named))
    // Who was at something else is left there: the way back to the drawing stands above it.
    const shown = this.#opened === 'why' || this.#opened === 'draw'
    this.#take(home ? measure : { ...measure, option: NO_OPTION }, version, unclosed, shown ? place.lookAhead() : null)
    this.#touched = true
    if (!shown) return
    place.lead(() => {
      if (home) place.option = measure.option
      place.show('draw')
    })
  }

  #take(measure: MeasureDraft, version = desk.plan?.version ?? 0, unclosed: Shape | null = null, ahead = place.lookAhead()) {
    this.#version = version
    this.#file = desk.plan?.file ?? ''
    this.#ahead = ahead
    this.measure = measure
    this.unclosed = unclosed
    view.penShape = penOf(this.kind?.draws, unclosed ?? measure.geometry)
    this.turn += 1
    this.#touched = false
    this.movedBy = 'begin'
    this.corner = null
    this.area_ha = this.length_m = this.gbp = null
    this.faults = []
    this.unread = {}
    this.note = ''
    desk.listenToStrokes((answer) => this.#answered(answer))
    this.#keep()
    if (measure.geometry) this.#say()
  }

  move(geometry: unknown, by: 'pen' | 'numbers', unclosed: Shape | null = null) {
    if (!this.measure || this.laying) return
    this.measure = { ...this.measure, geometry }
    this.unclosed = unclosed
    this.movedBy = by
    this.#touched = true
    this.#keep()
    if (geometry) this.#say()
  }

  set(change: Partial<MeasureDraft>) {
    if (!this.measure || this.laying) return
    this.measure = { ...this.measure, ...change }
    this.#touched = true
    this.#keep()
    if (this.measure.geometry) this.#say()
    else this.faults = []
  }

  /** Draw it for another option; what was laid in one that is gone is laid as a new one. */
  drawFor(option: number) {
    this.set({ option, ...(this.option ? {} : { id: null }) })
  }

  /** A field was typed in: what cannot be read stays in it, to be put right. */
  typed(field: string, text: string, reads: boolean) {
    if (reads) delete this.unread[field]
    else this.unread[field] = text
  }

  fact(name: string, value: unknown) {
    if (!this.measure) return
    const facts = { ...this.measure.facts }
    if (value === null || value === '') delete facts[name]
    else facts[name] = value
    this.set({ facts })
  }

  #keep() {
    const { measure, unclosed, geometry } = this
    keep(this.#file, { measure: measure ? { ...measure, geometry } : undefined, version: this.#version, unclosed, named: this.option?.name } satisfies Kept)
  }

  /** One stroke is on its way at a time; the newest waits for its answer. */
  #say() {
    const now = performance.now()
    if (this.#inFlight && now - this.#inFlight.sent < ANSWER_WITHIN_MS) {
      this.#waits = true
      return
    }
    if (!this.measure) return
    const stroke = (this.#stroke += 1)
    this.#waits = false
    const said = desk.stroke({ say: 'stroke', stroke, year: place.year, measure: $state.snapshot(this.measure) as MeasureDraft })
    this.#inFlight = said ? { stroke, sent: now } : null
  }

  #answered(answer: Extract<ToPage, { say: 'stroked' | 'trouble' }>) {
    if (!this.#inFlight || answer.stroke < this.#inFlight.stroke) return
    this.answered_ms = performance.now() - this.#inFlight.sent
    this.#inFlight = null
    this.faults = answer.faults
    if (answer.say === 'stroked') {
      this.area_ha = answer.area_ha ?? null
      this.length_m = answer.length_m ?? null
      this.gbp = answer.gbp
      this.note = answer.note ?? ''
    }
    if (this.#waits) this.#say()
  }

  /** Lay it in the plan. */
  async lay(): Promise<boolean> {
    if (!this.measure || this.laying || Object.keys(this.unread).length) return false
    this.laying = true
    const draft = { ...$state.snapshot(this.measure), geometry: this.geometry } as MeasureDraft
    // Once it is in the plan a page that is loaded anew must not lay it again; here it is shown until the measure is read.
    const done = () => letGo(this.#file)
    const edited = await desk.edit([{ do: 'put_measure', ...draft }], draft.id ? this.#version : undefined, { done })
    this.laying = false
    // Somebody took it out meanwhile, and the reader lets this one stand: it is laid as a new one.
    if (!edited && draft.id && desk.trouble?.faults.some((f) => f.at === 'id')) {
      desk.trouble = null
      this.measure = { ...draft, id: null }
      return this.lay()
    }
    if (!edited) return false
    if (this.#ahead !== null && place.year === this.#ahead) desk.tellWentOn(this.#ahead)
    this.#end()
    place.lead(() => {
      place.option = draft.option
      place.show('measure', edited.ids[0] ?? null)
    })
    return true
  }

  giveUp() {
    this.#end()
    place.lead(() => place.show('measures'))
  }

  /** Another plan is open: what was under the pen stays in the page's store, and is found again where its own plan is opened. */
  leave() {
    if (this.measure && desk.plan && desk.plan.file !== this.#file) this.#putDown()
  }

  #end() {
    letGo(this.#file)
    this.#putDown()
  }

  #putDown() {
    this.measure = this.unclosed = null
    this.#inFlight = null
    this.#waits = false
    desk.listenToStrokes(null)
    desk.lifted()
  }
}

export const draft = new Draft()
