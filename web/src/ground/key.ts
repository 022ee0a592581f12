// What the key lists: whatever is drawn now, each with the style it is drawn with.
import type { Style } from 'ol/style'
import { draft } from '../edits/draft.svelte'
import { desk } from '../lib/desk.svelte'
import { place } from '../lib/place.svelte'
import { ground as words } from '../text/ground'
import * as looks from './looks'
import type { As } from './sample'
import { view } from './view.svelte'

export interface Entry { words: string; as: As; look: Style | Style[] }

const LINES = ['boundary', 'parcels', 'fences', 'ditches', 'watercourses', 'tracks', 'services', 'areas']
const SMALL = ['sticks', 'probes']

const features = (layer: string) => desk.ground?.layers.find((l) => l.layer === layer)?.features ?? []
const entry = (of: string, as: As, look: Style | Style[] | undefined): Entry[] => (look ? [{ words: words.layers[of] ?? of, as, look }] : [])

/** One of each look a layer has in the year shown, with the height its first has. */
function standing(layer: 'patches' | 'woods'): Map<string, number | null> {
  const then = new Map((desk.ahead?.[layer] ?? []).map((s) => [s.id, s]))
  const found = new Map<string, number | null>()
  for (const f of features(layer)) {
    const stood = then.get(f.id)
    const look = stood?.look ?? f.look
    if (!found.has(look)) found.set(look, stood?.height_m ?? null)
  }
  return found
}

function covers(): Entry[] {
  return [
    ...[...standing('patches').keys()].flatMap((look) => entry(look, 'area', looks.open(look))),
    ...[...standing('woods')].flatMap(([look, height_m]) => entry(look, 'area', looks.stood(look, height_m, false))),
  ]
}

function surveyed(metresPerPixel: number): Entry[] {
  return [
    ...LINES.filter((l) => features(l).length).flatMap((l) => entry(l, l === 'areas' || l === 'parcels' ? 'area' : 'line', looks.ofLayer(l))),
    ...(features('buildings').length ? entry('buildings', 'point', looks.ofLayer('buildings')) : []),
    ...(metresPerPixel < looks.SMALL_THINGS_FROM ? SMALL.filter((l) => features(l).length).flatMap((l) => entry(l, 'point', looks.ofLayer(l))) : []),
  ]
}

function planned(): Entry[] {
  const then = new Map(desk.ahead?.woods.map((w) => [w.id, w]))
  const drawn = desk.measures.filter((m) => m.geometry && m.id !== draft.measure?.id)
  const stood = drawn.map((m) => then.get(m.id)).find((s) => s !== undefined)
  return [
    ...(drawn.some((m) => !then.has(m.id)) ? entry('measures', 'area', looks.measure(undefined, false)) : []),
    ...(stood ? entry('planned', 'area', looks.measure(stood, false)) : []),
    ...(draft.measure ? entry('pen', 'area', looks.pen) : []),
    ...(place.panel === 'suggest' ? entry('preview', 'marked', [...looks.preview, looks.offered(1, false)]) : place.panel === 'spend' ? entry('preview', 'area', looks.preview) : []),
  ]
}

function season(): Entry[] {
  if (!desk.season || !place.season || draft.measure) return []
  const number = (outside: boolean) => desk.mends.findIndex((m) => (m.march === 'outside') === outside) + 1
  return [
    ...(view.supply ? entry('supply', 'area', looks.supply(view.supply)) : []),
    ...entry('reach', 'line', looks.reach),
    ...[false, true].filter((outside) => number(outside)).flatMap((outside) => entry(outside ? 'mendOutside' : 'mend', 'marked', [...looks.mend(false, outside), looks.mendNumber(number(outside), outside)])),
  ]
}

function marks(): Entry[] {
  const leks = desk.plan?.leks ?? []
  const signs = desk.findings.filter((f) => f.geometry && (place.panel === 'findings' || f.severity === 'must'))
  const sign = (severity: string) => {
    const i = desk.findings.findIndex((f) => signs.includes(f) && f.severity === severity)
    return i < 0 ? [] : entry(`sign_${severity}`, 'point', looks.finding(desk.findings[i]?.number ?? 0, severity, false))
  }
  return [
    ...(leks.some((l) => l.id !== place.lek) ? entry('leks', 'point', looks.lek('', false)) : []),
    ...(leks.some((l) => l.id === place.lek) ? entry('lekOn', 'point', looks.lek('', true)) : []),
    ...['must', 'should', 'consider'].flatMap(sign),
  ]
}

/** Everything drawn, in the order a reader asks: marks and the question first, then what is planned, then the ground. */
export const drawn = (metresPerPixel: number): Entry[] => [...marks(), ...season(), ...planned(), ...surveyed(metresPerPixel), ...covers()]
