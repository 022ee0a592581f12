// Words of the ground.
/** The letter a finding is marked with. */
export const severityLetter = (severity: string): string => (severity === 'must' ? 'M' : severity === 'should' ? 'S' : 'C')

export const ground = {
  title: 'The ground',
  label: 'The ground, drawn for the season, lek and year chosen. Arrow keys move it, plus and minus bring it nearer or farther.',
  nearer: 'Nearer',
  farther: 'Farther',
  whole: 'Whole holding',
  north: 'north',
  drawn: 'What is drawn',
  nothing: 'Nothing is surveyed yet. Put files in by Survey.',
  reading: 'Reading the ground…',
  then: (words: string) => `The ground ${words}`,
  finds: (season: string) => `${season}: what lies within reach of`,
  darker: 'darker: more is found',
  reach: 'as far as the birds go',
  mend: 'could mend it',
  findings: (n: number) => `${n} findings`,
  /** Its letter first: a number first is read as so many of them. */
  finding: (n: number, severity: string) => `${severityLetter(severity)}${n}`,
  layers: {
    heather: 'heather', blaeberry: 'blaeberry', bog: 'bog', flush: 'flush', grass: 'grass', bracken: 'bracken', scrub: 'scrub', bare: 'bare ground', rush: 'rush', crop: 'crop', other: 'other cover',
    conifer: 'conifers', broadleaf: 'broadleaves', mixed: 'mixed wood', young: 'young wood',
    boundary: 'march (boundary)', parcels: 'field or parcel', fences: 'fence', ditches: 'ditch', watercourses: 'watercourse', tracks: 'track', services: 'wire or pipe', buildings: 'building',
    areas: 'protected or no-go area', sticks: 'stick height', probes: 'peat probe',
    leks: 'lek', lekOn: 'the lek asked about', measures: 'measure laid', planned: 'planned wood, as it stands then', pen: 'under the pen', preview: 'put forward, not laid',
    supply: 'what the season finds: darker, more', reach: 'as far as the birds go', mend: 'ground that could mend it', mendOutside: 'the same, a neighbour’s',
    sign_must: 'a finding: must', sign_should: 'a finding: should', sign_consider: 'a finding: consider',
  } as Record<string, string>,
  gathered: 'Findings too near to be told apart share one sign, which says how many.',
  march: { inside: '', partly: 'Some of it lies outside the march, on a neighbour’s ground.', outside: 'A neighbour’s ground, outside the march: nothing can be done there without them.' },
  feature: 'On this ground',
  featureNext: 'What could be done here',
  needOption: 'Make or choose an option first; measures belong to one.',
  takeWhole: (size: string) => `Take the whole of it, ${size}`,
}
export const layerWords: Record<string, string> = {
  patches: 'Vegetation', woods: 'Wood', fences: 'Fence', ditches: 'Ditch', watercourses: 'Watercourse', areas: 'Protected or no-go area', parcels: 'Parcel',
}
/** The finding's letter, in words. */
