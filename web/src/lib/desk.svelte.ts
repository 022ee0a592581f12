// What the page holds of the plan. Everything here comes from the desk and is asked for anew when the plan changes.
import { Gone, Refused, api } from '../api/client'
import { Socket } from '../api/socket'
import type {
  Edit, Edited, Ground, GroundAhead, Job, KindState, MeasureState, Picture, PlanState, Problem, SeasonGround, ToPage, Touched, VisitState,
  YearSheet,
} from '../api/types'
import { capital, said, sentences } from '../text/common'
import { longDay } from '../works/days'
import { numbered, type Numbered } from './numbers'
import { place } from './place.svelte'

/** What could not be done because somebody else changed the same thing. */
export interface Clash {
  edits: Edit[]
  problem: Problem
  /** The reader has chosen: mine over theirs, or theirs. */
  choose: (mine: boolean) => void
}

type Stroked = Extract<ToPage, { say: 'stroked' }>
type StrokeAnswer = Stroked | Extract<ToPage, { say: 'trouble' }>

/** How long the rest waits for the year sheet when the page is opened. */
const SHEET_AHEAD_MS = 400
/** How long the drawing of the sheet is waited for. */
const DRAWN_MS = 150
const after = (ms: number) => new Promise((later) => setTimeout(later, ms))
const EVERYTHING: Touched[] = ['measures', 'options', 'survey', 'birds', 'about']

class Desk {
  plan = $state.raw<PlanState | null>(null)
  ground = $state.raw<Ground | null>(null)
  relief = $state.raw<Picture | null>(null)
  kinds = $state.raw<KindState[]>([])
  #measures = $state.raw<MeasureState[]>([])
  #findings = $state.raw<Numbered[]>([])
  /** The option whose measures are held, and the one whose findings are; undefined until some are. */
  optionRead = $state<number | null | undefined>(undefined)
  judged = $state<number | null | undefined>(undefined)
  /** The option is being judged anew. */
  judging = $state(false)
  /** A version the measures held are no older than: who changes one of them works from this. */
  measuresOf = 0
  visits = $state.raw<VisitState[] | null>(null)
  sheet = $state.raw<YearSheet | null>(null)
  /** As now, the same year: what an option is read against. */
  asNow = $state.raw<YearSheet | null>(null)
  season = $state.raw<SeasonGround | null>(null)
  ahead = $state.raw<GroundAhead | null>(null)
  /** The middle figures while the pen moves. */
  stroked = $state.raw<Stroked | null>(null)

  /** `opening`, `open`, `none` where no plan is open, `locked` where the page has no key, `failed`. */
  stage = $state<'opening' | 'open' | 'none' | 'locked' | 'failed'>('opening')
  /** The sheet has been drawn, or takes long: the map may be made. */
  groundDue = $state(false)
  online = $state(true)
  /** The desk was started anew: it does not take the key this page has. */
  keyless = $state(false)
  sheetBusy = $state(false)
  seasonBusy = $state(false)
  trouble = $state.raw<Problem | null>(null)
  clash = $state.raw<Clash | null>(null)
  /** Said once, in words, to eye and screen reader. */
  notice = $state('')
  /** Edits done here and elsewhere, newest last; help watches them. */
  done = $state.raw<string[]>([])
  jobs = $state.raw<Record<number, Job>>({})
  /** Entries from the hill that wait for a person. */
  waiting = $state(0)

  #own = 0
  /** Edits of this window that have not been answered: what the line tells meanwhile is most likely theirs. */
  #asking = 0
  /** The newest version that has been judged, or is being. */
  #judgedOf = 0
  /** The newest change that is known, and the reading of what came of it. */
  #latest = { version: 0, read: Promise.resolve() }
  #socket: Socket | null = null
  #sheets = new Map<string, YearSheet>()
  #sheetAsk: AbortController | null = null
  #seasonAsk: AbortController | null = null
  #seasonOf = ''
  #aheadAsk: AbortController | null = null
  #aheadOf = ''
  #onStroke: ((answer: StrokeAnswer) => void) | null = null

  get lek() {
    return this.plan?.leks.find((l) => l.id === place.lek) ?? null
  }

  get option() {
    return this.plan?.options.find((o) => o.number === place.option) ?? null
  }

  /** Measures of the option the reader is at; none until they are read. */
  get measures() {
    return this.optionRead === place.option ? this.#measures : []
  }

  /** Findings on the option the reader is at; none until they are read. */
  get findings() {
    return this.judged === place.option ? this.#findings : []
  }

