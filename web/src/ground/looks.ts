// How every thing on the ground is drawn.
import type { FeatureLike } from 'ol/Feature'
import { MultiPoint, Point, SimpleGeometry, type LineString } from 'ol/geom'
import { Circle, Fill, Icon, RegularShape, Stroke, Style, Text } from 'ol/style'
import type { Stood } from '../api/types'
import { ground as groundWords } from '../text/ground'
import { cover, hatch, heightStep, stronger, wood } from './patterns'

const INK = '#171c2b'
const RUSSET = '#8d4017'
const COTTON = '#fffef9'
const BLAEBERRY = '#473a75'
const FONT = "15px Optima, Candara, 'Noto Sans', 'Segoe UI', 'Liberation Sans', Arial, sans-serif"
const NAMED = "600 15px Charter, Georgia, 'Liberation Serif', serif"

const line = (color: string, width: number, lineDash?: number[]) => new Style({ stroke: new Stroke({ color, width, ...(lineDash ? { lineDash } : {}) }) })
const point = (color: string, radius: number) => new Style({ image: new Circle({ radius, fill: new Fill({ color }), stroke: new Stroke({ color: COTTON, width: 1 }) }) })

const held = new Map<string, Style | Style[]>()
const once = <T extends Style | Style[]>(key: string, make: () => T): T => {
  if (!held.has(key)) held.set(key, make())
  return held.get(key) as T
}

/** A wood as it stands then. */
export function stood(look: string, height_m: number | null, planned: boolean): Style {
  const step = heightStep(height_m ?? (look === 'young' ? 1.5 : 11))
  return once(`stood ${look} ${step} ${planned}`, () =>
    new Style({ fill: new Fill({ color: wood(look, step) }), stroke: new Stroke({ color: planned ? BLAEBERRY : '#3f4d24', width: planned ? 2.5 : 1 }) }))
}

/** Open ground, paler where a season is shown over it. */
export const open = (look: string): Style =>
  once(`open ${look}`, () => new Style({ fill: new Fill({ color: cover(look) }), stroke: new Stroke({ color: '#a9a48f', width: 0.6 }) }))

const CLEAR = new Fill({ color: 'rgba(0,0,0,0)' })
const EARTH = '#3b2d25'
const WATER = '#2f5d66'
/** Dots along a line: dashes of no length with round ends. */
const beads = (color: string, width: number, gaps: number[]) => new Style({ stroke: new Stroke({ color, width, lineCap: 'round', lineDash: gaps }) })

/** Lines differ by dash, width and edge, so that they are told apart in greys. */
const LINES: Record<string, () => Style | Style[]> = {
  boundary: () => [line(COTTON, 5), line(INK, 2.4, [14, 4, 3, 4])],
  parcels: () => new Style({ fill: CLEAR, stroke: new Stroke({ color: '#6d6c5f', width: 1 }) }),
  // A wire with its posts.
  fences: () => [line(COTTON, 3.4), line(EARTH, 1.2), beads(EARTH, 4.6, [0.1, 10])],
  ditches: () => line(WATER, 2, [7, 4]),
  watercourses: () => [line(COTTON, 5), line(WATER, 3)],
  tracks: () => [line('#6d5a45', 5), line('#f6efdc', 2.8)],
  services: () => [line(COTTON, 3), beads(RUSSET, 2.4, [0.1, 5, 0.1, 5, 0.1, 13])],
  buildings: () => new Style({ image: new RegularShape({ points: 4, radius: 7, angle: Math.PI / 4, fill: new Fill({ color: EARTH }) }), fill: new Fill({ color: EARTH }), stroke: new Stroke({ color: EARTH, width: 1 }) }),
  // A pale band under a broken edge.
  areas: () => [new Style({ fill: CLEAR, stroke: new Stroke({ color: 'rgba(107,59,31,.28)', width: 7 }) }), line('#6b3b1f', 1.4, [9, 5])],
  sticks: () => point('#6d6c5f', 3),
  probes: () => new Style({ image: new RegularShape({ points: 3, radius: 4.5, angle: Math.PI, fill: new Fill({ color: EARTH }), stroke: new Stroke({ color: COTTON, width: 1 }) }) }),
}
/** Nearer than this, metres a pixel, the smallest things are drawn. */
export const SMALL_THINGS_FROM = 3

/** The look of a layer of the survey that is drawn alike everywhere; none for a layer that is not drawn so. */
export function ofLayer(layer: string): Style | Style[] | undefined {
  const make = LINES[layer]
  return make && once(layer, make as () => Style)
}

