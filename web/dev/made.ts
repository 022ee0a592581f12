// Invented data for the invented desk.
const E0 = 381000
const N0 = 545000
const W = 3000
const H = 2500
let seed = 7
const chance = () => { seed = (seed * 16807) % 2147483647; return seed / 2147483647 }
const r1 = (v: number) => Math.round(v * 10) / 10

export const PLAN = {
  file: 'demo.gpkg', name: 'Harkenshaw (invented)', country: 'England', epsg: 27700,
  projection: '+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000 +ellps=airy +towgs84=446.448,-125.157,542.06,0.15,0.247,0.842,-20.489 +units=m +no_defs',
  as_at: '2026-06-15', version: 1, writable: true, notice: null, extent: [E0, N0, E0 + W, N0 + H],
  leks: [
    { id: 'L1', name: 'Mirkhope Edge', at: [E0 + 800, N0 + 1700], target_cocks: 12, last_count: { year: 2026, cocks: 3 } },
    { id: 'L2', name: 'Quarlow Top', at: [E0 + 2050, N0 + 1850], target_cocks: 10, last_count: { year: 2026, cocks: 8 } },
    { id: 'L3', name: 'Low Quarlow', at: [E0 + 1900, N0 + 700], target_cocks: 6, last_count: { year: 2021, cocks: 2 } },
  ],
  layers: [], guidance_edition: '2026-11', draws: 200, cell_m: 10, lacks: [],
}

export const SEASONS = [
  ['display', 'Display', 'Mar-May', 'Short open ground with a clear view, quiet at dawn.'], ['pre_laying', 'Pre-laying', 'Mar-Apr', 'Rich early food for hens: cotton grass, buds, herbs.'],
  ['nest', 'Nest', 'Apr-Jun', 'Knee-high cover near food.'], ['brood', 'Brood', 'Jun-Aug', 'Wet flushes and herb-rich swards full of insects.'], ['autumn', 'Autumn', 'Sep-Nov', 'Berries, seeds, stubble.'],
  ['winter', 'Winter', 'Dec-Feb', 'Heather, buds and catkins, shelter.'], ['snowbound', 'Snowbound', 'lying snow', 'Food above the snow: birch, rowan, willow.'],
].map(([key, title, months, wants]) => ({ key, title, months, wants }))

// Patches: a jittered net.
const NX = 11
const NY = 9
const knot: [number, number][][] = []
for (let j = 0; j <= NY; j += 1) {
  knot.push([])
  for (let i = 0; i <= NX; i += 1) knot[j]!.push([r1(E0 + (i / NX) * W + (i % NX ? (chance() - 0.5) * 190 : 0)), r1(N0 + (j / NY) * H + (j % NY ? (chance() - 0.5) * 190 : 0))])
}
const LOOKS = ['heather', 'heather', 'heather', 'blaeberry', 'bog', 'bog', 'flush', 'grass', 'grass', 'grass', 'bracken', 'scrub', 'bare']
const patches: any[] = []
for (let j = 0; j < NY; j += 1) for (let i = 0; i < NX; i += 1) {
  const look = j < 2 ? 'grass' : LOOKS[Math.floor(chance() * LOOKS.length)]!
  const [a, b, c, d] = [knot[j]![i]!, knot[j]![i + 1]!, knot[j + 1]![i + 1]!, knot[j + 1]![i]!]
  patches.push({ id: `V${j * NX + i + 1}`, name: `${look[0]!.toUpperCase()}${look.slice(1)} ${j * NX + i + 1}`, look, words: `${look} ${40 + Math.floor(chance() * 50)} %, ${8 + Math.floor(chance() * 40)} cm`, geometry: { type: 'Polygon', coordinates: [[a, b, c, d, a]] } })
}
const blob = (x: number, y: number, r: number, n = 9) => {
  const ring = Array.from({ length: n }, (_, k) => { const f = 0.7 + chance() * 0.5; return [r1(x + Math.cos((k / n) * 6.283) * r * f), r1(y + Math.sin((k / n) * 6.283) * r * f)] })
  return { type: 'Polygon', coordinates: [[...ring, ring[0]!]] }
}
const line = (...at: [number, number][]) => ({ type: 'LineString', coordinates: at.map(([x, y]) => [E0 + x, N0 + y]) })
const feature = (id: string, name: string, look: string, words: string, geometry: unknown) => ({ id, name, look, words, march: 'inside' as const, geometry })

