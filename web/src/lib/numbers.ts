// Numbers that findings are spoken of by: each keeps its own while others come and go, and in a page that is loaded anew.
import type { FindingState } from '../api/types'

/** A finding with the number it is spoken of by. */
export type Numbered = FindingState & { number: number }

/** What a finding is known again by, closest first: the very same; the same said; on a measure that was dragged, its rule. */
const KNOWN_BY: ((f: FindingState) => unknown[] | null)[] = [
  (f) => [f.rule, f.on, f.what, f.here, f.geometry],
  (f) => [f.rule, f.on, f.what],
  (f) => (f.on ? [f.rule, f.on] : null),
]
type Marks = (string | null)[]
/** The numbers given so far, with what each finding is known by. */
type Given = Map<number, Marks>

const KEPT = 'greyhen.numbers'
/** At most so many lists are kept, and of each so many numbers, the newest. */
const MOST_LISTS = 20
const MOST_NUMBERS = 2000

const lists = new Map<string, Given>(kept())

/** What a store holds may have been cut short or be another's. */
function kept(): [string, Given][] {
  try {
    const told = JSON.parse(sessionStorage.getItem(KEPT) ?? '[]') as [string, [number, Marks][]][]
    return told.map(([of, given]) => [of, new Map(given.filter(([number, marks]) => Number.isInteger(number) && marks.length === KNOWN_BY.length))])
  } catch {
    return []
  }
}

function keep() {
  try {
    sessionStorage.setItem(KEPT, JSON.stringify([...lists].slice(-MOST_LISTS).map(([of, given]) => [of, [...given].slice(-MOST_NUMBERS)])))
  } catch {
    // A full or closed store: the page itself still holds them.
  }
}

/** Findings with their numbers, from those given so far in their list: that of a plan and an option. */
export function numbered(findings: FindingState[], list: string): Numbered[] {
  const given = lists.get(list) ?? new Map<number, Marks>()
  const marks = new Map(findings.map((f) => [f, KNOWN_BY.map((by) => brief(by(f)))]))
  const numbers = new Map<FindingState, number>()
  const free = new Set(given.keys())
  for (const closest of KNOWN_BY.keys()) {
    const known = new Map<string | null, number[]>()
    for (const number of free) {
      const mark = given.get(number)?.[closest] ?? null
      known.set(mark, [...(known.get(mark) ?? []), number])
    }
    for (const finding of findings) {
      const mark = marks.get(finding)?.[closest] ?? null
      const number = numbers.has(finding) || mark === null ? undefined : known.get(mark)?.shift()
      if (number === undefined) continue
      numbers.set(finding, number)
      free.delete(number)
    }
  }
  let last = Math.max(0, ...given.keys())
  const all = findings.map((finding) => {
    const number = numbers.get(finding) ?? (last += 1)
    // Those that stand are the newest.
    given.delete(number)
    given.set(number, marks.get(finding) ?? [])
    return { ...finding, number }
  })
  lists.delete(list)
  lists.set(list, given)
  keep()
  return all
}

/** A few letters for what may be long; that two be alike by chance is not to be expected. */
function brief(what: unknown[] | null): string | null {
  if (!what) return null
  let [a, b] = [0x811c9dc5, 0x9e3779b9]
  for (const letter of JSON.stringify(what)) {
    const code = letter.codePointAt(0) ?? 0
    a = Math.imul(a ^ code, 0x01000193)
    b = Math.imul(b ^ code, 0x85ebca6b) ^ (b >>> 13)
  }
  return (a >>> 0).toString(36) + (b >>> 0).toString(36)
}
