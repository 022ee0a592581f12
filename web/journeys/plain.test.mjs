// What the desk tells in words of the command line is said as the page does it: only the part that names a command changes, the rest stands.
import assert from 'node:assert/strict'
import { test } from 'node:test'
import { source } from './source.mjs'

const { inPage, plainly } = await source('text/plain.ts')

const SAID = [
  ['easting and northing seem to be swapped: `--map easting=COLUMN --map northing=COLUMN` says which is which', 'easting and northing seem to be swapped: choose above which column is which'],
  ['the column is read in mm: `--map height_cm=COLUMN:UNIT` says otherwise', 'the column is read in mm: where that is wrong, choose its unit above'],
  ['say it: `--map height_cm=tall:cm`; or leave the column out: `--map height_cm=-`', 'choose its unit above; or leave the column out: choose none for height cm above'],
  ["say it: `--map 'height_cm=how tall:cm'`; or leave the column out: `--map height_cm=-`", 'choose its unit above; or leave the column out: choose none for height cm above'],
  ['if they are longitude and latitude say `--epsg 4326` (with columns: `--map lon=COLUMN --map lat=COLUMN`)', 'if they are longitude and latitude give the EPSG number 4326 above (with columns: choose above the columns of lon and lat)'],
  ['save the layer again in EPSG:27700; if the file names its system wrongly, say `--epsg 27700`', 'save the layer again in EPSG:27700; if the file names its system wrongly, give the EPSG number 27700 above'],
  ['the coordinate system may be another: say `--epsg NUMBER`, or easting and northing may be swapped', 'the coordinate system may be another: give its EPSG number above, or easting and northing may be swapped'],
  ['name them with `--map easting=COLUMN --map northing=COLUMN`, or `grid_ref`, or `lon` and `lat`', 'choose above the columns of easting and northing, or grid_ref, or lon and lat'],
  ['name it with `--map cocks=COLUMN`: visits without any count would tell of none', 'choose above the column of cocks: visits without any count would tell of none'],
  ['let the leks put forward be made (`--make-leks`), or import the leks first', 'let the leks put forward be made (tick it above), or import the leks first'],
  ['replace what is there with `--replace`, or let every row have a new id with `--map id=-`', 'replace what is there (tick it above), or let every row have a new id by choosing none for id above'],
  ['name them with `--map young=COLUMN`; dawn visits go in with `greyhen import FILE visits SOURCE`', 'choose above the column of young; dawn visits go in where “What is in the file” says so'],
  ['import it into a plan with `greyhen import`, or check the path', 'bring it into a plan, in Survey, or check the path'],
  // What the page cannot do is left out.
  ['the ruler ends there; `greyhen ahead` looks further', 'the ruler ends there'],
  ['choose another name, or say `--force` to replace a plan', 'choose another name'],
  ['`--force` replaces plans only; choose another name, or move this file away yourself', 'choose another name, or move this file away yourself'],
  ['put the heights in again with `greyhen import`', ''],
  // What names no command stands: the bird is no command.
  ['a greyhen with chicks was seen; look at `brood` again', 'a greyhen with chicks was seen; look at brood again'],
  ['take out `north--south`, or name it anew', 'take out north--south, or name it anew'],
  ['such as 12', 'such as 12'],
]

test('hints of the command line are said in words of the page', () => {
  for (const [told, words] of SAID) assert.equal(inPage(told), words)
  assert.equal(plainly('`mm` in `--map`'), 'mm')
  assert.equal(plainly('a column `tall`, as `--map` says'), 'a column tall')
})