export const LAYERS = [
  { layer: 'patches', features: patches },
  { layer: 'parcels', features: [feature('P01', 'Whaupsley Fell', 'hill', '210 ha', { type: 'Polygon', coordinates: [[knot[3]![0]!, knot[3]![NX]!, knot[NY]![NX]!, knot[NY]![0]!, knot[3]![0]!]] }), feature('P02', 'Low Meadow', 'meadow', '30 ha', { type: 'Polygon', coordinates: [[knot[0]![0]!, knot[0]![5]!, knot[3]![5]!, knot[3]![0]!, knot[0]![0]!]] })] },
  { layer: 'woods', features: [feature('W1', 'Mirkhope Plantation', 'conifer', 'sitka spruce, 14 m, closed', blob(E0 + 2500, N0 + 1100, 330, 12)), feature('W2', 'Sike birches', 'broadleaf', 'birch and rowan, 5 m', blob(E0 + 1200, N0 + 900, 130)), feature('W3', 'New planting', 'young', 'birch, 1 m', blob(E0 + 420, N0 + 900, 120))] },
  { layer: 'areas', features: [feature('A1', 'Whaupsley mires', 'protected', 'protected site', blob(E0 + 1500, N0 + 2150, 260, 12))] },
  { layer: 'watercourses', features: [feature('B1', 'Quarlow Burn', 'burn', 'burn', line([200, 2450], [500, 1900], [700, 1300], [1050, 900], [1500, 500], [2100, 250], [3000, 120]))] },
  { layer: 'ditches', features: [feature('D1', 'Ditch 1', 'open', '380 m, cutting down', line([1400, 2300], [1500, 1900])), feature('D2', 'Ditch 2', 'open', '500 m', line([1600, 2300], [1720, 1850]))] },
  { layer: 'tracks', features: [feature('T1', 'Fell road', 'track', 'stone', line([0, 300], [700, 700], [1300, 1250], [1600, 2500]))] },
  { layer: 'fences', features: [feature('F1', 'Fell fence', 'deer', 'deer fence 1.8 m, not marked', line([0, 830], [1000, 760], [1900, 880], [3000, 800]))] },
  { layer: 'services', features: [feature('S1', 'Power line', 'wire', '11 kV', line([2800, 0], [2650, 900], [2900, 2500]))] },
  { layer: 'buildings', features: [feature('U1', 'Steading', 'building', 'farmhouse', { type: 'Point', coordinates: [E0 + 700, N0 + 250] })] },
  { layer: 'boundary', features: [feature('boundary', 'March', 'boundary', '750 ha', { type: 'Polygon', coordinates: [[...knot[0]!, ...knot.map((r) => r[NX]!), ...[...knot[NY]!].reverse(), ...[...knot].reverse().map((r) => r[0]!)]] })] },
  { layer: 'leks', features: PLAN.leks.map((l) => feature(l.id, l.name, 'lek', `${l.last_count.cocks} cocks`, { type: 'Point', coordinates: l.at })) },
]

export const OPTIONS = [{ number: 1, name: 'Trees and water', note: '' }, { number: 2, name: 'Graze less, <b>cut</b> more', note: '' }]

