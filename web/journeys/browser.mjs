// The browser of the journeys: Debian's own, without a screen.
import { chromium } from 'playwright-core'

export const SIZES = [[1280, 800], [1024, 700], [768, 1024]]

export const launch = () =>
  chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking', '--disable-component-update', '--no-first-run'],
  })

/** Where the desk is: the address it printed, or the page's own development server. */
export const DESK = process.env.DESK_URL ?? 'http://127.0.0.1:5173/'

/** A page at the desk, with the room and question of an address. */
export async function at(context, hash = '', before) {
  const page = await context.newPage()
  await before?.(page)
  page.on('pageerror', (error) => console.error('page error:', error.message))
  page.on('console', (message) => message.type() === 'error' && console.error('console:', message.text()))
  if (process.env.DESK_URL) await page.goto(DESK)
  await page.goto(new URL(`/${hash}`, DESK).href)
  await settled(page)
  return page
}

/** Wait until nothing is asked of the desk and the picture is drawn. */
export async function settled(page) {
  await page.waitForLoadState('networkidle').catch(() => undefined)
  await page.waitForTimeout(350)
}

/** The screens and states looked at. */
export const SCENES = {
  first: { hash: '#ground' },
  season: { hash: '#ground?lek=L1&season=snowbound' },
  year20: { hash: '#ground?option=1&year=20&lek=L1&season=snowbound' },
  measures: { hash: '#ground?option=1&panel=measures' },
  measure: { hash: '#ground?option=1&panel=measure&of=M01' },
  feature: { hash: '#ground?option=1&lek=L1&season=snowbound&panel=feature&of=patches%2FV58' },
  suggest: {
    hash: '#ground?option=1&panel=suggest&of=wood',
    act: async (page) => {
      await page.locator('#panel').getByRole('button', { name: 'Suggest', exact: true }).click()
      await page.getByRole('button', { name: 'Lay them' }).waitFor({ timeout: 60000 })
    },
  },
  draw: {
    hash: '#ground?option=1&panel=measures',
    act: async (page) => {
      await page.getByRole('button', { name: 'Draw: Ragged native wood' }).click()
      await page.getByRole('button', { name: 'Begin with a square in the middle of the picture' }).click()
      await page.getByRole('button', { name: 'Corner 1' }).focus()
      await page.keyboard.press('ArrowLeft')
    },
  },
  findings: { hash: '#ground?option=1&panel=findings&of=0' },
  explain: { hash: '#ground?panel=explain&of=season.brood' },
  compare: { hash: '#ground?option=1&year=20&panel=compare' },
  search: {
    hash: '#ground?panel=search',
    act: async (page) => {
      await page.locator('#find').fill('quarlow')
      await settled(page)
    },
  },
  help: { hash: '#ground?panel=help' },
  keys: { hash: '#ground?panel=keys' },
  works: { hash: '#works?option=1' },
  works_now: { hash: '#works' },
  birds: { hash: '#birds' },
  handover: { hash: '#handover?option=1' },
  survey: { hash: '#survey' },
  task: {
    hash: '#works?option=1',
    act: async (page) => {
      await page.locator('.board .task').first().click({ timeout: 60000 })
    },
  },
  import: {
    hash: '#survey',
    act: async (page) => {
      await page.locator('#source').setInputFiles({ name: 'patches.geojson', mimeType: 'application/json', buffer: Buffer.from(PATCHES) })
      await page.getByRole('button', { name: 'Put it in' }).waitFor({ timeout: 20000 })
    },
  },
  new_plan: { hash: '#survey', act: (page) => page.getByRole('button', { name: 'New plan' }).click() },
  plans: { hash: '#survey', act: (page) => page.getByRole('button', { name: 'Other plans' }).click() },
  new_option: { hash: '#ground', act: (page) => page.getByRole('button', { name: 'New option' }).click() },
  count_faults: { hash: '#birds', act: (page) => page.getByRole('button', { name: 'Enter it' }).click() },
  dawns: {
    hash: '#birds',
    act: async (page) => {
      await page.getByRole('button', { name: 'Plan the dawns' }).click()
      await page.getByText('sun up').first().waitFor({ timeout: 60000 })
    },
  },
  written: {
    hash: '#handover?option=1',
    act: async (page) => {
      await page.getByRole('button', { name: 'Write the hand-over' }).click()
      await page.getByRole('button', { name: 'Keep them' }).waitFor({ timeout: 180000 })
    },
  },
  // Nobody answers: the socket and every call are cut.
  offline: {
    hash: '#ground?lek=L1&season=brood',
    before: (page) => page.routeWebSocket('**/api/live', (ws) => ws.close()),
  },
  no_plan: { hash: '', before: (page) => page.route('**/api/plan', (route) => route.fulfill({ status: 404, contentType: 'application/problem+json', body: JSON.stringify({ kind: 'not_found', title: 'No plan is open', faults: [], version: null, theirs: [] }) })) },
  no_key: { hash: '', before: (page) => page.route('**/api/plan', (route) => route.fulfill({ status: 401, contentType: 'application/problem+json', body: JSON.stringify({ kind: 'no_key', title: 'No key', faults: [], version: null, theirs: [] }) })) },
  gone: { hash: '', before: (page) => page.route(/\/\/[^/]+\/api\//, (route) => route.abort()) },
  lacks: {
    hash: '#ground',
    before: (page) => page.route('**/api/plan', async (route) => {
      const answer = await route.fetch()
      const plan = { ...(await answer.json()), lacks: ['No heights are in the plan: put a height model in.', 'No vegetation is mapped: put patches in.'] }
      await route.fulfill({ response: answer, json: plan })
    }),
  },
  clash: {
    hash: '#ground?option=1&panel=measures',
    before: (page) => page.route('**/api/edits', (route) => route.fulfill({ status: 409, contentType: 'application/problem+json', body: JSON.stringify({ kind: 'changed', title: 'Changed meanwhile', faults: [], version: 9, theirs: ['“Ragged native wood” was reshaped in another window'] }) })),
    act: async (page) => {
      await page.getByRole('button', { name: 'Name anew' }).click()
      await page.locator('#option-name').fill('Another name')
      await page.locator('#option-name').press('Enter')
      await page.getByRole('dialog').waitFor()
    },
  },
  refused: {
    hash: '#ground?option=1&panel=measures',
    before: (page) => page.route('**/api/edits', (route) => route.fulfill({ status: 422, contentType: 'application/problem+json', body: JSON.stringify({ kind: 'refused', title: 'The option cannot be named so', faults: [{ at: 'name', needed: 'a name of its own', found: 'one that is there', hint: 'choose another' }], version: null, theirs: [] }) })),
    act: async (page) => {
      await page.getByRole('button', { name: 'Name anew' }).click()
      await page.locator('#option-name').press('Enter')
      await settled(page)
    },
  },
}

/** A small file of patches for the import. */
const PATCHES = JSON.stringify({
  type: 'FeatureCollection',
  crs: { type: 'name', properties: { name: 'urn:ogc:def:crs:EPSG::27700' } },
  features: [0, 1].map((i) => ({
    type: 'Feature',
    properties: { ref: `N${i}`, plants: 'heather 60, grass 40', hgt: 12 },
    geometry: { type: 'Polygon', coordinates: [[[382000 + i * 300, 546000], [382250 + i * 300, 546000], [382250 + i * 300, 546250], [382000 + i * 300, 546250], [382000 + i * 300, 546000]]] },
  })),
})