test('figures are read as people type them, and what is none is told from nothing', async () => {
  const { figure, sum } = await source('lib/figures.ts')
  const READ = [
    ['', null], ['  ', null], ['0', 0], ['12.5', 12.5], ['.5', 0.5], ['20,000', 20_000], ['1,234,567.8', 1_234_567.8], ['20 000', 20_000], ['-3', -3], ['−3', -3],
  ]
  for (const [typed, value] of READ) {
    assert.equal(figure(typed), value, typed)
    assert.equal(sum(typed), value, typed)
  }
  for (const [typed, value] of [['£5000', 5000], [' £5,000 ', 5000], ['-£3', -3], ['£ 3', 3], ['£.5', 0.5]]) {
    assert.equal(sum(typed), value, typed)
    assert.ok(Number.isNaN(figure(typed)), `${typed} is a sum, and no share or hectares`)
  }
  // A comma that parts no thousands may mean a point: it is not guessed.
  for (const typed of ['1,5', '5 ha', 'ten', '1e3', '0x10', '1.2.3', '.', '£', '££5', '-', '12,34,567', 'Infinity', 'NaN']) assert.ok(Number.isNaN(figure(typed)) && Number.isNaN(sum(typed)), typed)
})

test('what is told one after the other stands as sentences', async () => {
  const { sentences } = await source('text/common.ts')
  assert.equal(sentences(['Laid', 'the ruler went on']), 'Laid. The ruler went on')
  assert.equal(sentences(['Laid.', null, '', false, 'Look again.']), 'Laid. Look again.')
  assert.equal(sentences(['', 'about £3,000']), 'About £3,000')
  assert.equal(sentences(['Really?', 'yes']), 'Really? Yes')
  assert.equal(sentences([]), '')
})

test('findings keep their numbers while others come and go, and while what they are on is dragged', async () => {
  const { numbered } = await source('lib/numbers.ts')
  const of = (rule, on, what, here = '') => ({ rule, on, what, here, geometry: { at: here } })
  const told = (...findings) => numbered(findings, 'one').map((f) => f.number)
  const [a, b, c] = ['Far Allotment', 'Mid Allotment', 'Near Allotment'].map((what) => of('overgrazed', '', `${what} is stocked too high`, `at ${what}`))
  const [wood, edge] = [of('wood_near_lek', 'wood-1', 'wood-1 is near', '40 m'), of('wood_near_lek', 'wood-1', 'wood-1 is near', '60 m')]
  assert.deepEqual(told(a, b, c, wood, edge), [1, 2, 3, 4, 5])
  // The first of several alike goes; one of them is told otherwise.
  assert.deepEqual(told(b, { ...c, here: '2.1 ewes' }, edge), [2, 3, 5])
  assert.deepEqual(told(of('wood_near_lek', 'wood-2', 'wood-2 is near', '10 m'), a, b, c, wood, edge), [6, 1, 2, 3, 4, 5])
  // One is dragged, so that it is told otherwise; the other stands.
  assert.deepEqual(told(of('wood_near_lek', 'wood-1', 'wood-1 touches the lek', '0 m'), edge), [4, 5])
  // Of the ground another thing is another finding.
  assert.deepEqual(told(b, of('overgrazed', '', 'Low Allotment is stocked too high')), [2, 7])
})

test('a page keeps so many numbers and no more, and a store that is full takes none away', async () => {
  const { numbered } = await source('lib/numbers.ts')
  const finding = (what) => ({ rule: 'overgrazed', on: '', what, here: '', geometry: null })
  const many = Array.from({ length: 3000 }, (_, i) => finding(`parcel ${i} is stocked too high`))
  let kept = ''
  Object.defineProperty(globalThis, 'sessionStorage', { configurable: true, value: { getItem: () => null, setItem: (_, text) => (kept = text) } })
  for (let option = 0; option < 30; option += 1) numbered(many, `plan.gpkg|${option}`)
  assert.ok(kept.length > 1_000_000 && kept.length < 2_000_000, `${kept.length} letters are kept`)
  globalThis.sessionStorage.setItem = () => { throw new Error('full') }
  const [last] = numbered([many[2999]], 'plan.gpkg|0')
  assert.equal(last.number, 3000)
  delete globalThis.sessionStorage
  assert.equal(numbered([finding('another'), many[0]], 'plan.gpkg|0').map((f) => f.number).join(), '3001,1')
})
