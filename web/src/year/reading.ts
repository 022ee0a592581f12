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
  /** The same where there is little room: hectares are understood. */
  brief: string
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

/** Read a cell; `supply` and `need` stand in for its middle while the pen moves. */
export function read(cell: SeasonCell, moving?: { supply: number; need: number }): Reading {
  const supply = moving?.supply ?? cell.supply_ha.p50
  const need = moving?.need ?? cell.need_ha.p50
  const margin = moving ? (need > 0 ? supply / need : 1) : cell.margin.p50
  const spread: Spread = moving ? { p10: margin, p50: margin, p90: margin } : cell.margin
  const short = margin < 1
  // The share of draws that come out short says how sure the words are; while the pen moves only the middle is known.
  const sure = moving !== undefined || (short ? cell.short >= SURE : cell.short <= 1 - SURE + 1e-9)
  // The middles of supply and need are not of one draw: where they leave nothing missing though the middle draw is short, the margin says how much.
  const missing_ha = need > supply ? need - supply : (1 - margin) * need
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
    brief: said.replace(words.unit, ''),
    of: words.of(ha(supply), ha(need)),
    spread: words.spread(ha(cell.supply_ha.p10), ha(cell.supply_ha.p90)),
  }
}
