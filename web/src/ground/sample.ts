// Samples of the key, drawn by the very styles of the ground.
import { LineString, Point, Polygon } from 'ol/geom'
import { toContext } from 'ol/render'
import type { Style } from 'ol/style'

/** `marked` is an area with its sign in it. */
export type As = 'area' | 'line' | 'point' | 'marked'
/** A sample's size, pixels; a sign wants more height. */
export const WIDE = 44
export const HIGH: Record<As, number> = { area: 24, line: 14, point: 42, marked: 36 }

const area = (high: number) => new Polygon([[[4, 4], [WIDE - 4, 4], [WIDE - 4, high - 4], [4, high - 4], [4, 4]]])
const line = (high: number) => new LineString([[2, high / 2], [WIDE - 2, high / 2]])
const point = (high: number) => new Point([WIDE / 2, high / 2])

/** Draw a sample into a canvas. */
export function sample(canvas: HTMLCanvasElement, as: As, look: Style | Style[]) {
  const context = canvas.getContext('2d')
  if (!context) return
  const onto = toContext(context, { size: [WIDE, HIGH[as]] })
  for (const style of Array.isArray(look) ? look : [look]) {
    const shape = as === 'line' ? line : as === 'point' || (as === 'marked' && style.getImage()) ? point : area
    onto.setStyle(style)
    onto.drawGeometry(shape(HIGH[as]))
  }
}

const SMALL = 48

/** The colour of a picture where it is strongest. */
export function strongest(picture: HTMLImageElement): string {
  const canvas = document.createElement('canvas')
  canvas.width = canvas.height = SMALL
  const c = canvas.getContext('2d')
  if (!c) return ''
  c.drawImage(picture, 0, 0, SMALL, SMALL)
  const { data } = c.getImageData(0, 0, SMALL, SMALL)
  let at = 3
  for (let i = 3; i < data.length; i += 4) if ((data[i] ?? 0) > (data[at] ?? 0)) at = i
  return `rgb(${data[at - 3]}, ${data[at - 2]}, ${data[at - 1]})`
}