/** What was surveyed, as it stands in the year shown. */
export function surveyed(layer: string, ahead: Map<string, Stood>): (feature: FeatureLike, resolution: number) => Style | Style[] | undefined {
  if (layer === 'patches') return (f) => open(ahead.get(String(f.getId()))?.look ?? String(f.get('look')))
  if (layer === 'woods')
    return (f) => {
      const then = ahead.get(String(f.getId()))
      return stood(then?.look ?? String(f.get('look')), then?.height_m ?? null, false)
    }
  if (layer === 'sticks' || layer === 'probes') return (_, resolution) => (resolution < SMALL_THINGS_FROM ? ofLayer(layer) : undefined)
  return () => ofLayer(layer)
}

const clipped = (name: string) => (name.length > 40 ? `${name.slice(0, 39)}…` : name)

/** The tail of a displaying cock. */
function lyre(on: boolean): HTMLCanvasElement {
  const canvas = document.createElement('canvas')
  canvas.width = 68
  canvas.height = 60
  const c = canvas.getContext('2d')
  if (c) {
    c.scale(2, 2)
    c.beginPath()
    c.arc(17, 15, 13, 0, 7)
    c.fillStyle = on ? INK : COTTON
    c.fill()
    c.lineWidth = 2
    c.strokeStyle = INK
    c.stroke()
    c.beginPath()
    c.moveTo(9, 9)
    c.bezierCurveTo(9, 17, 12, 21, 17, 21)
    c.bezierCurveTo(22, 21, 25, 17, 25, 9)
    c.lineWidth = 4
    c.lineCap = 'round'
    c.strokeStyle = on ? COTTON : INK
    c.stroke()
  }
  return canvas
}

export function lek(name: string, on: boolean): Style {
  return once(`lek ${name} ${on}`, () =>
    new Style({
      image: new Icon({ img: lyre(on), scale: 0.5 }),
      text: new Text({ text: clipped(name), font: NAMED, offsetY: 24, fill: new Fill({ color: INK }), stroke: new Stroke({ color: COTTON, width: 4 }) }),
    }))
}

/** A measure laid: hatched in blaeberry, thicker where it is the one shown; a wood that stands by then as it stands. */
export function measure(then: Stood | undefined, on: boolean): Style | Style[] {
  if (then) return on ? [stood(then.look, then.height_m ?? null, true), line(INK, 4)] : stood(then.look, then.height_m ?? null, true)
  return once(`measure ${on}`, () => [
    new Style({ fill: new Fill({ color: hatch('measure', 'rgba(71,58,117,.75)', 8, 1) }), stroke: new Stroke({ color: COTTON, width: on ? 7 : 5 }) }),
    line(BLAEBERRY, on ? 4.5 : 2.6, [10, 3]),
  ])
}

/** Ground that could mend a season; a neighbour's has a broken edge and wider hatching. */
export const mend = (on: boolean, outside: boolean): Style[] =>
  once(`mend ${on} ${outside}`, () => [
    new Style({ fill: new Fill({ color: hatch(`mend ${on} ${outside}`, RUSSET, (on ? 6 : 9) * (outside ? 2 : 1), -1, 'rgba(255,254,249,.75)') }), stroke: new Stroke({ color: COTTON, width: on ? 6.5 : 5 }) }),
    line(RUSSET, on ? 4 : 2.4, outside ? [8, 6] : undefined),
  ])

/** Its number, as it stands in the list: dark on the holding, open on a neighbour's ground. */
export const mendNumber = (number: number, outside: boolean): Style =>
  once(`mend number ${number} ${outside}`, () =>
    new Style({
      image: new RegularShape({ points: 4, radius: 15, angle: Math.PI / 4, fill: new Fill({ color: outside ? COTTON : RUSSET }), stroke: new Stroke({ color: outside ? RUSSET : COTTON, width: outside ? 2 : 1 }) }),
      text: new Text({ text: String(number), font: NAMED, offsetY: 1, fill: new Fill({ color: outside ? RUSSET : COTTON }) }),
    }))

/** Half the room a mend's number takes, pixels. */
export const MEND_ROOM = { w: 11, h: 11 }

/** The number of what is put forward, as it stands in the list. */
export const offered = (number: number, on: boolean): Style =>
  once(`offered ${number} ${on}`, () =>
    new Style({
      image: new Circle({ radius: on ? 16 : 13, fill: new Fill({ color: INK }), stroke: new Stroke({ color: COTTON, width: on ? 4 : 2 }) }),
      text: new Text({ text: String(number), font: NAMED, offsetY: 1, fill: new Fill({ color: COTTON }) }),
    }))

/** Half the room it takes, pixels. */
export const OFFERED_ROOM = { w: 14, h: 14 }

/** How much of the ground a season's picture lets through, at its fullest. */
export const SUPPLY_OPACITY = 0.78

/** What a season finds, in the colour of its picture: clear where nothing is, full where most is. */
export function supply(colour: string): Style {
  return once(`supply ${colour}`, () => new Style({ fill: new Fill({ color: stronger(colour, SUPPLY_OPACITY) }), stroke: new Stroke({ color: '#a9a48f', width: 0.6 }) }))
}

