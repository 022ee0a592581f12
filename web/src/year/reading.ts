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

/** Draws that must agree before a cell is told without a question mark, as a share. */
const SURE = 0.9
/** Less missing than this is told in words. */
const HARDLY_HA = 0.1

function shortWords(missing_ha: number, sure: boolean): string {
  if (missing_ha < HARDLY_HA) return sure ? words.justShort : words.justMaybeShort
  return sure ? words.short(ha(missing_ha)) : words.maybeShort(ha(missing_ha))
}

const along = (margin: number) => Math.max(0, Math.min(100, margin * NEED_AT))

/** Read a cell; while the pen moves, with what its middle gains by that. */
export function read(cell: SeasonCell, gain_ha?: number): Reading {
  const moving = gain_ha !== undefined
  const gain = gain_ha ?? 0
  const supply = Math.max(0, cell.supply_ha.p50 + gain)
  const need = cell.need_ha.p50
  const margin = need > 0 ? Math.max(0, cell.margin.p50 + gain / need) : 1
  const spread: Spread = moving ? { p10: margin, p50: margin, p90: margin } : cell.margin
  const short = margin < 1
  // The share of draws that come out short says how sure the words are; while the pen moves only the middle is known.
  const sure = moving || (short ? cell.short >= SURE : cell.short <= 1 - SURE + 1e-9)
  // Where the middle draw has enough, it is what the pen takes beyond that.
  const missing_ha = cell.missing_ha.p50 > 0 ? cell.missing_ha.p50 - gain : (1 - margin) * need
  const said = short ? shortWords(missing_ha, sure) : sure ? words.enough : words.justEnough
  return {
    supply: along(margin),
    need: NEED_AT,
    low: along(spread.p10),
    high: along(spread.p90),
    beyond: margin * NEED_AT > 100,
    short,
    sure,
    words: said,
    of: words.of(ha(supply), ha(need)),
    spread: words.spread(ha(cell.supply_ha.p10), ha(cell.supply_ha.p90)),
  }
}
