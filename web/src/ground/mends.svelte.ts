// Ground that could mend the season shown: the holding's own first, what lies outside its march after it and marked as a neighbour's.
import type { CouldMend, Ground } from '../api/types'
import { desk } from '../lib/desk.svelte'
import { shapeOf } from './shapes'

export type March = 'inside' | 'partly' | 'outside'
export interface Mend extends CouldMend { march: March }

/** Points looked at along each side of a piece. */
const ALONG = 14
/** From this share of a piece on one side of the march it counts as lying there. */
const MOST = 0.9

/** Where a piece lies to the march; inside where no march is known. */
export function marchOf(ground: Ground | null, layer: string, id: string): March {
  const of = (name: string) => ground?.layers.find((l) => l.layer === name)?.features ?? []
  const marches = of('boundary').map((f) => shapeOf(f.geometry))
  const piece = of(layer).find((f) => f.id === id)
  if (!piece || !marches.length) return 'inside'
  const shape = shapeOf(piece.geometry)
  const [west = 0, south = 0, east = 0, north = 0] = shape.getExtent()
  let [all, own] = [0, 0]
  for (let i = 0; i < ALONG * ALONG; i += 1) {
    const at = [west + ((east - west) * ((i % ALONG) + 0.5)) / ALONG, south + ((north - south) * (Math.floor(i / ALONG) + 0.5)) / ALONG]
    if (!shape.intersectsCoordinate(at)) continue
    all += 1
    if (marches.some((m) => m.intersectsCoordinate(at))) own += 1
  }
  if (!all) return 'inside'
  return own / all >= MOST ? 'inside' : own / all > 1 - MOST ? 'partly' : 'outside'
}

class Mends {
  all = $derived.by((): Mend[] => {
    const told = (desk.season?.could_mend ?? []).map((m) => ({ ...m, march: marchOf(desk.ground, m.layer, m.id) }))
    return [...told.filter((m) => m.march !== 'outside'), ...told.filter((m) => m.march === 'outside')]
  })
}

export const mends = new Mends()
