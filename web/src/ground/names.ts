// Names of parcels, each whole or not at all: along the middle of what is seen of its parcel, clear of the title, the foot and the edges, and of
// leks and marks.
import Feature from 'ol/Feature'
import { Point } from 'ol/geom'
import * as looks from './looks'
import { touch, type Box } from './gather'
import { spotOf, type Seen } from './marks'
import { largest } from './shapes'

/** Farther than this, metres a pixel, parcels go without names. */
const NAMED_TO = 6
const EDGE_PX = 4
/** Kilometres stand at the right edge of the picture. */
const KILOMETRES_PX = 42
const HALF_HIGH_PX = 10
/** What stands at the foot of the picture is as high as that. */
const FOOT_PX = 58

export function names(parcels: Feature[], { resolution, middle, size, head }: Seen, taken: Box[]): Feature[] {
  if (resolution > NAMED_TO) return []
  const [wide = 0, high = 0] = size
  const [left, top] = [middle[0] - (wide / 2) * resolution, middle[1] + (high / 2) * resolution]
  return parcels.flatMap((parcel) => {
    const name = String(parcel.get('name'))
    // The middle of the longest way across, and how long that is.
    const [east = 0, north = 0, across = 0] = largest(parcel.getGeometry())?.getInteriorPoint().getCoordinates() ?? []
    const y = (top - north) / resolution
    if (y < HALF_HIGH_PX || y > high - FOOT_PX - HALF_HIGH_PX) return []
    const from = Math.max((east - across / 2 - left) / resolution, y < head.high + HALF_HIGH_PX ? head.wide : 0) + EDGE_PX
    const to = Math.min((east + across / 2 - left) / resolution, wide - KILOMETRES_PX) - EDGE_PX
    const half = looks.parcelWide(name) / 2
    if (to - from < 2 * half) return []
    const free = (x: number) => !taken.some((box) => touch(box, { ...spotOf(resolution)([x, north]), w: half, h: HALF_HIGH_PX }))
    const at = [(from + to) / 2, from + half, to - half].map((x) => left + x * resolution).find(free)
    if (at === undefined) return []
    const feature = new Feature(new Point([at, north]))
    feature.setStyle(looks.parcel(name))
    return [feature]
  })
}
