// The shapes of the wire, after crates/desk/src/api. `npm run types` writes this file anew from openapi.json.

/** The plan that is open. */
export interface PlanState {
  /** Name of the file, without its folder. */
  file: string
  /** Name of the plan. */
  name: string
  /** Country in words. */
  country: string
  /** EPSG number of its coordinates. */
  epsg: number
  /** Definition of its coordinates for the map, well-known text or a proj string. */
  projection: string
  /** The day of the survey. */
  as_at: string | null
  /** Version: rises with every edit. */
  version: number
  /** False where the file can only be read. */
  writable: boolean
  /** What should be told about how the file was opened. */
  notice: string | null
  /** West, south, east, north, metres. */
  extent: [number, number, number, number]
  /** Leks, in the running order of the year sheet. */
  leks: LekState[]
  /** Options. */
  options: OptionState[]
  /** How many features each layer has. */
  layers: LayerCount[]
  /** What taking back would take back, in words; null where there is nothing. */
  undo: string | null
  /** What doing again would do. */
  redo: string | null
  /** Edition of the guidance. */
  guidance_edition: string
  /** Draws of the ledger. */
  draws: number
  /** Cell of the grids, metres. */
  cell_m: number
  /** What the plan lacks for the ledger, in words, with what to do; empty where it can be worked out. */
  lacks: string[]
}

/** A lek. */
export interface LekState {
  /** Its id. */
  id: string
  /** Name. */
  name: string
  /** Easting and northing, metres. */
  at: [number, number]
  /** Cocks the ground should carry. */
  target_cocks: number
  /** Cocks of the latest valid count, and its year. */
  last_count: LastCount | null
}

/** A count. */
export interface LastCount {
  /** Year. */
  year: number
  /** Cocks. */
  cocks: number
}

/** An option. */
export interface OptionState {
  /** Its number. */
  number: number
  /** Name. */
  name: string
  /** Note. */
  note: string
  /** Measures in it. */
  measures: number
  /** Low, usual and high cost, pounds, undiscounted, grants not taken off. */
  gbp: [number, number, number]
  /** What is wrong with its measures, in words. */
  faults: string[]
}

/** How many features a layer has. */
export interface LayerCount {
  /** Layer of the plan file. */
  layer: string
  /** Features. */
  features: number
}

/** A measure with what it comes to. */
export interface MeasureState {
  /** Its id. */
  id: string
  /** Option. */
  option: number
  /** Kind. */
  kind: string
  /** Title of the kind, with its work. */
  title: string
  /** Calendar year it begins. */
  year: number | null
  /** GeoJSON geometry in the plan's coordinates; null where it has none. */
  geometry: unknown | null
  /** Facts by name. */
  facts: unknown
  /** Area, hectares; null for lines. */
  area_ha: number | null
  /** Length, metres; null for areas. */
  length_m: number | null
  /** Low, usual and high cost, pounds. */
  gbp: [number, number, number]
  /** When it may be done, in words. */
  window: string
  /** What it can harm. */
  harm: string[]
  /** Cautions. */
  cautions: string[]
  /** What is wrong with it. */
  faults: string[]
}

/** A kind of measure. */
export interface KindState {
  /** Key. */
  key: string
  /** Title. */
  title: string
  /** What it is, where it may go, in plain words. */
  explain: string
  /** What is drawn: `area`, `line`, `either` or `nothing` (it works on a named feature). */
  draws: string
  /** Whether a designer can put it forward. */
  suggests: boolean
  /** Facts it knows. */
  facts: FactState[]
  /** Cautions. */
  cautions: string[]
}

/** A fact a kind knows. */
export interface FactState {
  /** Name. */
  name: string
  /** What it is, with its unit. */
  what: string
  /** `number`, `choice`, `text`, `table` (numbers by name), `feature` (the id of a feature of the layer it is named after). */
  form: string
  /** Least, for numbers. */
  from: number | null
  /** Greatest, for numbers. */
  to: number | null
  /** Choices, for choices. */
  choices: string[]
  /** Usual value in words, with where it comes from; empty where there is none. */
  usual: string
  /** Whether it may be left out. */
  may_be_left_out: boolean
}

