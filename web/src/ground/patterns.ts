// Small drawn patterns, so that what covers the ground is told apart without colour.

type Pen = (c: CanvasRenderingContext2D, size: number) => void
const held = new Map<string, CanvasPattern>()

/** A tile, drawn once. */
export function tile(key: string, size: number, ground: string, pen: Pen): CanvasPattern {
  const known = held.get(key)
  if (known) return known
  const scale = Math.max(1, Math.round(devicePixelRatio))
  const canvas = document.createElement('canvas')
  canvas.width = canvas.height = size * scale
  const c = canvas.getContext('2d')
  if (!c) throw new Error('the browser gives no canvas')
  c.scale(scale, scale)
  c.fillStyle = ground
  c.fillRect(0, 0, size, size)
  pen(c, size)
  const pattern = c.createPattern(canvas, 'repeat')
  if (!pattern) throw new Error('the browser gives no pattern')
  held.set(key, pattern)
  return pattern
}

const strokes = (c: CanvasRenderingContext2D, colour: string, width: number, lines: number[][]) => {
  c.strokeStyle = colour
  c.lineWidth = width
  c.lineCap = 'round'
  for (const [x = 0, y = 0, ...on] of lines) {
    c.beginPath()
    c.moveTo(x, y)
    for (let i = 0; i + 1 < on.length; i += 2) c.lineTo(on[i] ?? 0, on[i + 1] ?? 0)
    c.stroke()
  }
}

const dots = (c: CanvasRenderingContext2D, colour: string, radius: number, at: [number, number][]) => {
  c.fillStyle = colour
  for (const [x, y] of at) {
    c.beginPath()
    c.arc(x, y, radius, 0, 7)
    c.fill()
  }
}

/** What grows on open ground. */
export const COVER: Record<string, { ground: string; pen: Pen; size: number }> = {
  heather: { ground: '#d6c8d2', size: 18, pen: (c) => strokes(c, '#7c5d77', 1, [[3, 8, 5, 4, 7, 8], [5, 4, 5, 9], [12, 17, 14, 13, 16, 17], [14, 13, 14, 18]]) },
  blaeberry: { ground: '#cfcee2', size: 14, pen: (c) => dots(c, '#5a4f88', 1.3, [[3, 4], [10, 11]]) },
  bog: { ground: '#d3ddd6', size: 18, pen: (c) => strokes(c, '#5e7a74', 1.1, [[2, 5, 8, 5], [11, 14, 17, 14]]) },
  flush: { ground: '#dde8cd', size: 20, pen: (c) => strokes(c, '#4d7350', 1.1, [[2, 7, 4.5, 5, 7, 7, 9.5, 5], [11, 17, 13.5, 15, 16, 17, 18.5, 15]]) },
  grass: { ground: '#e9e6c6', size: 22, pen: (c) => strokes(c, '#a39c64', 1, [[5, 7, 5, 4], [16, 18, 16, 15]]) },
  bracken: { ground: '#e8d4ac', size: 18, pen: (c) => strokes(c, '#93703a', 1, [[3, 4, 5, 7, 7, 4], [5, 7, 5, 10], [12, 12, 14, 15, 16, 12], [14, 15, 14, 18]]) },
  scrub: { ground: '#cfd7b2', size: 20, pen: (c) => { c.strokeStyle = '#5d6b36'; c.lineWidth = 1.1; for (const [x, y] of [[5, 6], [15, 16]] as const) { c.beginPath(); c.arc(x, y, 2.4, 0, 7); c.stroke() } } },
  bare: { ground: '#e7e1d6', size: 16, pen: (c) => dots(c, '#8b8171', 0.9, [[3, 3], [11, 6], [6, 12]]) },
  rush: { ground: '#d9e0c0', size: 16, pen: (c) => strokes(c, '#5b7043', 1.1, [[3, 8, 4, 3], [5, 8, 5, 2], [7, 8, 6, 3], [11, 15, 12, 10], [13, 15, 13, 9]]) },
  crop: { ground: '#f0e6b8', size: 12, pen: (c) => strokes(c, '#9b8a3c', 1, [[0, 3, 12, 3], [0, 9, 12, 9]]) },
  conifer: { ground: '#c3cda6', size: 16, pen: (c) => strokes(c, '#3f5227', 1.3, [[3, 8, 5, 3, 7, 8, 3, 8], [11, 15, 13, 10, 15, 15, 11, 15]]) },
  other: { ground: '#efecde', size: 8, pen: () => undefined },
}

/** The fill of open ground. */
export function cover(look: string): CanvasPattern {
  const known = COVER[look] ? look : 'other'
  const kind = COVER[known]
  if (!kind) throw new Error('no look')
  return tile(`cover ${known}`, kind.size, kind.ground, kind.pen)
}

/** How tall a wood is drawn: size and tone go up with its trees. */
const STEPS_M = [1, 3, 6, 10, 15]
export const heightStep = (height_m: number | null): number => STEPS_M.filter((s) => (height_m ?? 0) >= s).length

const WOOD_GROUND = ['#e2e5cf', '#d3dbb8', '#bfcb9f', '#a8b787', '#91a372', '#7d9061']
const WOOD_INK = ['#7b8759', '#66753f', '#53632f', '#435325', '#36451d', '#2a3716']

/** Trees: pointed for conifers, round for broadleaves, both for mixed; as large as they are tall. */
export function wood(look: string, step: number): CanvasPattern {
  const ink = WOOD_INK[step] ?? '#2a3716'
  const size = 16 + step * 3
  const r = 2 + step * 1.25
  const pointed = (c: CanvasRenderingContext2D, x: number, y: number) => {
    c.beginPath()
    c.moveTo(x, y - r * 1.5)
    c.lineTo(x + r, y + r)
    c.lineTo(x - r, y + r)
    c.closePath()
    c.fill()
  }
  const round = (c: CanvasRenderingContext2D, x: number, y: number) => {
    c.beginPath()
    c.arc(x, y, r, 0, 7)
    c.fill()
  }
  return tile(`wood ${look} ${step}`, size, WOOD_GROUND[step] ?? '#7d9061', (c, s) => {
    c.fillStyle = ink
    ;(look === 'conifer' || look === 'mixed' ? pointed : round)(c, s * 0.28, s * 0.3)
    ;(look === 'conifer' ? pointed : round)(c, s * 0.76, s * 0.78)
  })
}

/** Slanted lines, for what is laid over the ground. */
export function hatch(key: string, colour: string, gap: number, way: 1 | -1, edge?: string): CanvasPattern {
  return tile(`hatch ${key}`, gap, 'rgba(0,0,0,0)', (c, s) => {
    for (const [drawn, width] of [[edge, 3.4], [colour, 1.6]] as const) {
      if (!drawn) continue
      c.strokeStyle = drawn
      c.lineWidth = width
      for (const shift of [-s, 0, s]) {
        c.beginPath()
        c.moveTo(shift, way > 0 ? s : 0)
        c.lineTo(shift + s, way > 0 ? 0 : s)
        c.stroke()
      }
    }
  })
}

/** A run from clear to full, as long as a sample of the key. */
export function stronger(colour: string, most: number): CanvasGradient | string {
  const run = document.createElement('canvas').getContext('2d')?.createLinearGradient(4, 0, 40, 0)
  if (!run) return colour
  run.addColorStop(0, 'rgba(0,0,0,0)')
  run.addColorStop(1, colour.replace(/^rgb\((.*)\)$/, `rgba($1, ${most})`))
  return run
}
