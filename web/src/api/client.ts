// Every call of the page to the desk, and what its answers and troubles are.
import type {
  Ask, Decision, Device, EditRequest, Edited, EntryState, FieldState, FindingState, Ground, GroundAhead, Hit, ImportRequest, Imported, Job, Kept, KindState, MeasureState, NewPlan, Pairing, Picture,
  PlanFile, PlanState, Problem, SeasonGround, Turn, Upload, VisitState, YearSheet,
} from './types'

/** A refusal of the desk, with every fault. */
export class Refused extends Error {
  constructor(readonly status: number, readonly problem: Problem) {
    super(problem.title)
  }
}

/** The desk did not answer at all. */
export class Gone extends Error {}

type Query = Record<string, string | number | boolean | null | undefined>

/** A path with what is asked; what is null is left out. */
export function path(of: string, query: Query = {}): string {
  const told = Object.entries(query).filter(([, v]) => v !== null && v !== undefined)
  return told.length ? `${of}?${new URLSearchParams(told.map(([k, v]) => [k, String(v)]))}` : of
}

async function call<T>(method: string, at: string, body?: unknown, signal?: AbortSignal): Promise<T> {
  const raw = body instanceof Blob
  const init: RequestInit = { method, credentials: 'same-origin', signal: signal ?? null }
  if (body !== undefined) {
    init.body = raw ? body : JSON.stringify(body)
    init.headers = { 'content-type': raw ? 'application/octet-stream' : 'application/json' }
  }
  let answer: Response
  try {
    answer = await fetch(at, init)
  } catch (trouble) {
    if (trouble instanceof DOMException && trouble.name === 'AbortError') throw trouble
    throw new Gone('no answer')
  }
  const text = await answer.text()
  if (answer.ok) return (text ? JSON.parse(text) : undefined) as T
  throw new Refused(answer.status, problem(text, answer.status))
}

function problem(text: string, status: number): Problem {
  const bare = { kind: 'failed', title: `The desk answered ${status}.`, faults: [], version: null, theirs: [] }
  try {
    return { ...bare, ...(JSON.parse(text) as Problem) }
  } catch {
    return bare
  }
}

const get = <T>(at: string, query?: Query, signal?: AbortSignal) => call<T>('GET', path(at, query), undefined, signal)
const post = <T>(at: string, body?: unknown) => call<T>('POST', at, body)

export const api = {
  plan: () => get<PlanState>('/api/plan'),
  ground: () => get<Ground>('/api/ground'),
  groundAhead: (option: number | null, year: number, signal?: AbortSignal) => get<GroundAhead>('/api/ground-ahead', { option, year }, signal),
  relief: () => get<Picture>('/api/relief'),
  season: (lek: string, season: string, option: number | null, year: number, signal?: AbortSignal) =>
    get<SeasonGround>('/api/season', { lek, season, option, year }, signal),
  yearSheet: (option: number | null, year: number, signal?: AbortSignal) => get<YearSheet>('/api/year-sheet', { option, year }, signal),
  kinds: () => get<KindState[]>('/api/kinds'),
  measures: (option: number) => get<MeasureState[]>('/api/measures', { option }),
  findings: (option: number | null) => get<FindingState[]>('/api/findings', { option }),
  visits: () => get<VisitState[]>('/api/visits'),
  search: (q: string, signal?: AbortSignal) => get<Hit[]>('/api/search', { q }, signal),
  edit: (request: EditRequest) => post<Edited>('/api/edits', request),
  undo: (turn: Turn) => post<Edited>('/api/undo', turn),
  redo: (turn: Turn) => post<Edited>('/api/redo', turn),
  ask: (ask: Ask) => post<Job>('/api/jobs', ask),
  jobs: () => get<Job[]>('/api/jobs'),
  job: (id: number) => get<Job>(`/api/jobs/${id}`),
  stop: (id: number) => call<Job>('DELETE', `/api/jobs/${id}`),
  keep: (id: number, folder: string) => post<Kept>(`/api/jobs/${id}/keep`, { folder }),
  upload: (file: File) => call<Upload>('POST', path('/api/uploads', { name: file.name }), file),
  imports: (request: ImportRequest) => post<Imported>('/api/imports', request),
  plans: () => get<PlanFile[]>('/api/plans'),
  newPlan: (plan: NewPlan) => post<PlanState>('/api/plans', plan),
  openPlan: (file: string) => post<PlanState>('/api/plans/open', { file }),
  /** What is written of a feature of the survey, by column. */
  written: async (layer: string, id: string) => (await get<{ properties: Record<string, unknown> }>(`/features/collections/${encodeURIComponent(layer)}/items/${encodeURIComponent(id)}`)).properties,
  field: () => get<FieldState>('/api/field'),
  pair: (exact_leks: boolean) => post<Pairing>('/api/field/pairing', { exact_leks }),
  endPairing: () => call<void>('DELETE', '/api/field/pairing'),
  forget: (id: number) => call<Device[]>('DELETE', `/api/field/devices/${id}`),
  decide: (id: string, decision: Decision) => post<EntryState>(`/api/field/entries/${encodeURIComponent(id)}`, decision),
  demoPlan: () => post<PlanState>('/api/plans/demo', {}),
}

/** Where a file of a job is fetched. */
export const jobFile = (id: number, name: string) => `/api/jobs/${id}/files/${name.split('/').map(encodeURIComponent).join('/')}`