const fact = (name: string, what: string, form: string, extra: object = {}) => ({ name, what, form, from: null, to: null, choices: [], usual: '', usual_key: '', may_be_left_out: true, ...extra })
export const KINDS = [
  { key: 'wood', title: 'Ragged native wood', explain: 'Native trees and shrubs in small blocks with an uneven outline, glades and a skirt of scrub: buds, catkins and berries above the snow. Never near a lek or in its view, on deep peat or on flushes.', draws: 'area', suggests: true, facts: [fact('stems_per_ha', 'trees planted, by the hectare of the whole outline', 'number', { from: 100, to: 3000, usual: '650, an assumption of this tool' }), fact('mix', 'species with their percent of the stems', 'table'), fact('protection', 'how the trees are kept from stock and deer', 'choice', { choices: ['tubes', 'fence', 'none'], usual: 'tubes' }), fact('name', 'name of the wood', 'text')], cautions: ['Work with a second person or a check-in.'] },
  { key: 'heather', title: 'Heather cut or burnt in patches', explain: 'Small patches in rotation so that every age stands near every other.', draws: 'area', suggests: true, facts: [fact('method', 'cut or burnt', 'choice', { choices: ['cut', 'burnt'], usual: 'cut' }), fact('width_m', 'greatest width of a patch, m', 'number', { from: 5, to: 100 })], cautions: ['Burn only with the licence and code in force.'] },
  { key: 'grazing', title: 'Grazing changed', explain: 'Fewer stock, or none for a season, on a parcel.', draws: 'nothing', suggests: true, facts: [fact('parcel', 'parcel grazed', 'feature', { may_be_left_out: false }), fact('winter_off', 'whether stock come off in winter', 'yes_no')], cautions: [] },
  { key: 'water', title: 'Ditch blocked or scrapes dug', explain: 'Peat dams along a ditch, or shallow scrapes on wet ground.', draws: 'either', suggests: true, facts: [fact('dam_spacing_m', 'way between dams, m', 'number', { from: 3, to: 50, usual: '7.5 to 12 by slope' })], cautions: ['Excavators on peat: ask a competent operator.'] },
  { key: 'fence', title: 'Fence taken down, marked, moved or put up', explain: 'Birds fly into fences: take them down where they serve nothing, mark the rest.', draws: 'line', suggests: true, facts: [fact('fence', 'which fence', 'feature'), fact('what', 'what is done', 'choice', { choices: ['remove', 'mark', 'move', 'new'] })], cautions: [] },
  { key: 'lek_care', title: 'Lek cared for', explain: 'Kept short, open and undisturbed.', draws: 'area', suggests: false, facts: [], cautions: [] },
]

const areaOf = (geometry: any): number => {
  const ring = geometry?.coordinates?.[0] ?? []
  let twice = 0
  for (let i = 0; i + 1 < ring.length; i += 1) twice += ring[i][0] * ring[i + 1][1] - ring[i + 1][0] * ring[i][1]
  return Math.abs(twice) / 2 / 10000
}
export function measured(draft: any): any {
  const kind = KINDS.find((k) => k.key === draft.kind)!
  const area = draft.geometry?.type === 'Polygon' ? areaOf(draft.geometry) : null
  const length = draft.geometry?.type === 'LineString' ? 400 : null
  const usual = Math.round((area ?? 1) * 2600)
  return { id: draft.id, option: draft.option, kind: draft.kind, title: kind.title, year: draft.year ?? 2027, geometry: draft.geometry, facts: draft.facts ?? {}, area_ha: area, length_m: length, gbp: [usual * 0.7, usual, usual * 1.4], window: 'November to March, outside hard frost', harm: ['Shades out brood ground where it closes.'], cautions: kind.cautions, faults: [] }
}
export const suggested = (option: number, n: number) => [[0.21, 0.44, 120], [0.44, 0.52, 90]].map(([x, y, r], i) => measured({ id: `M${String(n + i + 1).padStart(2, '0')}`, option, kind: 'wood', geometry: blob(E0 + x! * W, N0 + y! * H, r!, 11), facts: { stems_per_ha: 650 } }))
export const MEASURES = [...suggested(1, 0), measured({ id: 'M03', option: 1, kind: 'water', geometry: line([1400, 2300], [1500, 1900]), facts: {} }), measured({ id: 'M04', option: 2, kind: 'grazing', geometry: null, facts: { parcel: 'P01' } })]

