// What goes over the wire to the desk and back: the shapes of `crates/desk/src/api/field.rs`.

export interface Book { plan: string; device: string; leks: Lek[] }
export interface Lek { id: string; name: string; square: string; exact: string | null }
export interface Fix { lon: number; lat: number; accuracy_m: number | null }

export type What =
  | { is: 'visit'; lek: string; date: string; start: string | null; cocks: number | null; hens: number | null; weather: string; note: string }
  | { is: 'stick'; height_cm: number; date: string; note: string }
  | { is: 'probe'; depth_cm: number; date: string }
  | { is: 'note'; text: string }
  | { is: 'photo'; text: string; jpeg: string }

export interface Entry { id: string; made_at: string; observer: string; place: Fix | null; what: What }
export interface Received { id: string; state: 'waiting' | 'merged' | 'kept' | 'aside'; why: string }
export interface Problem { kind: string; title: string; faults: { at: string; needed: string; found: string; hint: string }[] }

/** A problem in one sentence. */
export function told(problem: Problem): string {
  const faults = problem.faults.map((f) => (f.needed ? `${f.at}: needed ${f.needed}, found ${f.found}` : f.found) + (f.hint ? ` (${f.hint})` : ''))
  return [problem.title, ...faults].join('. ')
}
