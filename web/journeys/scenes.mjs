// The screens and states of the page, each looked at by axe-core and in pictures.
import { settled } from './browser.mjs'
import { WOOD } from './desk.mjs'

/** An option with a wood, for the scenes that need one. */
export async function furnish(desk) {
  await desk.edit({ do: 'add_option', name: 'Trees at the edge' })
  const { ids } = await desk.edit(WOOD)
  return { measure: ids[0] }
}

/** Whether a scene can be had in a page that has shown others: nothing is cut or made up in it, and nothing is left behind. Scenes that
 * are `long` in coming are looked at where a journey comes through them. */
export const light = (scene) => !scene.before && !scene.leaves

/** Ask for a small wood, which is soon found. */
export async function suggestSmall(page, ask = 'Suggest') {
  await page.getByLabel('At most, hectares').fill('3')
  await page.getByLabel('How long to look, seconds').fill('1')
  await page.locator('#panel').getByRole('button', { name: ask, exact: true }).click()
  await page.getByRole('button', { name: 'Lay them' }).waitFor()
}

/** The desk answers with a problem, whatever it is asked at an address. */
const refusing = (at, status, problem) => (page) => page.route(at, (route) => route.fulfill({
  status, contentType: 'application/problem+json', body: JSON.stringify({ faults: [], version: null, theirs: [], ...problem }),
}))

/** Name the option shown anew, or try to with the name it has. */
async function nameAnew(page, name) {
  await page.getByRole('button', { name: 'Name anew' }).click()
  if (name) await page.locator('#option-name').fill(name)
  await page.locator('#option-name').press('Enter')
}

/** A page at a scene: in one that is open, where it may be. */
export async function at(context, desk, scene, about, page = null) {
  if (!page) {
    page = await context.newPage()
    // The key first, by an answer that opens no page.
    await context.request.get(desk.address)
    await scene.before?.(page)
  }
  await page.goto(`${desk.at}/${scene.hash.replace('MEASURE', about.measure)}`)
  await settled(page)
  await scene.act?.(page)
  await settled(page)
  return page
}

/** The screens and states looked at. */
export const SCENES = {
  first: { hash: '#ground' },
  season: { hash: '#ground?lek=L1&season=snowbound' },
  year20: { hash: '#ground?option=1&year=20&lek=L1&season=snowbound' },
  measures: { hash: '#ground?option=1&panel=measures' },
  measure: { hash: '#ground?option=1&panel=measure&of=MEASURE' },
  feature: { hash: '#ground?option=1&lek=L1&season=snowbound&panel=feature&of=patches%2FV058' },
  suggest: {
    long: true,
    hash: '#ground?option=1&panel=suggest&of=wood',
    act: async (page) => {
      // The option has a wood already, and over it none is laid.
      await page.getByRole('button', { name: 'Ask in a new option' }).waitFor()
      await suggestSmall(page, 'Ask in a new option')
    },
  },
  draw: {
    leaves: true,
    hash: '#ground?option=1&panel=measures',
    act: async (page) => {
      await page.getByRole('button', { name: 'Draw: Ragged native wood' }).click()
      await page.getByRole('button', { name: 'Begin with a square in the middle of the picture' }).click()
      await page.getByRole('button', { name: 'Corner 1' }).focus()
      await page.keyboard.press('ArrowLeft')
    },
  },
  findings: { hash: '#ground?option=1&panel=findings&of=1' },
  explain: { hash: '#ground?panel=explain&of=reach.brood_m' },
  explain_unknown: { hash: '#ground?panel=explain&of=no.such_figure' },
  compare: { hash: '#ground?option=1&year=20&panel=compare' },
  search: {
    leaves: true,
    hash: '#ground?panel=search',
    act: async (page) => {
      await page.locator('#find').fill('quarlow')
      await settled(page)
    },
  },
  help: { hash: '#ground?panel=help' },
  keys: { hash: '#ground?panel=keys' },
  key: { leaves: true, hash: '#ground?option=1&lek=L2&season=snowbound', act: (page) => page.locator('.key summary').click() },
  year_opened: { leaves: true, hash: '#works?option=1', act: (page) => page.getByRole('button', { name: 'Open the year sheet' }).click() },
  works: { hash: '#works?option=1' },
  works_now: { hash: '#works' },
  birds: { hash: '#birds' },
  handover: { hash: '#handover?option=1' },
  survey: { hash: '#survey' },
  task: {
    hash: '#works?option=1',
    act: async (page) => {
      await page.locator('.board .task').first().click()
    },
  },
  import: {
    leaves: true,
    hash: '#survey',
    act: async (page) => {
      await page.locator('#source').setInputFiles({ name: 'patches.geojson', mimeType: 'application/json', buffer: Buffer.from(PATCHES) })
      await page.getByRole('button', { name: 'Put it in' }).waitFor()
    },
  },
  new_plan: { leaves: true, hash: '#survey', act: (page) => page.getByRole('button', { name: 'New plan' }).click() },
  plans: { leaves: true, hash: '#survey', act: (page) => page.getByRole('button', { name: 'Other plans' }).click() },
  new_option: { leaves: true, hash: '#ground', act: (page) => page.getByRole('button', { name: 'New option' }).click() },
  count_faults: { leaves: true, hash: '#birds', act: (page) => page.getByRole('button', { name: 'Enter it' }).click() },
  dawns: {
    leaves: true,
    hash: '#birds',
    act: async (page) => {
      await page.getByRole('button', { name: 'Plan the dawns' }).click()
      await page.getByText('sun up').first().waitFor()
    },
  },
  written: {
    long: true,
    hash: '#handover?option=1',
    act: async (page) => {
      await page.getByRole('button', { name: 'Write the hand-over' }).click()
      await page.getByRole('button', { name: 'Keep them' }).waitFor()
    },
  },
  // Nobody answers: the socket and every call are cut.
  offline: {
    hash: '#ground?lek=L1&season=brood',
    before: (page) => page.routeWebSocket('**/api/live', (ws) => ws.close()),
  },
  no_plan: { hash: '', before: refusing('**/api/plan', 404, { kind: 'not_found', title: 'No plan is open' }) },
  no_key: { hash: '', before: refusing('**/api/plan', 401, { kind: 'no_key', title: 'No key' }) },
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
    leaves: true,
    hash: '#ground?option=1&panel=measures',
    before: refusing('**/api/edits', 409, { kind: 'changed', title: 'Changed meanwhile', version: 9, theirs: ['“Ragged native wood” was reshaped in another window'] }),
    act: async (page) => {
      await nameAnew(page, 'Another name')
      await page.getByRole('dialog').waitFor()
    },
  },
  refused: {
    leaves: true,
    hash: '#ground?option=1&panel=measures',
    before: refusing('**/api/edits', 422, { kind: 'refused', title: 'The option cannot be named so', faults: [{ at: 'name', needed: 'a name of its own', found: 'one that is there', hint: 'choose another' }] }),
    act: async (page) => {
      await nameAnew(page)
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
