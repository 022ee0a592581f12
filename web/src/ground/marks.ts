// Numbers and findings, each where it can be read: beside leks, their names and what is small, not over them.
import type { Extent } from 'ol/extent'
import { getCenter, getHeight, getWidth } from 'ol/extent'
import Feature from 'ol/Feature'
import { LineString, Point } from 'ol/geom'
import type { Style } from 'ol/style'
import { ground as words } from '../text/ground'
import { gather, place, type Box, type Spot } from './gather'
import * as looks from './looks'

type At = [number, number]
/** What is to be marked, and where. */
export interface Marked {
  leks: { name: string; at: At }[]
  mends: { at: At; id: string; number: number; outside: boolean }[]
  findings: { at: At; number: number; severity: string }[]
  findingOn: number | null
  offered: { at: At; number: number; on: boolean }[]
}
/** The picture as it is seen: metres a pixel, its middle, and its size and that of the title at its upper left in pixels. */
export interface Seen { resolution: number; middle: At; size: number[]; head: { wide: number; high: number } }

/** Where ground stands, metres a pixel given, in pixels down the page from the grid's own corner. */
export const spotOf = (resolution: number) => ([east, north]: At): Spot => ({ x: east / resolution, y: -north / resolution })

/** A shape smaller than this would be lost under a mark, pixels. */
const SMALL_PX = 90
const MANY_OFFERED = 20

/** The marks, the leaders of those that stepped aside, and what room is taken then. */
export function marks(marked: Marked, laid: Extent[], { resolution, middle, size, head }: Seen): Record<'offered' | 'numbers' | 'findings' | 'leaders', Feature[]> & { taken: Box[] } {
  const spot = spotOf(resolution)
  const ground = ({ x, y }: Spot): At => [x * resolution, -y * resolution]
  const small = laid.filter((e) => Math.max(getWidth(e), getHeight(e)) / resolution < SMALL_PX)
  const [wide = 0, high = 0] = size
  const sight: Box = { ...spot(middle), w: wide / 2, h: high / 2 }
  const taken: Box[] = [
    { x: sight.x - sight.w + head.wide / 2, y: sight.y - sight.h + head.high / 2, w: head.wide / 2, h: head.high / 2 },
    ...marked.leks.flatMap((l) => looks.lekRoom(l.name).map((box) => ({ ...box, x: box.x + spot(l.at).x, y: box.y + spot(l.at).y }))),
    ...small.map((e) => ({ ...spot(getCenter(e) as At), w: getWidth(e) / 2 / resolution, h: getHeight(e) / 2 / resolution })),
  ]
  const leaders: Feature[] = []
  const mark = (from: Spot, at: Spot, id: string, style: Style) => {
    if (from !== at) leaders.push(new Feature(new LineString([ground(from), ground(at)])))
    const feature = new Feature(new Point(ground(at)))
    feature.setId(id)
    feature.setStyle(style)
    return feature
  }
  const offered = place(marked.offered.map((o) => ({ spot: spot(o.at), items: [o] })), taken, () => looks.OFFERED_ROOM, sight)
    // Where very many lie together only those are numbered that have room where they are; nearer there is room for more.
    .filter((p) => marked.offered.length <= MANY_OFFERED || p.at === p.spot || p.items.some((o) => o.on))
    .flatMap((p) => p.items.map((o) => mark(p.spot, p.at, `offered/${o.number}`, looks.offered(o.number, o.on))))
  const numbers = place(marked.mends.map((m) => ({ spot: spot(m.at), items: [m] })), taken, () => looks.MEND_ROOM, sight)
    .flatMap((p) => p.items.map((m) => mark(p.spot, p.at, m.id, looks.mendNumber(m.number, m.outside))))
  const gathered = gather(marked.findings.map((item) => ({ spot: spot(item.at), item })), looks.findingRoom)
  const findings = place(gathered, taken, looks.findingRoom, sight).flatMap((p) => {
    const [one] = p.items
    if (!one) return []
    const on = p.items.some((f) => f.number === marked.findingOn)
    const style = p.items.length === 1 ? looks.finding(one.number, one.severity, on) : looks.findings(words.findings(p.items.length), p.items.some((f) => f.severity === 'must'), on)
    return [mark(p.spot, p.at, p.items.map((f) => f.number).sort((a, b) => a - b).join(), style)]
  })
  return { offered, numbers, findings, leaders, taken }
}
