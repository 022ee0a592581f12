// Plain names of the figures of the guidance, for readers who do not know its keys.
import { capital } from './common'

const FOODS: Record<string, string> = { heather: 'heather', berries: 'blaeberry and other berries', cotton_sedge: 'cotton grass and sedge', herbs_seeds: 'herbs and seeds', tree: 'buds, catkins and berries of trees' }
const PLANTS: Record<string, string> = { blaeberry: 'blaeberry', bracken: 'bracken', cotton_grass: 'cotton grass', crop: 'crops', heather: 'heather', herbs: 'herbs', moss: 'moss', other_berries: 'other berry shrubs', rush: 'rush', sedge_grass: 'sedge and grass' }
const plain = (word: string) => word.replaceAll('_', ' ').replace(/^(england|scotland|wales)\b/, capital)

/** What a season's figure is, by the end of its key. */
const OF_SEASON: Record<string, string> = {
  'weight.food': 'How much food counts',
  'weight.cover': 'How much cover counts',
  food_half: 'Food, as a share of the ground, at which it is 63 % as good as it can be',
  'sward_cm.none_below': 'Sward too short to be of use',
  'sward_cm.full_from': 'Sward tall enough',
  'sward_cm.full_to': 'Sward not yet too tall',
  'sward_cm.none_above': 'Sward too tall to be of use',
  'far.tall_cover': 'Worth of ground far from tall cover',
  'far.tree_food': 'Worth of ground far from trees that feed',
  'far.flush': 'Worth of ground far from a flush',
  'cover.open': 'Cover under an open wood',
  'cover.canopy_full': 'Canopy that gives full cover',
  depth_cm: 'Depth of snow',
  'grazing.light_ewes_per_ha': 'Grazing that does no harm',
  'grazing.heavy_ewes_per_ha': 'Grazing that does the greatest harm',
  'grazing.invertebrates_lost': 'Insects lost to heavy grazing',
  invertebrate_share: 'Share of insects in the food',
  'invertebrates.half': 'Insect food, as a share of the ground, at which it is 63 % as good as it can be',
  'invertebrates.wet': 'Insects on wet ground',
  plants_half: 'Plants, as a share of the ground, at which it is 63 % as good as it can be',
  'variation.best': 'Best variation of height',
  'variation.width': 'How far variation may lie from the best',
}

/** Figures that are taken for more than their key says. */
const NAMES: Record<string, string> = {
  'window.fence_work.lek_distance': 'How near a lek work keeps to its months; given for fences',
}

/** The figure of a key in plain words. */
export function figureTitle(key: string): string {
  const [, season, of] = /^season\.([a-z_]+)\.(.+)$/.exec(key) ?? []
  if (season && of) {
    const [group, what = ''] = of.split('.')
    if (group === 'food') return `Worth of ${FOODS[what] ?? plain(what)} as food`
    if (group === 'plant') return `Worth of ${PLANTS[what] ?? plain(what)}`
    return OF_SEASON[of] ?? (group === 'invertebrates' ? `Insects on ${PLANTS[what] ?? plain(what)}` : capital(plain(of).replaceAll('.', ', ')))
  }
  const named = NAMES[key]
  if (named) return named
  if (/^need\.[a-z_]+\.ha_per_bird$/.test(key)) return 'Ground one bird needs'
  if (/^reach\.[a-z_]+_m$/.test(key)) return 'How far birds go from the lek'
  return topical(key)
}

/** What a group of figures is about, where its key does not say it in words. */
const TOPICS: Record<string, string> = { kind: 'Measure', lu: 'Livestock units', practice: 'Good practice', tree: 'Trees', earns: 'What it pays', cost: 'Cost', workrate: 'Rate of work', phase1: 'Vegetation class', law: 'Law and code', mend: 'What mends a loss' }
const UNITS = /_(mm|cm|m|km|ha|pct|yr|years|kg|gbp|min_per_km)$/

/** `arable.rush.dense_height_max` as `Arable: rush, dense height, most`. */
function topical(key: string): string {
  const [group = '', ...rest] = key.split('.')
  const said = rest.map((part) => plain(part.replace(UNITS, '').replace(/_min$/, ', least').replace(/_max$/, ', most').replace(/^min$/, 'least').replace(/^max$/, 'most')))
  return rest.length ? `${TOPICS[group] ?? capital(plain(group))}: ${said.join(', ')}` : capital(plain(group))
}
