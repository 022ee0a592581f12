// What other rooms may ask of the picture.
import type { GroundMap } from './map'

class View {
  map = $state.raw<GroundMap | null>(null)
  /** The colour of the season's picture. */
  supply = $state('')
  /** Which of what is put forward is looked at, from nought. */
  offered = $state<number | null>(null)
  /** The shape the pen draws; null where the kind needs none. */
  penShape = $state<'area' | 'line' | null>(null)
}

export const view = new View()
