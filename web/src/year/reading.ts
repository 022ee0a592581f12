// How a cell of the year sheet is read: lengths along the bar, and words. The need stands at the same place in every cell, so that it makes one line down the sheet.
import type { SeasonCell, Spread } from '../api/types'
import { ha } from '../lib/figures'
import { year as words } from '../text/year'

/** Where along the bar the need stands. */
const NEED_AT = 64

export interface Reading {
  /** Per cent of the bar's length. */
  supply: number
  need: number
  low: number
  high: number
  /** Whether the bar runs on past its end. */
  beyond: boolean
  short: boolean
  sure: boolean
  words: string
  of: string
  spread: string
}

const along = (margin: number) => Math.max(0, Math.min(100, margin * NEED_AT))

/** Read a cell; `supply` and `need` stand in for its middle while the pen moves. */
export function read(cell: SeasonCell, moving?: { supply: number; need: number }): Reading {
  const supply = moving?.supply ?? cell.supply_ha.p50
  const need = moving?.need ?? cell.need_ha.p50
  const margin = moving ? (need > 0 ? supply / need : 1) : cell.margin.p50
  const spread: Spread = moving ? { p10: margin, p50: margin, p90: margin } : cell.margin
  const short = margin < 1
  const sure = short ? spread.p90 < 1 : spread.p10 >= 1
  // The middle run can be short though the middle figures are not: then no length of want is told.
  const lack = need - supply
  const missing = ha(lack)
  return {
    supply: along(margin),
    need: NEED_AT,
    low: along(spread.p10),
    high: along(spread.p90),
    beyond: margin * NEED_AT > 100,
    short,
    sure,
    words: short && lack > 0 ? (sure ? words.short(missing) : words.maybeShort(missing)) : sure ? words.enough : words.justEnough,
    of: words.of(ha(supply), ha(need)),
    spread: words.spread(ha(cell.supply_ha.p10), ha(cell.supply_ha.p90)),
  }
}

/** How a cell stands beside the same cell of another course, by the middle and by whether the spreads part. */
export type Beside = 'better' | 'worse' | 'apart' | 'alike'

export function beside(cell: SeasonCell, other: SeasonCell): Beside {
  const gain = cell.supply_ha.p50 - other.supply_ha.p50
  if (Math.abs(gain) < 0.005 * Math.max(cell.need_ha.p50, 0.1)) return 'alike'
  return gain > 0 ? 'better' : 'worse'
}
