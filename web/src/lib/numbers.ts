// Numbers that findings are spoken of by: each keeps its own while others come and go.
import type { FindingState } from '../api/types'

/** A finding with the number it is spoken of by. */
export type Numbered = FindingState & { number: number }

/** What a finding is known again by, closest first: the very same; the same said; on a measure that was dragged, its rule. */
const KNOWN_BY: ((f: FindingState) => string | null)[] = [
  (f) => JSON.stringify([f.rule, f.on, f.what, f.here, f.geometry]),
  (f) => JSON.stringify([f.rule, f.on, f.what]),
  (f) => (f.on ? JSON.stringify([f.rule, f.on]) : null),
]

/** Findings with their numbers, from those given so far; `given` learns the new ones. */
export function numbered(findings: FindingState[], given: Map<number, FindingState>): Numbered[] {
  const numbers = new Map<FindingState, number>()
  const free = new Set(given.keys())
  for (const by of KNOWN_BY) {
    const known = new Map<string | null, number[]>()
    for (const number of free) {
      const key = by(given.get(number)!)
      known.set(key, [...(known.get(key) ?? []), number])
    }
    for (const finding of findings) {
      const key = by(finding)
      const number = numbers.has(finding) || key === null ? undefined : known.get(key)?.shift()
      if (number === undefined) continue
      numbers.set(finding, number)
      free.delete(number)
    }
  }
  return findings.map((finding) => {
    const number = numbers.get(finding) ?? given.size + 1
    given.set(number, finding)
    return { ...finding, number }
  })
}
