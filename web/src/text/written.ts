// What is written of a piece of the survey: the columns of the plan file that can be changed by hand, and their words.
export type Form = 'text' | 'number' | 'yes_no' | 'day' | string[]
export interface Column { name: string; words: string; form: Form; unit?: string }

const name: Column = { name: 'name', words: 'Name', form: 'text' }
const note: Column = { name: 'note', words: 'Note', form: 'text' }
const cover = (plant: string, words: string): Column => ({ name: `${plant}_pct`, words, form: 'number', unit: '%' })

/** By layer, the most asked first. */
export const COLUMNS: Record<string, Column[]> = {
  patches: [
    name,
    { name: 'height_cm', words: 'Height of the sward', form: 'number', unit: 'cm' },
    { name: 'height_sd_cm', words: 'Spread of the height', form: 'number', unit: 'cm' },
    cover('heather', 'Heather'), cover('blaeberry', 'Blaeberry'), cover('other_berries', 'Other berries'), cover('cotton_grass', 'Cotton-grass'), cover('rush', 'Rush'),
    cover('sedge_grass', 'Sedges and grasses'), cover('herbs', 'Herbs'), cover('bracken', 'Bracken'), cover('moss', 'Moss'), cover('bare', 'Bare, rock, water'), cover('crop', 'Crop or stubble'),
    { name: 'phase', words: 'Phase of the heather', form: ['pioneer', 'building', 'mature', 'degenerate'] },
    { name: 'heather_age_yr', words: 'Years since it was burnt or cut', form: 'number', unit: 'years' },
    { name: 'flush', words: 'A wet flush', form: 'yes_no' },
    { name: 'surveyed_on', words: 'Day of survey', form: 'day' },
    note,
  ],
  woods: [
    name,
    { name: 'planted_year', words: 'Year planted', form: 'number' },
    { name: 'canopy_pct', words: 'Under crowns', form: 'number', unit: '%' },
    { name: 'open_pct', words: 'Glades and rides', form: 'number', unit: '%' },
    { name: 'feathered_edge', words: 'Edge in steps and gaps', form: 'yes_no' },
  ],
  fences: [
    name,
    { name: 'kind', words: 'Kind', form: ['deer', 'stock', 'wire', 'wall', 'other'] },
    { name: 'height_m', words: 'Height', form: 'number', unit: 'm' },
    { name: 'marking', words: 'What makes it seen', form: ['none', 'netting', 'bamboo', 'pales', 'unknown'] },
  ],
  ditches: [
    { name: 'width_cm', words: 'Width at the top', form: 'number', unit: 'cm' },
    { name: 'depth_cm', words: 'Depth', form: 'number', unit: 'cm' },
    { name: 'blocked', words: 'Blocked already', form: 'yes_no' },
    { name: 'keep', words: 'Must keep running', form: 'yes_no' },
  ],
  watercourses: [name, { name: 'width_m', words: 'Width', form: 'number', unit: 'm' }],
  tracks: [name, { name: 'kind', words: 'Kind', form: ['road', 'track', 'path'] }],
  parcels: [
    name,
    { name: 'kind', words: 'Kind of land', form: ['hill', 'common', 'rough', 'in_bye_pasture', 'in_bye_meadow', 'in_bye_arable', 'wood', 'other'] },
    { name: 'stubble', words: 'Stubble or roots over winter', form: ['left', 'ploughed', 'roots'] },
  ],
  areas: [name, { name: 'kind', words: 'Kind', form: ['sssi', 'european', 'historic', 'water_supply', 'species_rich', 'no_go'] }],
  leks: [name, { name: 'target_cocks', words: 'Cocks aimed for', form: 'number' }, { name: 'radius_m', words: 'Radius of the display ground', form: 'number', unit: 'm' }],
}

export const written = {
  title: 'What is written of it',
  change: 'Change what is written',
  intro: 'As surveyed. Leave a box empty where a thing was not looked at: that says “not surveyed”, and a nought says “looked, and not there”.',
  covers: (sum: number) => `Covers come to ${sum} %.`,
  save: 'Write it into the plan',
  nothing: 'Nothing has been changed.',
  empty: 'not written',
  not: 'not a number',
}