/** A hit of a search through the plan, the figures, the rules and the help. */
export interface Hit {
  /** `feature`, `measure`, `lek`, `option`, `figure`, `rule`, `kind`. */
  what: string
  /** Layer, for features. */
  layer: string | null
  /** Id or key. */
  id: string
  /** What it is called. */
  name: string
  /** One line about it. */
  words: string
}

/** A finding of a rule. */
export interface FindingState {
  /** The rule's key, for `explain`. */
  rule: string
  /** `must`, `should` or `consider`. */
  severity: string
  /** What is wrong, in words. */
  words: string
  /** Why it matters. */
  why: string
  /** What to do. */
  hint: string
  /** Sources in words. */
  source: string
  /** The measure or feature it sits on; empty where it sits on the whole plan. */
  on: string
  /** Where on the ground, GeoJSON in the plan's coordinates. */
  geometry: unknown | null
}

/** Tenth, half and nine tenths of the draws. */
export interface Spread {
  /** Tenth. */
  p10: number
  /** Half. */
  p50: number
  /** Nine tenths. */
  p90: number
}

/** One season of one lek. */
export interface SeasonCell {
  /** Key of the season, in calendar order from display. */
  season: string
  /** Usable hectares. */
  supply_ha: Spread
  /** Hectares needed. */
  need_ha: Spread
  /** Supply over need. */
  margin: Spread
  /** Draws that are short, a share of all, 0 to 1. */
  short: number
}

/** One lek's year. */
export interface LekYear {
  /** Lek. */
  lek: string
  /** Seven seasons. */
  seasons: SeasonCell[]
  /** Key of the season that is scarcest. */
  pinch: string
}

/** The year sheet of one course in one year. */
export interface YearSheet {
  /** The version of the plan it was worked out of. */
  version: number
  /** The option; null: as now, nothing done. */
  option: number | null
  /** Years ahead; 0: as surveyed. */
  year: number
  /** Calendar year, where the plan has a day. */
  calendar: number | null
  /** Leks. */
  leks: LekYear[]
  /** Titles of the seasons by key, in order: what the page calls them and when they are. */
  seasons: SeasonTitle[]
  /** Draws. */
  draws: number
  /** Milliseconds the desk took. */
  took_ms: number
}

/** A season. */
export interface SeasonTitle {
  /** Key. */
  key: string
  /** Title. */
  title: string
  /** Months, such as `Apr-May`. */
  months: string
  /** What birds seek then, one sentence. */
  wants: string
}

/** A feature drawn on the ground. */
export interface Drawn {
  /** Its id in its layer. */
  id: string
  /** Name, or what it is where it has none. */
  name: string
  /** What it is to the eye: for patches `heather`, `blaeberry`, `bog`, `rush`, `flush`, `grass`, `bracken`, `crop`, `scrub`, `conifer`, `bare`, `other`; for woods `conifer`, `broadleaf`, `mixed`, `young`; for lines and points their kind. */
  look: string
  /** One line of facts, such as `heather 55 %, 32 cm`. */
  words: string
  /** GeoJSON geometry in the plan's coordinates, metres. */
  geometry: unknown
}

/** One layer of the ground. */
export interface Layer {
  /** Layer of the plan file: `boundary`, `parcels`, `patches`, `woods`, `leks`, `fences`, `ditches`, `watercourses`, `tracks`, `services`, `buildings`, `areas`, `sticks`, `probes`. */
  layer: string
  /** What lies in it. */
  features: Drawn[]
}

/** The whole ground. */
export interface Ground {
  /** The version of the plan. */
  version: number
  /** Layers, lowest first. */
  layers: Layer[]
}

/** The ground of a year under an option: woods grown, what is planted, taken down and built. */
export interface GroundAhead {
  /** The version of the plan. */
  version: number
  /** The option; null: nothing done. */
  option: number | null
  /** Years ahead. */
  year: number
  /** Woods as they stand then: height of the tallest trees and crown cover. */
  woods: Stood[]
  /** Open ground as it stands then. */
  patches: Stood[]
}

/** A stand in a year. */
export interface Stood {
  /** Id of the wood, patch or measure. */
  id: string
  /** What it is to the eye then. */
  look: string
  /** Height of its trees, or of its open ground, metres. */
  height_m: number | null
  /** Share under crowns, 0 to 1. */
  crowns: number | null
  /** One line of facts. */
  words: string
}

