// The document of works as far as the page reads it; docs/schemas/works.json is the whole of it.
import { month } from '../lib/figures'

export interface Window { first: string; last: string }
export interface Task {
  id: string; measures: string[]; kind: string; stage: string; what: string; year: number
  amounts: { what: string; amount: number; unit: string }[]
  hands: string; people: number
  days: { low: number; usual: number; high: number; rates: string[] } | null
  after: { job: string; words: string }[]
  season: { all_year: boolean; windows: Window[]; why: string[] }
  /** The day it is to be done by; `hard` where no later day will do. */
  by: string | null; hard: boolean
  planned: { first: string; last: string; worked: string[]; crews: string[]; late_days: number; slack_days: number; latest_first: string } | null
  /** The first planned day on which nests are to be searched for first. */
  nests_from: string | null
  notes: string[]; keys: string[]
}
interface Moved { job: string; first: string; planned_first: string; begins_later_days: number; other_season: boolean; other_crews: boolean }
export interface WorksDocument {
  first: string; last: string
  crews: { name: string; kinds: string[]; people: number }[]
  crews_assumed: boolean
  jobs: Task[]
  cannot: { job: string; why: string }[]
  beyond: string[]
  done: { measure: string; year: number }[]
  nothing: string[]
  slips: { job: string; late_days: number; moved: Moved[]; lost: { job: string; why: string }[] }[]
  late_days: number
  later: { measure: string; what: string; years: number[] }[]
  finish: string | null
  proven: boolean
  gap_days: number | null
  cautions: { kind: string; words: string[] }[]
  account: {
    years: { year: number; cost: [number, number, number]; income: [number, number, number]; balance: number }[]
    totals: { cost: number[]; income: number[]; net: number[]; whole: boolean; without: string[] }
    says: string[]
  } | null
  no_account: string | null
}

const DAYS_BEFORE = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334]
const YEAR_DAYS = 365

/** Where a month and day stand in the year, 0 to 1. */
export const along = (month: number, day: number): number => Math.min(1, ((DAYS_BEFORE[month - 1] ?? 0) + (month === 2 ? Math.min(day, 28) : day) - 1) / YEAR_DAYS)

/** Pieces of the year closed to a task, each from and to, 0 to 1. */
export function closed(task: Task): [number, number][] {
  if (task.season.all_year) return []
  const open: [number, number][] = task.season.windows.flatMap(({ first, last }) => {
    const [fm = 1, fd = 1] = first.split('-').map(Number)
    const [lm = 12, ld = 31] = last.split('-').map(Number)
    const from = along(fm, fd)
    const to = Math.min(1, along(lm, ld) + 1 / YEAR_DAYS)
    return from <= to ? [[from, to] as [number, number]] : [[from, 1] as [number, number], [0, to] as [number, number]]
  }).sort((a, b) => a[0] - b[0])
  const gaps: [number, number][] = []
  let at = 0
  for (const [from, to] of open) {
    if (from > at) gaps.push([at, from])
    at = Math.max(at, to)
  }
  if (at < 1) gaps.push([at, 1])
  return gaps
}

/** Where the planned days of a task lie in a year; null where they do not touch it. */
export function laid(task: Task, year: number): { from: number; to: number; before: boolean; beyond: boolean } | null {
  if (!task.planned) return null
  const [fy = 0, fm = 1, fd = 1] = task.planned.first.split('-').map(Number)
  const [ly = 0, lm = 1, ld = 1] = task.planned.last.split('-').map(Number)
  if (fy > year || ly < year) return null
  return { from: fy < year ? 0 : along(fm, fd), to: ly > year ? 1 : Math.min(1, along(lm, ld) + 1 / YEAR_DAYS), before: fy < year, beyond: ly > year }
}

const MEANT_FOR_A_YEAR = ['fence', 'ground', 'work']

/** Whether a work comes to lie in a later year than it is meant for. */
export const laterThanMeant = (task: Task): boolean =>
  task.planned !== null && MEANT_FOR_A_YEAR.includes(task.stage) && Number(task.planned.first.slice(0, 4)) > task.year

/** Why a task's days are closed, without the edition each reason is of: short enough for its row on the board. */
export const shortWhy = (task: Task): string =>
  task.season.why.map((w) => w.replace(/\s*\([^()]*\d{4}-\d{2}[^()]*\)/g, '')).join('; ')

/** The day at a place along the year, `1 Dec`. */
function dayAt(at: number): string {
  const nth = Math.round(at * YEAR_DAYS)
  const m = DAYS_BEFORE.filter((days) => days <= nth).length
  return `${nth - (DAYS_BEFORE[m - 1] ?? 0) + 1} ${month(m)}`
}

/** When a task is closed, in words; what runs over the turn of the year is one. */
export function closedSpans(task: Task): string {
  const gaps = closed(task)
  const [first, last] = [gaps[0], gaps.at(-1)]
  if (gaps.length > 1 && first?.[0] === 0 && last?.[1] === 1) gaps.splice(0, gaps.length, ...gaps.slice(1, -1), [last[0], first[1]])
  return gaps.map(([from, to]) => `${dayAt(from)} to ${dayAt(to - 1 / YEAR_DAYS)}`).join(', ')
}