/** From a mark that stepped aside to where it belongs. */
export const leader = [line(COTTON, 4), line(INK, 1.6), new Style({ image: new Circle({ radius: 3, fill: new Fill({ color: INK }), stroke: new Stroke({ color: COTTON, width: 1 }) }), geometry: (f) => new Point((f.getGeometry() as LineString).getFirstCoordinate()) })]

export const reach = new Style({ stroke: new Stroke({ color: INK, width: 2, lineDash: [3, 7], lineCap: 'round' }) })

/** A finding: a letter and a number in a shape of its own. */
export function finding(number: number, severity: string, on: boolean): Style {
  const must = severity === 'must'
  return once(`finding ${number} ${severity} ${on}`, () =>
    new Style({
      image: new RegularShape({
        points: must ? 4 : severity === 'should' ? 6 : 30, radius: (must ? 24 : on ? 20 : 19) + (number > 99 ? 6 : 0), angle: must ? Math.PI / 4 : 0,
        fill: new Fill({ color: must ? INK : COTTON }), stroke: new Stroke({ color: on ? RUSSET : must ? COTTON : INK, width: on ? 4 : 2 }),
      }),
      text: new Text({ text: groundWords.finding(number, severity), font: NAMED, fill: new Fill({ color: must ? COTTON : INK }) }),
    }))
}

/** Findings that lie too near to be told apart: how many, dark where one of them is a must. */
export function findings(words: string, must: boolean, on: boolean): Style {
  return once(`findings ${words} ${must} ${on}`, () =>
    new Style({
      text: new Text({
        text: words, font: NAMED, padding: [3, 7, 2, 7], fill: new Fill({ color: must ? COTTON : INK }), backgroundFill: new Fill({ color: must ? INK : COTTON }),
        backgroundStroke: new Stroke({ color: on ? RUSSET : must ? COTTON : INK, width: on ? 4 : 2 }),
      }),
    }))
}

/** Half the room a mark of so many findings takes, pixels. */
export const findingRoom = (many: number) => (many === 1 ? { w: 20, h: 19 } : { w: 15 + wide(groundWords.findings(many)) / 2, h: 15 })

/** Boxes of a lek's mark and name, from where it lies. */
export const lekRoom = (name: string) => [{ x: 0, y: 0, w: 14, h: 14 }, { x: 0, y: 24, w: 3 + wide(clipped(name)) / 2, h: 10 }]

const ruler = document.createElement('canvas').getContext('2d')
const wide = (words: string, font = NAMED): number => {
  if (ruler) ruler.font = font
  return ruler?.measureText(words).width ?? words.length * 8
}

/** The name of a parcel. */
export const parcel = (name: string): Style =>
  once(`parcel ${name}`, () => new Style({ text: new Text({ text: clipped(name), font: FONT, fill: new Fill({ color: EARTH }), stroke: new Stroke({ color: 'rgba(255,254,249,.85)', width: 3 }) }) }))

/** How wide it is, pixels. */
export const parcelWide = (name: string): number => wide(clipped(name), FONT) + 3

const corners = (feature: FeatureLike): MultiPoint | undefined => {
  const shape = feature.getGeometry()
  return shape instanceof SimpleGeometry && !(shape instanceof Point) ? new MultiPoint(shape.getFlatCoordinates(), shape.getLayout()) : undefined
}
const handle = (radius: number, color: string) => new Style({ geometry: corners, image: new Circle({ radius, fill: new Fill({ color }) }) })

/** What is under the pen: every corner shows, pale within dark within pale, over whatever ground it lies. */
export const pen = [
  new Style({ fill: new Fill({ color: 'rgba(227,223,238,.55)' }), stroke: new Stroke({ color: COTTON, width: 6 }) }),
  new Style({ stroke: new Stroke({ color: BLAEBERRY, width: 3 }), image: new Circle({ radius: 6, fill: new Fill({ color: COTTON }), stroke: new Stroke({ color: BLAEBERRY, width: 3 }) }) }),
  handle(8, COTTON), handle(6.5, BLAEBERRY), handle(3.5, COTTON),
]
export const corner = (on: boolean) => once(`corner ${on}`, () => new Style({ image: new Circle({ radius: on ? 9 : 6, fill: new Fill({ color: on ? RUSSET : COTTON }), stroke: new Stroke({ color: BLAEBERRY, width: 3 }) }) }))

export const gridLine = new Style({ stroke: new Stroke({ color: 'rgba(23,28,43,.28)', width: 1 }) })
export const preview = [new Style({ fill: new Fill({ color: hatch('preview', INK, 10, 1) }), stroke: new Stroke({ color: INK, width: 2.5 }), image: new Circle({ radius: 6, fill: new Fill({ color: RUSSET }), stroke: new Stroke({ color: COTTON, width: 2 }) }) })]
