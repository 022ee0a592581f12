// The option read beside the one shown, and what the full comparison says of the two.
import type { YearSheet } from '../api/types'
import { desk } from '../lib/desk.svelte'
import { Question } from '../lib/jobs.svelte'
import { place } from '../lib/place.svelte'
import { year as words } from '../text/year'

interface Spread { p10: number; p50: number; p90: number }
interface Difference { year: number; lek: string; season: string; margin: Spread; better_draws: number; worse_draws: number; told_apart: boolean }
interface Compared {
  options: { option: number; title: string; needs: number; years: { year: number; met: Spread }[] }[]
  pairs: { first: number; second: number; alike: boolean; differences: Difference[] }[]
}

/** A smaller difference is not worth a word. */
const TOLD_FROM_HA = 0.1

/** How the address names the option beside. */
export const named = (option: number | null) => (option === null ? 'now' : String(option))

class Beside {
  /** The option beside. The address holds it while the two are read, so that a reload finds it. */
  option = $state<number | null>(null)
  sheet = $state.raw<YearSheet | null>(null)
  question = new Question<Compared>()
  #asked = ''

  get on(): boolean {
    return place.panel === 'compare'
  }

  /** Read what is needed for where the reader is. */
  read() {
    if (!this.on) return
    if (place.of !== null) this.option = /^\d+$/.test(place.of) ? Number(place.of) : null
    const options = desk.plan?.options ?? []
    if (this.option !== null && !options.some((o) => o.number === this.option)) this.option = null
    if (place.option === this.option) this.option = this.option === null ? (options[0]?.number ?? null) : null
    place.lead(() => (place.of = named(this.option)))
    const asked = this.option
    if (asked === place.option) return
    void desk.sheetOf(asked, place.year).then((sheet) => { if (asked === this.option) this.sheet = sheet }, () => undefined)
    const both = [place.option, asked].filter((o): o is number => o !== null)
    const key = `${desk.plan?.file}|${desk.plan?.version}|${both.join()}`
    if (key === this.#asked) return
    this.#asked = key
    void this.question.ask({ ask: 'compare', options: both })
  }

  // In the document as now is option 0.
  #pair = $derived.by(() => {
    const [mine, theirs] = [place.option ?? 0, this.option ?? 0]
    const found = this.question.answer?.pairs.find((p) => (p.first === mine && p.second === theirs) || (p.first === theirs && p.second === mine))
    return found ? { ...found, mineIsSecond: found.second === mine } : null
  })

  /** The year told that lies nearest to the one shown. */
  year = $derived.by(() => [...new Set(this.#pair?.differences.map((d) => d.year) ?? [])].sort((a, b) => Math.abs(a - place.year) - Math.abs(b - place.year))[0])

  #of(lek: string, season: string): Difference | undefined {
    return this.#pair?.differences.find((x) => x.year === this.year && x.lek === lek && x.season === season)
  }

  /** How much more usable ground the option shown gives than the other, hectares of the middle need. */
  difference(lek: string, season: string): Spread | null {
    const d = this.#of(lek, season)
    const need_ha = this.sheet?.leks.find((l) => l.lek === lek)?.seasons.find((s) => s.season === season)?.need_ha.p50
    if (!this.#pair || !d || need_ha === undefined) return null
    const { p10, p50, p90 } = d.margin
    return this.#pair.mineIsSecond ? { p10: p10 * need_ha, p50: p50 * need_ha, p90: p90 * need_ha } : { p10: -p90 * need_ha, p50: -p50 * need_ha, p90: -p10 * need_ha }
  }

  /** How the option shown stands beside the other in a season at a lek. */
  verdict(lek: string, season: string): string {
    if (!this.#pair) return ''
    if (this.#pair.alike) return words.alike
    const d = this.#of(lek, season)
    if (!d) return ''
    if (d.better_draws + d.worse_draws === 0) return words.alike
    if (Math.abs(this.difference(lek, season)?.p50 ?? 0) < TOLD_FROM_HA) return words.alike
    if (!d.told_apart) return words.apart
    return d.better_draws > d.worse_draws === this.#pair.mineIsSecond ? words.surelyBetter : words.surelyWorse
  }

  /** Needs met by the option shown and by the other, in the year told that lies nearest. */
  get met(): (Spread & { needs: number })[] {
    const year = (years: { year: number; met: Spread }[]) => [...years].sort((a, b) => Math.abs(a.year - place.year) - Math.abs(b.year - place.year))[0]
    return [place.option ?? 0, this.option ?? 0].flatMap((number) => {
      const option = this.question.answer?.options.find((o) => o.option === number)
      const at = option && year(option.years)
      return at ? [{ ...at.met, needs: option.needs }] : []
    })
  }
}

export const beside = new Beside()