const BASE: Record<string, number[]> = { L1: [1.3, 0.9, 1.1, 0.45, 1.2, 0.8, 0.35], L2: [1.6, 1.1, 1.3, 1.02, 1.4, 1.2, 0.7], L3: [0.95, 0.7, 0.8, 0.6, 1.05, 0.9, 0.5] }
export function sheet(option: number | null, year: number, mine: any[], version: number) {
  const area = mine.filter((m) => m.kind === 'wood').reduce((s, m) => s + (m.area_ha ?? 0), 0)
  const leks = PLAN.leks.map((l) => {
    const seasons = SEASONS.map((s, i) => {
      const gain = (i === 6 ? 0.035 : i === 5 ? 0.02 : i === 0 ? -0.006 : 0) * area * Math.min(1, year / 12 + 0.25) + (option === 2 && i === 3 ? 0.2 : 0)
      const m = BASE[l.id]![i]! * (1 - (year / 30) * (i === 3 ? 0.25 : 0.05)) + gain
      const need = 20 + i * 7
      const sp = (v: number, f: number) => ({ p10: v * (1 - f), p50: v, p90: v * (1 + f) })
      return { season: s.key, supply_ha: sp(need * m, 0.2), need_ha: sp(need, 0.08), margin: sp(m, 0.22), short: Math.max(0, Math.min(1, 0.5 + (1 - m) * 2)) }
    })
    return { lek: l.id, seasons, pinch: seasons.reduce((a, b) => (b.margin.p50 < a.margin.p50 ? b : a)).season }
  })
  return { version, option, year, calendar: 2026 + year, leks, seasons: SEASONS, draws: 200, took_ms: 12 }
}
export const season = (lek: string, key: string) => ({
  picture: { extent: PLAN.extent, size: [300, 250] }, reach_m: 650,
  words: `Short: within reach there is cover but little that ${key === 'snowbound' ? 'stands above the snow' : 'feeds them'}; the plantation is closed and the fell is grazed short.`,
  losses: [{ what: 'closed wood', ha: 14.2 }, { what: 'too short', ha: 9.1 }, { what: 'disturbed by the track', ha: 3.3 }, { what: 'too far', ha: 1.2 }],
  could_mend: [{ layer: 'patches', id: 'V58', name: patches[57].name, march: 'inside' as const, ha: 4.2, why: 'Grazed short all winter; no shrub stands above the snow.', kinds: ['grazing', 'wood'] }, { layer: 'woods', id: 'W1', name: 'Mirkhope Plantation', march: 'inside' as const, ha: 3.1, why: 'Closed to the edge: nothing grows beneath.', kinds: ['wood', 'fence'] }, { layer: 'patches', id: 'V69', name: patches[68].name, march: 'inside' as const, ha: 1.7, why: 'Drained: the flush has dried.', kinds: ['water'] }],
  keys: [`season.${key}`, 'ranging.winter', lek ? 'season.brood.food' : ''].filter(Boolean),
})
export const ahead = (option: number | null, year: number, mine: any[], version: number) => ({
  version, option, year,
  woods: [{ id: 'W1', look: 'conifer', height_m: 14 + year * 0.3, crowns: 0.9, words: `spruce, ${Math.round(14 + year * 0.3)} m` }, { id: 'W2', look: 'broadleaf', height_m: 5 + year * 0.25, crowns: 0.5, words: 'birch' }, { id: 'W3', look: year > 12 ? 'broadleaf' : 'young', height_m: 1 + year * 0.35, crowns: 0.3, words: 'birch' }, ...mine.filter((m) => m.kind === 'wood').map((m) => ({ id: m.id, look: 'broadleaf', height_m: year * 0.4, crowns: 0.3, words: `planted, ${r1(year * 0.4)} m` }))],
  patches: [],
})
export const findings = (mine: any[]) => [
  { rule: 'fence_near_lek', severity: 'must', what: 'A deer fence near Low Quarlow is not marked', here: '240 m', needed: '1,000 m', why: 'Birds fly into wires near leks at dawn.', hint: 'Take it down, move it, or mark it.', sources: ['Invented source 2001, table 2'], on: 'F1', geometry: { type: 'Point', coordinates: [E0 + 1900, N0 + 880] } },
  { rule: 'conifer_near_lek', severity: 'should', what: 'Closed conifers stand within a kilometre', here: '12 %', needed: 'at most 5 %', why: 'Shelter for predators.', hint: 'Feather the edge.', sources: [], on: 'W1', geometry: { type: 'Point', coordinates: [E0 + 2500, N0 + 1100] } },
  ...mine.filter((m) => m.geometry?.type === 'Polygon').map((m) => ({ rule: 'wood_on_peat', severity: 'note', what: 'Peat under the wood has not been probed', here: 'no probe', needed: 'a probe every 50 m', why: 'Deep peat must not be planted.', hint: 'Probe every 50 m.', sources: ['Invented code 2020'], on: m.id, geometry: m.geometry })),
]
const years = Array.from({ length: 12 }, (_, i) => 2015 + i)
const COUNT: Record<string, (number | null)[]> = { L1: [11, 11, 10, 9, 9, null, 8, 6, 6, 5, 4, 3], L2: [8, 7, 8, 9, 8, 8, 7, 8, 9, 8, 8, 8], L3: [4, 3, 3, null, 3, 2, 2, null, null, null, null, null] }
export const VISITS = PLAN.leks.flatMap((l) => years.flatMap((y, i) => (COUNT[l.id]![i] === null ? [] : [{ id: `K${l.id}${y}`, lek: l.id, date: `${y}-04-${10 + i}`, start: '05:10', cocks: COUNT[l.id]![i], hens: 2, observer: 'A. Walker', weather: 'still, clear', note: '', valid: !(y === 2019 && l.id === 'L2'), why_not: y === 2019 && l.id === 'L2' ? 'begun later than an hour after sunrise' : '' }])))
export const search = (q: string, measures: any[]) => [...PLAN.leks.map((l) => ({ what: 'lek', layer: null, id: l.id, name: l.name, words: `${l.last_count.cocks} cocks` })), ...measures.map((m) => ({ what: 'measure', layer: null, id: m.id, name: m.title, words: m.window })), ...LAYERS.flatMap((l) => l.features.map((f: any) => ({ what: 'feature', layer: l.layer, id: f.id, name: f.name, words: f.words }))), { what: 'rule', layer: null, id: 'fence_near_lek', name: 'Fence near a lek', words: 'a rule' }].filter((h) => h.name.toLowerCase().includes(q.toLowerCase())).slice(0, 20)