/** A picture in the plan's coordinates: a PNG at `/api/relief.png` or `/api/season.png`. */
export interface Picture {
  /** West, south, east, north, metres. */
  extent: [number, number, number, number]
  /** Cells across and down. */
  size: [number, number]
}

/** What a season finds on the ground for a lek. */
export interface SeasonGround {
  /** The picture's place. The PNG: transparent where nothing is found, darker where the season finds more. */
  picture: Picture
  /** How far the birds of the lek go in this season, metres, by the middle figure. */
  reach_m: number
  /** Why it is short, or that it is not, in one sentence. */
  words: string
  /** What keeps ground from giving more, most first. */
  losses: Loss[]
  /** Ground that could mend it: near, reachable, held back by something that work can change; most first. */
  could_mend: CouldMend[]
  /** Guidance keys it stands on. */
  keys: string[]
}

/** What is lost to one cause. */
export interface Loss {
  /** The cause in words. */
  what: string
  /** Usable hectares lost to it, by the middle figure. */
  ha: number
}

/** Ground that could mend a season. */
export interface CouldMend {
  /** Layer it is in. */
  layer: string
  /** Its id. */
  id: string
  /** Its name. */
  name: string
  /** Usable hectares that stand to be won, by the middle figure. */
  ha: number
  /** What holds it back, in words. */
  why: string
  /** Kinds of measure that work on it. */
  kinds: string[]
}

/** A dawn visit to a lek. */
export interface VisitState {
  /** Its id. */
  id: string
  /** Lek by id. */
  lek: string
  /** The lek as it is called. */
  lek_name: string
  /** Day; where only its month or year is known, the first of it. */
  date: string
  /** How far the day is known: `day`, `month` or `year`. */
  known_to: string
  /** Clock time the count began, `HH:MM`. */
  start: string | null
  /** Cocks seen; null: visited, not counted. */
  cocks: number | null
  /** Hens seen. */
  hens: number | null
  /** Who counted. */
  observer: string
  /** Weather in words. */
  weather: string
  /** Note. */
  note: string
  /** Whether it counts towards the figure of its year. */
  valid: boolean
  /** Why it does not, in words; empty where it does. */
  why_not: string
}

/** One thing done to the plan. */
export type Edit =
  | ({ do: 'put_measure' } & MeasureDraft)
  | { do: 'drop_measures'; ids: string[] }
  | { do: 'lay'; job: number }
  | { do: 'add_option'; name: string; copy_of?: number | null }
  | { do: 'name_option'; number: number; name: string }
  | { do: 'drop_option'; number: number }
  | ({ do: 'put_visit' } & VisitDraft)
  | { do: 'drop_visit'; id: string }
  | { do: 'set_feature'; layer: string; id: string; set?: Record<string, unknown>; geometry?: unknown | null }
  | { do: 'drop_feature'; layer: string; id: string }

/** A measure as the page sends it. */
export interface MeasureDraft {
  /** Its id; left out: a new one. */
  id?: string | null
  /** The option it is of. */
  option: number
  /** Kind, such as `wood`. */
  kind: string
  /** Calendar year it begins; left out: the year after the plan's day. */
  year?: number | null
  /** Area or line as a GeoJSON geometry in the plan's coordinates; null where the kind needs none. */
  geometry?: unknown | null
  /** Facts by name. */
  facts?: Record<string, unknown>
}

/** A visit to a lek. */
export interface VisitDraft {
  /** Its id; left out: a new one. */
  id?: string | null
  /** Lek by id. */
  lek: string
  /** Day. */
  date: string
  /** Clock time the count began, `HH:MM`. */
  start?: string | null
  /** Displaying cocks. */
  cocks?: number | null
  /** Hens. */
  hens?: number | null
  /** Who counted. */
  observer?: string
  /** Weather in words. */
  weather?: string
  /** Note. */
  note?: string
}

/** An edit with the version it was made on. */
export interface EditRequest {
  /** The version of the plan the page had. */
  version: number
  /** What is done. Several go in one step, and are taken back together. */
  edits: Edit[]
  /** A word of its own for this request, made by the page: sent twice, it is done once. */
  once?: string | null
}

/** Take back, or do again. */
export interface Turn {
  /** The version of the plan the page had. */
  version: number
}

