// Corners of a shape, moved by number: what the keyboard does in place of the pen.
export type At = [number, number]
export interface Shape { type: 'Polygon' | 'LineString'; corners: At[] }

/** The corners of a simple area or line; null where the shape has more parts than that. */
export function shapeOf(geometry: unknown): Shape | null {
  const g = geometry as { type?: string; coordinates?: unknown } | null
  if (g?.type === 'LineString') return { type: 'LineString', corners: g.coordinates as At[] }
  if (g?.type === 'MultiPolygon' && (g.coordinates as At[][][]).length === 1) return shapeOf({ type: 'Polygon', coordinates: (g.coordinates as At[][][])[0] })
  if (g?.type === 'MultiLineString' && (g.coordinates as At[][]).length === 1) return shapeOf({ type: 'LineString', coordinates: (g.coordinates as At[][])[0] })
  if (g?.type === 'Polygon' && (g.coordinates as At[][]).length === 1) return { type: 'Polygon', corners: ((g.coordinates as At[][])[0] ?? []).slice(0, -1) }
  return null
}

export function geometryOf({ type, corners }: Shape): unknown {
  const round = corners.map(([x, y]) => [Math.round(x * 100) / 100, Math.round(y * 100) / 100])
  return type === 'LineString' ? { type, coordinates: round } : { type, coordinates: [[...round, round[0]]] }
}

export const moved = (shape: Shape, at: number, [dx, dy]: At): Shape => ({ ...shape, corners: shape.corners.map((c, i) => (i === at ? [c[0] + dx, c[1] + dy] : c)) })
export const movedAll = (shape: Shape, [dx, dy]: At): Shape => ({ ...shape, corners: shape.corners.map((c) => [c[0] + dx, c[1] + dy]) })
export const put = (shape: Shape, at: number, to: At): Shape => ({ ...shape, corners: shape.corners.map((c, i) => (i === at ? to : c)) })
export const without = (shape: Shape, at: number): Shape => ({ ...shape, corners: shape.corners.filter((_, i) => i !== at) })

/** A new corner half way to the next. */
export function split(shape: Shape, at: number): Shape {
  const here = shape.corners[at]
  const last = shape.type === 'LineString' && at === shape.corners.length - 1
  const next = shape.corners[last ? at - 1 : (at + 1) % shape.corners.length]
  if (!here || !next) return shape
  const between: At = last ? [2 * here[0] - next[0], 2 * here[1] - next[1]] : [(here[0] + next[0]) / 2, (here[1] + next[1]) / 2]
  return { ...shape, corners: [...shape.corners.slice(0, at + 1), between, ...shape.corners.slice(at + 1)] }
}

/** Larger or smaller about its middle. */
export function scaled(shape: Shape, by: number): Shape {
  const n = shape.corners.length
  const middle = shape.corners.reduce<At>((m, c) => [m[0] + c[0] / n, m[1] + c[1] / n], [0, 0])
  return { ...shape, corners: shape.corners.map((c) => [middle[0] + (c[0] - middle[0]) * by, middle[1] + (c[1] - middle[1]) * by]) }
}

export function square([x, y]: At, side: number): Shape {
  const h = side / 2
  return { type: 'Polygon', corners: [[x - h, y - h], [x + h, y - h], [x + h, y + h], [x - h, y + h]] }
}

export const straight = ([x, y]: At, length: number): Shape => ({ type: 'LineString', corners: [[x - length / 2, y], [x + length / 2, y]] })