const lift: any = { stroke: 0 }
export function stroked(said: any, measures: any[]) {
  lift.stroke = said.stroke
  const mine = measures.filter((m) => m.option === said.measure.option && m.id !== said.measure.id)
  const base = sheet(said.measure.option, said.year, mine, 0)
  const drawn = measured({ ...said.measure, id: 'X' })
  const after = sheet(said.measure.option, said.year, [...mine, drawn], 0)
  const grid = (s: typeof base, what: 'supply_ha' | 'need_ha') => s.leks.map((l) => l.seasons.map((c) => c[what].p50))
  return { say: 'stroked', stroke: said.stroke, supply_ha: grid(after, 'supply_ha'), without_ha: grid(base, 'supply_ha'), need_ha: grid(base, 'need_ha'), area_ha: drawn.area_ha, length_m: drawn.length_m, gbp: drawn.gbp[1], faults: (drawn.area_ha ?? 0) > 40 ? [{ at: 'geometry', needed: 'at most 40 ha', found: `${drawn.area_ha.toFixed(0)} ha`, hint: 'draw it smaller' }] : [], note: null, took_ms: 9 }
}
export const imported = (body: any, version: number) => ({
  fields: [{ field: 'id', what: 'its own name in the layer', column: 'ref', guessed: true, needed: true }, { field: 'height_cm', what: 'height of the sward, cm', column: body.map?.height_cm?.replace(/:.*/, '') ?? null, guessed: false, needed: false }, { field: 'cover', what: 'plants with their percent', column: 'plants', guessed: true, needed: true }],
  unused: ['surveyor'], columns: ['ref', 'plants', 'hgt', 'surveyor'], places: 'shapes of the file, national grid',
  preview: [1, 2, 3].map((i) => ({ values: { id: `N${i}`, height_cm: '', cover: 'heather 60, grass 40' }, geometry: blob(E0 + 600 * i, N0 + 1300, 110) })),
  features: 41, notes: ['2 shapes crossed themselves and were put right.'], faults: body.map?.height_cm ? [] : [{ at: 'row 7, NY 812 461', needed: 'a height in cm', found: 'knee', hint: 'write the centimetres, or leave it empty' }], version: body.look_only ? null : version + 1,
})
export const reliefPixel = (x: number, y: number): [number, number, number, number] => { const v = 150 + 60 * Math.sin(x / 21 + y / 34) + 40 * Math.sin(y / 17); return [v, v, v, 255].map((k) => Math.max(0, Math.min(255, k))) as [number, number, number, number] }
export const seasonPixel = (lek: string, key: string) => (x: number, y: number): [number, number, number, number] => {
  const at = PLAN.leks.find((l) => l.id === lek)?.at ?? [E0, N0]
  const [ex, ny] = [E0 + (x / 300) * W, N0 + H - (y / 250) * H]
  const d = Math.hypot(ex - at[0]!, ny - at[1]!)
  const v = Math.max(0, 1 - d / 800) * (0.5 + 0.5 * Math.sin(x / (6 + key.length)) * Math.cos(y / 9))
  return [43, 56, 30, Math.round(v * 220)]
}
export function answered(ask: any, desk: any): { answer: any; measures: number; files: any[]; takes: number } {
  const plain = (answer: any, takes = 0.4) => ({ answer, measures: 0, files: [], takes })
  if (ask.ask === 'explain') return plain({ schema: 'greyhen.explain/1', key: ask.of, statements: [{ x: null, value: '0.3 (fraction)', spread: '0.18 to 0.42', reference: 'Invented Handbook of Moorland Birds, 2001', source: 'invented', locator: 'table 2', grade: 'published', read: 'read in full', country: 'GB', edition: '2026', validity: '', check: null, note: 'An invented note.', used: 'the season', place: 'seasons.csv, row 12' }] }, 0.1)
  if (ask.ask === 'suggest') return { answer: { measures: suggested(1, 0).map((m) => ({ id: m.id, why: 'Feeds Mirkhope Edge above the snow; outside its view.', gbp: { usual: m.gbp[1] }, geometry: m.geometry })), objective: 14.1, upper_bound: 14.6, gap: 0.5, before: 11.2, gap_of_gain: 0.14, status: 'limit', area_ha: 6.2, gbp: 16100, notes: ['Stays out of view of every lek.'] }, measures: 2, files: [], takes: 2.5 }
  if (ask.ask === 'compare') return plain({ options: [], pairs: [{ first: 0, second: 1, alike: false, differences: PLAN.leks.flatMap((l) => SEASONS.map((s, i) => ({ year: 20, lek: l.id, season: s.key, margin: { p10: 0, p50: 0.1, p90: 0.2 }, better_draws: i === 0 ? 10 : 190, worse_draws: i === 0 ? 190 : 10, told_apart: i === 0 || i > 4 }))) }] }, 0.8)
  if (ask.ask === 'handover') return { answer: { schema: 'greyhen.manifest/1', plan: PLAN.name, option: null, printed: '2026-11-27', guidance_edition: '2026-11', lek_places: ask.show_leks ? 'shown' : 'withheld', left_out: ['photos'], files: [{ name: 'plan.pdf', bytes: 812345, sha256: '', what: 'the plan with maps', whom: 'everybody', lek_places_withheld: true }, { name: 'gis/measures.gpkg', bytes: 98304, sha256: '', what: 'the measures as a map file', whom: 'the contractor', lek_places_withheld: true }] }, measures: 0, files: [{ name: 'plan.pdf', bytes: 812345 }, { name: 'gis/measures.gpkg', bytes: 98304 }], takes: 1.5 }
  if (ask.ask === 'trend') return plain({ verdict: 'Falling: 8 % a year, surely.', annual_change: { value: -0.08, lo: -0.13, hi: -0.03 }, falling: 0.99, level: 0.95, limits: 'newey', leks: 3, counts: 29, index: years.map((y, i) => ({ year: y, value: 0.94 ** i, lo: 0.85 * 0.94 ** i, hi: 1.18 * 0.94 ** i })), smooth: years.map((y, i) => ({ year: y, value: 0.94 ** i, lo: 0.85 * 0.94 ** i, hi: 1.18 * 0.94 ** i })), no_index: null, base: 2015 })
  if (ask.ask === 'dawns') return plain({ year: 2027, windows: [['2027-04-05', '2027-05-10']], observers: ['First', 'Second'], rules: { before_min: 60, after_min: 60, watch_min: 60 }, mornings: [{ date: '2027-04-09', outings: [{ observer: 'First', base: '', leave_base: '04:40', visits: [{ lek_id: 'L1', lek: 'Mirkhope Edge', visit: 1, stop: 'T1', arrive_by: '05:20', watch_from: '05:30', watch_until: '06:30', sunrise: '06:21', hours_close: '07:20', walk_min: 18, drive_min: 12, park_at: '05:02' }], back_at_base: '08:00' }] }, { date: '2027-04-24', outings: [{ observer: 'First', base: '', leave_base: null, visits: [{ lek_id: 'L2', lek: 'Quarlow Top', visit: 1, stop: 'T1', arrive_by: '04:50', watch_from: '05:00', watch_until: '06:00', sunrise: '05:48', hours_close: '06:50' }], back_at_base: null }] }], missed: [], spare: ['2027-04-25'], proof: 'Every lek twice in the fewest mornings.', weather: 'Leave it in wind, rain or fog.', quiet: ['Do not approach the lek.'], cautions: ['Lone work: leave word where you are.'] })
  if (ask.ask === 'birds') return plain({ words: 'a comparison, not a promise', courses: [null, ...ask.options].map((o: number | null, k: number) => ({ option: o, title: o === null ? 'as now' : desk.options.find((x: any) => x.number === o)?.name, total: Array.from({ length: 31 }, (_, y) => { const v = (13 + k * y * 0.3) * 0.98 ** y; return { year: y, cocks: { p10: v * 0.5, p50: v, p90: v * 1.7 }, hens: { p10: v * 0.5, p50: v, p90: v * 1.7 }, few_fraction: y / 60, few_by_fraction: y / 50 } }) })), limits: ['Weather is drawn, not foreseen.'], assumptions: [], notes: [], few_cocks: 3 }, 1)
  if (ask.ask === 'found') return plain({ leks: [], break_even: { value: 1.2, low: 1, high: 1.5 }, broods: [] })
  if (ask.ask === 'works') return plain(works(), 0.6)
  return plain({}, 0.3)
}
function works() {
  const job = (id: string, what: string, year: number, hands: string, stage: string, first: string, last: string, windows: any[], late = 0) => ({ id, measures: ['M01'], kind: 'wood', stage, what, year, amounts: [{ what: 'trees', amount: 1900, unit: 'stems' }], hands, people: 2, days: { low: 3, usual: 5, high: 8, rates: ['works.planting'] }, after: [], season: { all_year: !windows.length, windows, why: windows.length ? ['Planting while plants are dormant.', 'No work near leks from 15 March to 15 June.'] : [] }, by: null, hard: false, planned: { first, last, worked: [], crews: ['planting'], late_days: late, slack_days: 20, latest_first: last }, nests_from: null, notes: [], keys: ['works.planting'] })
  const dormant = [{ first: '11-01', last: '03-15' }]
  const dry = [{ first: '07-15', last: '10-31' }]
  return {
    schema: 'greyhen.works/1', plan: PLAN.name, option: { number: 1, name: 'Trees and water' }, first: '2026-11-30', last: '2029-12-31', crews: [{ name: 'planting', kinds: ['planting'], people: 2, there: [], away: [] }, { name: 'excavator', kinds: ['excavator'], people: 1, there: [], away: [] }], crews_assumed: true,
    jobs: [job('J1', 'Probe the peat', 2026, 'adviser', 'survey', '2026-12-01', '2026-12-02', []), job('J2', 'Ask for the consent of the agency', 2026, 'adviser', 'consent', '2026-12-03', '2027-02-20', []), job('J3', 'Plant 1,900 trees in tubes', 2027, 'planting', 'work', '2027-11-02', '2027-11-09', dormant), job('J4', 'Block ditch 1 with 38 peat dams', 2027, 'excavator', 'work', '2027-08-02', '2027-08-06', dry), job('J5', 'Plant again what died', 2028, 'planting', 'beat_up', '2028-11-06', '2028-11-07', dormant), { ...job('J6', 'Look at the dams', 2028, 'adviser', 'check', '2028-09-04', '2028-09-04', []), planned: null }],
    cannot: [{ job: 'J6', why: 'No crew of that kind is there in September 2028.' }], beyond: [], slips: [{ job: 'J4', late_days: 10, moved: [{ job: 'J6', first: '', last: '', planned_first: '', planned_last: '', begins_later_days: 10, ends_later_days: 10, other_season: false, other_crews: false }], lost: [] }], late_days: 0, later: [{ measure: 'M01', what: 'Thin the wood', years: [2045], keys: [] }], done: [], nothing: [], finish: '2028-11-07', proven: false, gap_days: 4,
    cautions: [{ kind: 'wood', words: ['Work with a second person or a check-in.', 'Overhead line near: ask the network operator.'] }, { kind: 'water', words: ['Excavators on peat: low-pressure tracks, competent operator.'] }], figures: [], written: [], no_account: null,
    account: { years: [2026, 2027, 2028, 2029].map((y, i) => ({ year: y, cost: [20000, 60000, 90000].map((v) => v * (i + 1)), income: [0, 40000 * i, 40000 * i], net: [0, -20000 * (i + 1), 0], balance: -200000 * (i + 1) })), totals: { cost: [1200000, 1610000, 2250000], income: [500000, 640000, 640000], net: [-1750000, -970000, -560000], whole: false, without: ['scrapes: no rate is held'] }, claims: [], says: ['Grants are not certain.'] },
  }
}