/** What an edit did. */
export interface Edited {
  /** The version of the plan now. */
  version: number
  /** What was done, in words: what `undo` takes back. */
  label: string
  /** Ids of what was added or changed. */
  ids: string[]
  /** What is touched: `measures`, `options`, `survey`, `birds`. */
  touched: Touched[]
  /** Where other windows changed the plan meanwhile without touching the same things: how many edits were theirs. */
  others: number
  /** What was put right on the way, such as an outline that crossed itself. */
  notes: string[]
}

/** A part of the plan. */
export type Touched = 'measures' | 'options' | 'survey' | 'birds' | 'about'

/** What stands in the way of a request, every fault at once. Sent with every status of 400 and above as `application/problem+json`. */
export interface Problem {
  /** What kind of trouble: `bad_request`, `no_key`, `forbidden`, `refused`, `not_found`, `wrong_method`, `wrong_type`, `changed`, `too_large`, `taken`, `failed`. */
  kind: string
  /** In one sentence. */
  title: string
  /** Every fault: what, where, needed, found, hint. */
  faults: ProblemFault[]
  /** With `changed`: the version of the plan now. */
  version: number | null
  /** With `changed`: what others changed of the same things, in words. */
  theirs: string[]
}

/** One fault. */
export interface ProblemFault {
  /** Where: a field, a fact, a row. */
  at: string
  /** What was needed. */
  needed: string
  /** What was found. */
  found: string
  /** What to do. */
  hint: string
}

/** A question. Its answer is the document of the same name that the command line prints with `--json`. */
export type Ask =
  | { ask: 'assess'; option?: number | null; year?: number | null }
  | { ask: 'ahead'; option?: number | null; years?: number[] }
  | { ask: 'compare'; options: number[] }
  | { ask: 'check'; option?: number | null }
  | ({ ask: 'suggest' } & Suggest)
  | { ask: 'spend'; budget_gbp: number }
  | { ask: 'works'; option: number; from?: string | null }
  | { ask: 'birds'; options?: number[] }
  | { ask: 'trend' }
  | { ask: 'dawns'; base?: string | null; season?: number | null }
  | { ask: 'found' }
  | { ask: 'after' }
  | { ask: 'explain'; of: string }
  | { ask: 'handover'; option?: number | null; show_leks?: boolean; from?: string | null }

/** What is asked of a designer. */
export interface Suggest {
  /** `wood`, `heather`, `grazing`, `water` or `fence`. */
  kind: string
  /** The option the measures are meant for. */
  option: number
  /** The most ground, hectares (wood). */
  ha?: number | null
  /** The most money, pounds (wood, water, fence). */
  budget_gbp?: number | null
  /** Years planned (heather). */
  years?: number | null
  /** The most measures (water, fence). */
  most?: number | null
  /** Cut with a tracked machine (heather). */
  tracked?: boolean
  /** Seconds the choice may take; left out: ten. */
  seconds?: number | null
}

/** How a job stands. */
export type JobState = 'waiting' | 'working' | 'done' | 'failed' | 'stopped'

/** A job. */
export interface Job {
  /** Its number in this run of the desk. */
  id: number
  /** What was asked. */
  ask: Ask
  /** How it stands. */
  state: JobState
  /** What is being done now, in a few words. */
  now: string
  /** Seconds it has taken so far. */
  seconds: number
  /** The version of the plan it was asked of. */
  version: number
  /** Why it failed. */
  faults: string[]
  /** The document, once it is done. */
  answer: unknown | null
  /** Measures put forward, to be laid with an edit `lay` that names this job. */
  measures: number
  /** Files made, fetched at `/api/jobs/ID/files/NAME`. */
  files: JobFile[]
}

/** A file a job made. */
export interface JobFile {
  /** Its name, such as `gis/measures.gpkg`. */
  name: string
  /** Its size, bytes. */
  bytes: number
}

/** Keep the files of a job. */
export interface Keep {
  /** Name of the new folder, beside the plan. */
  folder: string
}

/** Files that were kept. */
export interface Kept {
  /** The folder, beside the plan. */
  folder: string
  /** What is in it. */
  files: JobFile[]
}