  /** Ground that could mend the season shown: the holding's own first, a neighbour's after it. */
  get mends() {
    return this.season?.could_mend ?? []
  }

  get calendar(): number | null {
    const day = this.plan?.as_at
    return day ? Number(day.slice(0, 4)) : null
  }

  /** Open the page: the plan first, then what is drawn. */
  async open() {
    this.#socket ??= new Socket({ heard: (m) => this.#heard(m), joined: () => this.#joined(), lost: () => void this.#lost() })
    try {
      this.#taken(await api.plan())
      await this.#readWhole()
    } catch (trouble) {
      this.#failed(trouble)
    }
  }

  /** A plan was opened here. */
  async opened(plan: PlanState) {
    this.#forget()
    this.#taken(plan)
    await this.open()
  }

  /** Nothing of the plan before stands under the name of another. */
  #forget() {
    this.#sheets.clear()
    this.sheet = this.asNow = this.season = this.ahead = this.ground = this.relief = this.visits = null
    this.kinds = []
    this.#measures = []
    this.#findings = []
    this.optionRead = this.judged = undefined
    place.begin()
  }

  /** Take what the desk tells of the plan; true where it is another one, opened in another window or before the desk came back. */
  #taken(plan: PlanState): boolean {
    // Versions rise from plan to plan and from run to run: what is lower was asked for earlier.
    if (this.plan && plan.version < this.plan.version) return false
    const other = this.plan !== null && plan.file !== this.plan.file
    if (other) {
      this.#forget()
      // What is still on its way is of the plan before.
      this.measuresOf = plan.version
    }
    this.plan = plan
    this.stage = 'open'
    place.keepTo(plan)
    return other
  }

  async #readWhole() {
    // The year is read first; where it takes long the ground does not wait for it.
    const sheet = this.readSheet()
    await Promise.race([sheet, after(SHEET_AHEAD_MS)])
    // The map takes the page's whole time while it is made: the sheet is drawn before. A window nobody sees draws nothing.
    await Promise.race([new Promise((drawn) => requestAnimationFrame(() => setTimeout(drawn))), after(DRAWN_MS)])
    this.groundDue = true
    void api.field().then((f) => (this.waiting = f.entries.filter((e) => e.state === 'waiting').length), () => undefined)
    await Promise.all([sheet, this.#readGround(), this.#readKinds(), this.#readOption(), this.readSeason(), this.readAhead()])
  }

  #failed(trouble: unknown) {
    if (trouble instanceof Refused) {
      if (trouble.status === 401 && this.plan) this.keyless = true
      else if (trouble.status === 401) this.stage = 'locked'
      else if (trouble.status === 404 && !this.plan) this.stage = 'none'
      else this.trouble = trouble.problem
      if (!this.plan && this.stage === 'opening') this.stage = 'failed'
    } else if (trouble instanceof Gone) {
      this.online = false
      if (!this.plan) this.stage = 'failed'
    } else if (!(trouble instanceof DOMException)) throw trouble
  }

  /** As `#failed`, of what was only read: what is no longer there was taken back, and the news of that reads everything anew. */
  #unread(trouble: unknown) {
    if (!(this.plan && trouble instanceof Refused && trouble.status === 404)) this.#failed(trouble)
  }

  async #readGround() {
    const file = this.plan?.file
    const ground = await api.ground()
    if (file !== this.plan?.file) return
    this.ground = ground
    if (this.relief) return
    const relief = await api.relief().catch(() => null)
    if (file === this.plan?.file) this.relief = relief
  }

  async #readKinds() {
    this.kinds = await api.kinds()
  }

  async #readOption() {
    const option = place.option
    const version = this.plan?.version ?? 0
    // Without a year there is nothing to judge by.
    if (this.plan?.lacks.length) {
      this.#measures = []
      this.#findings = []
      this.optionRead = this.judged = option
      return
    }
    void this.#readFindings(option, version)
    const measures = option === null ? [] : await api.measures(option)
    // What was asked later may have been answered sooner.
    if (option !== place.option || version < this.measuresOf) return
    this.#measures = measures
    this.measuresOf = version
    this.optionRead = option
  }

  /** What the rules find takes longest: what was done is seen before it has been judged. */
  async #readFindings(option: number | null, version: number) {
    if (version < this.#judgedOf) return
    this.#judgedOf = version
    this.judging = true
    try {
      const findings = await api.findings(option)
      if (option !== place.option || version < this.#judgedOf) return
      this.#findings = numbered(findings, `${this.plan?.file}|${option}`)
      this.judged = option
    } catch (trouble) {
      this.#unread(trouble)
    } finally {
      if (version === this.#judgedOf && option === place.option) this.judging = false
    }
  }

  /** Measures and findings of the option the reader is at. */
  async readOption() {
    try {
      await this.#readOption()
    } catch (trouble) {
      this.#unread(trouble)
    }
  }

  /** The year sheet of an option and year, from what was asked before where the plan is the same. */
  async sheetOf(option: number | null, year: number, signal?: AbortSignal): Promise<YearSheet> {
    const key = `${this.plan?.version}|${option}|${year}`
    const held = this.#sheets.get(key)
    if (held) return held
    const told = await api.yearSheet(option, year, signal)
    const sheet = { ...told, seasons: told.seasons.map((s) => ({ ...s, title: capital(s.title) })) }
    if (this.#sheets.size > 80) this.#sheets.clear()
    this.#sheets.set(key, sheet)
    return sheet
  }

  async readSheet() {
    if (!this.plan || this.plan.lacks.length) return
    this.#sheetAsk?.abort()
    const ask = (this.#sheetAsk = new AbortController())
    this.sheetBusy = true
    try {
      const [sheet, asNow] = await Promise.all([
        this.sheetOf(place.option, place.year, ask.signal),
        place.option === null ? null : this.sheetOf(null, place.year, ask.signal),
      ])
      if (ask.signal.aborted) return
      this.sheet = sheet
      this.asNow = asNow
      this.stroked = null
    } catch (trouble) {
      this.#unread(trouble)
    } finally {
      if (this.#sheetAsk === ask) this.sheetBusy = false
    }
  }

  async readSeason() {
    this.#seasonAsk?.abort()
    const { lek, season, option, year } = place
    if (!lek || !season || !this.plan || this.plan.lacks.length) {
      this.season = null
      return
    }
    const ask = (this.#seasonAsk = new AbortController())
    this.seasonBusy = true
    // What another cell found never stands under this one's heading.
    const of = [lek, season, option, year].join('|')
    if (of !== this.#seasonOf) this.season = null
    this.#seasonOf = of
    try {
      const found = await api.season(lek, season, option, year, ask.signal)
      if (!ask.signal.aborted) this.season = found
    } catch (trouble) {
      // Of all that is asked with it the season alone may be one that is not.
      if (trouble instanceof Refused && trouble.status === 400) place.lead(() => (place.season = null))
      else this.#unread(trouble)
    } finally {
      if (this.#seasonAsk === ask) this.seasonBusy = false
    }
  }

  async readAhead() {
    this.#aheadAsk?.abort()
    const { option, year } = place
    if (!this.plan || this.plan.lacks.length || (year === 0 && option === null)) {
      this.ahead = null
      return
    }
    const ask = (this.#aheadAsk = new AbortController())
    // Nor does the ground of another year or option stand under this one's.
    const of = `${option}|${year}`
    if (of !== this.#aheadOf) this.ahead = null
    this.#aheadOf = of
    try {
      const ahead = await api.groundAhead(option, year, ask.signal)
      if (!ask.signal.aborted) this.ahead = ahead
    } catch (trouble) {
      this.#unread(trouble)
    }
  }

  async readVisits() {
    try {
      this.visits = await api.visits()
    } catch (trouble) {
      this.#unread(trouble)
    }
  }

  /**
   * Do something to the plan, by what it was at a version. What was done, or null where it was refused and the reader has been told, or
   * where somebody changed the same thing and the reader lets theirs stand; then `theirs` lets go of what was typed. `done` is told as soon as it
   * is in the plan, before what came of it has been read. `doubtsTold`: who asks tells what the desk doubts of it.
   */
  async edit(edits: Edit[], version = this.plan?.version, { theirs, done, doubtsTold = false }: { theirs?: () => void; done?: () => void; doubtsTold?: boolean } = {}): Promise<Edited | null> {
    if (version === undefined) return null
    const request = { version, edits, once: crypto.randomUUID() }
    for (let again = 0; ; again += 1) {
      try {
        const edited = await this.#ask(() => api.edit(request))
        done?.()
        await this.#changed(edited, true, doubtsTold)
        return edited
      } catch (trouble) {
        if (trouble instanceof Gone && again < 3) {
          this.online = false
          await after(700 * (again + 1))
          continue
        }
        if (trouble instanceof Refused && trouble.problem.kind === 'changed') {
          const mine = await new Promise<boolean>((choose) => (this.clash = { edits, problem: trouble.problem, choose }))
          this.clash = null
          await this.#readAnew()
          if (!mine) {
            theirs?.()
            return null
          }
          Object.assign(request, { version: this.plan?.version, once: crypto.randomUUID() })
          continue
        }
        this.#failed(trouble)
        return null
      }
    }
  }

  async #ask<T>(edit: () => Promise<T>): Promise<T> {
    this.#asking += 1
    try {
      return await edit()
    } finally {
      this.#asking -= 1
    }
  }

  async #turn(way: 'undo' | 'redo') {
    if (!this.plan || !this.plan[way]) return
    try {
      const { version } = this.plan
      await this.#changed(await this.#ask(() => api[way]({ version })), true)
    } catch (trouble) {
      if (trouble instanceof Refused && trouble.problem.kind === 'changed') await this.#readAnew()
      this.#failed(trouble)
    }
  }

  undo = () => this.#turn('undo')
  redo = () => this.#turn('redo')

  /** What the desk doubts, with leks by their names and days as people write them. */
  named(text: string): string {
    return text
      .replace(/\blek (\S+?)(?=[\s,.;:]|$)/g, (all, id) => this.plan?.leks.find((l) => l.id === id)?.name ?? all)
      .replace(/\b\d{4}-\d{2}-\d{2}\b/g, longDay)
  }

  /** What was done here is told by the desk twice, in its answer and on the line: it is read once. */
  async #changed(edited: Edited, here: boolean, doubtsTold = false) {
    const news = edited.version > Math.max(this.plan?.version ?? 0, this.#latest.version)
    if (here) {
      this.trouble = null
      this.notice = sentences([edited.label, ...(doubtsTold ? [] : edited.notes.map((note) => this.named(note)))])
      this.done = [...this.done, edited.label]
    } else if (news && !this.#asking) this.notice = said.changedElsewhere(edited.label)
    if (news) this.#latest = { version: edited.version, read: this.#freshen(edited.touched) }
    await this.#latest.read
  }

  /** Go on to a year in which what has just been laid tells, and say so. */
  goOn() {
    const year = place.lookAhead()
    if (year !== null) this.tellWentOn(year)
  }

  /** That the ruler went on, after what has just been done. */
  tellWentOn(year: number) {
    this.notice = sentences([this.notice, said.wentOn(year)])
  }

  /** Read everything anew. */
  #readAnew = () => this.#freshen(EVERYTHING)

  async #freshen(touched: Touched[]) {
    const has = (...parts: Touched[]) => parts.some((p) => touched.includes(p))
    try {
      if (this.#taken(await api.plan())) return await this.#readWhole()
      await Promise.all([
        has('survey') && this.#readGround(),
        has('birds') && this.visits && this.readVisits(),
        has('measures', 'options', 'survey') && this.#readOption(),
        this.readSheet(),
        this.readSeason(),
        this.readAhead(),
      ])
    } catch (trouble) {
      this.#unread(trouble)
    }
  }

  /** Work of this window that changes the plan by another way than an edit: what the socket tells meanwhile is its own. */
  async own<T>(work: () => Promise<T>): Promise<T> {
    const known = this.#latest.version
    this.#own += 1
    try {
      const done = await work()
      // Mostly the line has told it by then, and it is being read.
      await (this.#latest.version > known ? this.#latest.read : this.#freshen(['survey', 'birds', 'measures']))
      return done
    } finally {
      this.#own -= 1
    }
  }

  #joined() {
    const back = !this.online
    this.online = true
    this.keyless = false
    if (back) {
      this.notice = said.backAgain
      if (this.plan) void this.#readAnew()
      else void this.open()
    }
  }

  /** The line is cut: is nobody there, or somebody who takes another key? */
  async #lost() {
    this.online = false
    try {
      await api.plan()
    } catch (trouble) {
      this.#failed(trouble)
    }
  }

  #heard(message: ToPage) {
    if (message.say === 'changed') void this.#changed(message, this.#own > 0)
    else if (message.say === 'job') this.jobs = { ...this.jobs, [message.id]: message }
    else if (message.say === 'field') this.waiting = message.waiting
    else if (message.say === 'stroked' || message.say === 'trouble') {
      if (message.say === 'stroked') this.stroked = message
      this.#onStroke?.(message)
    }
  }

  /** Send a stroke; the answer comes to the one who listens. */
  stroke(message: Parameters<Socket['say']>[0]): boolean {
    return this.#socket?.say(message) ?? false
  }

  listenToStrokes(to: ((answer: StrokeAnswer) => void) | null) {
    this.#onStroke = to
  }

  lifted() {
    this.#socket?.say({ say: 'lifted' })
    this.stroked = null
  }
}

export const desk = new Desk()