/** From the page. */
export type FromPage =
  | { say: 'stroke'; stroke: number; year: number; measure: MeasureDraft }
  | { say: 'lifted' }

/** To the page. */
export type ToPage =
  | { say: 'stroked'; stroke: number; supply_ha: [number, number, number, number, number, number, number][]; without_ha: [number, number, number, number, number, number, number][]; need_ha: [number, number, number, number, number, number, number][]; area_ha?: number | null; length_m?: number | null; gbp: number; note?: string | null; faults: ProblemFault[]; took_ms: number }
  | ({ say: 'changed' } & Edited)
  | ({ say: 'job' } & Job)
  | { say: 'field'; waiting: number }
  | { say: 'trouble'; stroke: number; faults: ProblemFault[] }

/** A file that was sent, not yet in the plan. */
export interface Upload {
  /** Its number in this run of the desk. */
  id: number
  /** Its name as sent. */
  name: string
  /** Size, bytes. */
  bytes: number
  /** Format in words; empty where it was not recognised. */
  format: string
  /** Layers or sheets in it. */
  layers: string[]
}

/** How a file would be understood. */
export interface ImportRequest {
  /** The upload. */
  upload: number
  /** Kind of feature, such as `patches`. */
  kind: string
  /** Layer or sheet of the file; left out: its only one. */
  layer?: string | null
  /** Columns by field, over what was guessed; `-` leaves a field out, and `column:unit` says the unit. */
  map?: Record<string, string>
  /** EPSG number of the file's coordinates, where it does not say. */
  epsg?: number | null
  /** Take the place of what is there of this kind, instead of joining it. */
  replace?: boolean
  /** Visits: make the leks that the places of the birds put forward. */
  make_leks?: boolean
  /** Visits, broods: leave out rows that cannot be used, instead of refusing the file. */
  leave_out?: boolean
  /** Only look: tell what would come in and leave the plan as it is. */
  look_only?: boolean
  /** The version of the plan the page had. */
  version: number
  /** A word of its own for this request, made by the page: sent twice, it is done once. */
  once?: string | null
}

/** What an import would do, or did. */
export interface Imported {
  /** How every field was understood. */
  fields: FieldGuess[]
  /** Columns that are not used; they are kept with the features. */
  unused: string[]
  /** Every column of the file. */
  columns: string[]
  /** Where the places come from and in which coordinates, in words; empty where there are none. */
  places: string
  /** The first rows as they would stand in the plan, shown on the ground. */
  preview: PreviewRow[]
  /** How many features. */
  features: number
  /** What was put right, and what to know. */
  notes: string[]
  /** Everything that keeps it out; empty where it can come in. */
  faults: ProblemFault[]
  /** The version of the plan after; null where it was only looked at or kept out. */
  version: number | null
}

/** How a field was understood. */
export interface FieldGuess {
  /** Field. */
  field: string
  /** What it is, with its unit. */
  what: string
  /** Column of the file; null: none. */
  column: string | null
  /** Whether it was guessed, rather than told. */
  guessed: boolean
  /** Whether it must be there. */
  needed: boolean
}

/** A row as it would stand in the plan. */
export interface PreviewRow {
  /** Values by field, in words. */
  values: Record<string, string>
  /** Where, GeoJSON in the plan's coordinates. */
  geometry: unknown | null
}

/** A new plan. */
export interface NewPlan {
  /** Name of the file in the desk's folder, without folders, such as `hill`. */
  file: string
  /** Name of the holding. */
  name: string
  /** Country. */
  country: string
  /** Upload of the boundary. */
  boundary: number
  /** Uploads of the heights. */
  heights: number[]
  /** The day of the survey; left out: today. */
  as_at?: string | null
  /** EPSG number of the plan's coordinates, projected, metres; left out: the national grid. */
  epsg?: number | null
  /** Layer of the boundary's file; left out: its only one. */
  layer?: string | null
}

/** A plan to be opened. */
export interface OpenPlan {
  /** Name of the file in the desk's folder. */
  file: string
}

/** A plan in the desk's folder. */
export interface PlanFile {
  /** Name of the file. */
  file: string
  /** Name of the plan; empty where it could not be read. */
  name: string
  /** Whether it is the one that is open. */
  open: boolean
  /** Why it cannot be opened; empty where it can. */
  trouble: string
}
