// Drawing and what is put forward: corners that show, a first corner that stays, outlines told apart, and the ground found again.
import assert from 'node:assert/strict'
import { test } from 'node:test'
import { addressOf, room, settled } from './browser.mjs'
import { aside } from './desk.mjs'
import { pixelOf } from './ground.mjs'
import { at, furnish, suggestSmall } from './scenes.mjs'
import { staged } from './staged.mjs'

const stage = staged(async ({ desk }) => {
  const about = await furnish(desk)
  await desk.edit({ do: 'add_option', name: 'Nothing yet' })
  return about
})

const button = (page, name) => page.getByRole('button', { name, exact: true })

/** Where in the window a stream has a corner, in the midst of the picture. */
async function streamIn(page, map) {
  const { layers } = await stage.desk.asks('/api/ground')
  const streams = layers.find((l) => l.layer === 'watercourses').features.map((f) => f.geometry)
  for (const p of streams.flatMap((g) => g.coordinates.flat(g.type === 'MultiLineString' ? 1 : 0))) {
    const [x, y] = await pixelOf(page, p)
    if (x > map.x + 250 && x < map.x + map.width - 250 && y > map.y + 90 && y < map.y + map.height - 160) return [x, y]
  }
  assert.fail('no stream is in the picture')
}

test('the ground looked at is found again by a page loaded anew, and in another room and back', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=1&lek=L1&season=snowbound' }, about)
  for (let i = 0; i < 3; i += 1) await button(page, 'Nearer').click()
  await page.locator('.map').focus()
  await page.keyboard.press('ArrowRight')
  await page.waitForURL(/sight=/)
  await settled(page)
  const shown = () => page.locator('.edges span').evaluateAll((all) => all.map((e) => ({ at: e.textContent, px: parseFloat(e.style.left || e.style.top) })))
  const alike = (a, b) => a.length === b.length && a.every(({ at, px }, i) => at === b[i].at && Math.abs(px - b[i].px) < 1)
  const [edges, there] = [await shown(), page.url()]
  const same = async (after, url = there) => {
    await settled(page)
    await page.locator('.edges span').first().waitFor({ state: 'attached' })
    await page.waitForTimeout(300)
    const now = await shown()
    assert.ok(alike(now, edges), `other ground is shown ${after}: ${JSON.stringify(now)} for ${JSON.stringify(edges)}`)
    if (url) assert.equal(page.url(), url, `the address is another ${after}`)
  }
  await page.reload()
  await same('by a page loaded anew')
  await button(page, 'Birds').click()
  await settled(page)
  await button(page, 'Ground').click()
  await same('back from another room')
  // What is no piece of ground leads nowhere.
  for (const nowhere of [',,-3', '382400,548000,-3', '382400,548000,0', '382400,548000', '382400,548000,4,4', 'x,548000,4', 'Infinity,548000,4']) {
    await page.goto(`${desk.at}/#ground?sight=${nowhere}`)
    await same(`by sight=${nowhere}`, null)
  }
  await page.goto(`${desk.at}/#ground?sight=382400,548000,4`)
  await page.waitForFunction((was) => [...document.querySelectorAll('.edges span')].map((e) => e.textContent).join() !== was, edges.map((e) => e.at).join())
  context.fair(new URL(desk.at).host)
  await context.close()
})

test('the first corner stands where it is pressed, later ones go to what is near; every corner shows', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  // Far enough that a few pixels are many metres.
  const page = await at(context, desk, { hash: '#ground?option=2&year=10&panel=measures&sight=382400,548000,4' }, about)
  const map = await page.locator('.map').boundingBox()
  const near = await streamIn(page, map)
  await button(page, 'Draw: Ragged native wood').click()
  const press = async (x, y) => {
    await page.mouse.move(x, y, { steps: 4 })
    await page.mouse.click(x, y)
    await page.waitForTimeout(300)
  }
  const first = [near[0] + 5, near[1] + 5]
  await press(...first)
  await press(near[0] + 120, near[1] + 10)
  await press(near[0] + 120, near[1] + 90)
  await press(...first)
  await page.getByText('Corners by number').click()
  await settled(page)
  const drawn = await page.evaluate(() => JSON.parse(Object.entries(localStorage).find(([k]) => k.startsWith('greyhen.draft.'))[1]).measure.geometry)
  const [x, y] = await pixelOf(page, drawn.coordinates[0][0])
  assert.ok(Math.hypot(x - first[0], y - first[1]) < 2.5, `the first corner was pressed at ${first} and stands at ${[x, y]}`)
  // Every corner is a pale dot in a dark ring, though the pointer is elsewhere.
  await page.mouse.move(map.x + 5, map.y + map.height - 5)
  await settled(page)
  for (const corner of drawn.coordinates[0].slice(0, -1)) {
    const [cx, cy] = (await pixelOf(page, corner)).map(Math.round)
    const shot = (await page.screenshot({ clip: { x: cx - 7, y: cy - 7, width: 15, height: 15 } })).toString('base64')
    const greys = await page.evaluate(async (shot) => {
      const picture = await createImageBitmap(new Blob([Uint8Array.from(atob(shot), (c) => c.charCodeAt(0))], { type: 'image/png' }))
      const c = new OffscreenCanvas(15, 15).getContext('2d')
      c.drawImage(picture, 0, 0)
      const { data } = c.getImageData(0, 0, 15, 15)
      const grey = (x, y) => (data[4 * (15 * y + x)] + data[4 * (15 * y + x) + 1] + data[4 * (15 * y + x) + 2]) / 3
      return { dot: grey(7, 7), ring: Math.max(...[[2, 7], [12, 7], [7, 2], [7, 12]].map(([x, y]) => grey(x, y))) }
    }, shot)
    assert.ok(greys.dot > 215 && greys.ring < 150, `no handle at corner ${corner}: ${JSON.stringify(greys)}`)
  }
  await button(page, 'Give it up').click()
  await context.close()
})

test('an outline that is not closed is drawn on by a page loaded anew, in another room and back, and after Back', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=2&year=10&panel=measures&sight=382400,548000,4' }, about)
  const panel = page.locator('#panel')
  await button(page, 'Draw: Ragged native wood').click()
  const map = await page.locator('.map').boundingBox()
  const stream = await streamIn(page, map)
  const corners = [[-150, -90], [-20, -110], [60, -20], [30, 70], [-60, 90], [-170, 40]].map(([x, y]) => [map.x + map.width / 2 + x, map.y + map.height / 2 + y])
  const press = async ([x, y]) => {
    await page.mouse.move(x, y, { steps: 4 })
    await page.mouse.click(x, y)
    await page.waitForTimeout(300)
  }
  const kept = () => page.evaluate(() => JSON.parse(Object.entries(localStorage).find(([k]) => k.startsWith('greyhen.draft.'))[1]))
  const ring = async () => (await kept()).measure.geometry?.coordinates[0].length
  const drawing = () => panel.getByText('Press on the ground to set corners').waitFor()
  const ready = async () => {
    await page.locator('.map canvas').first().waitFor()
    await settled(page)
    await drawing()
  }
  for (const corner of corners.slice(0, 2)) await press(corner)
  // Two corners are no area yet, and are kept all the same.
  await page.reload()
  await ready()
  await press(corners[2])
  await page.mouse.move(map.x + 60, map.y + 200, { steps: 4 })
  assert.equal(await ring(), 4, 'kept with the corner that goes with the pen')
  await page.reload()
  await ready()
  assert.equal(await ring(), 4)
  // It goes to the stream that is near.
  corners[3] = [stream[0] + 5, stream[1] + 5]
  await press(corners[3])
  const { corners: set } = (await kept()).unclosed
  assert.equal(set.length, 4, 'the press after a reload set no corner')
  const [x, y] = await pixelOf(page, set[3])
  assert.ok(Math.hypot(x - corners[3][0], y - corners[3][1]) > 2.5, `pressed at ${corners[3]} it stands there`)
  await button(page, 'Birds').click()
  await page.locator('.map').waitFor({ state: 'detached' })
  await button(page, 'Ground').click()
  await ready()
  await press(corners[4])
  // Back leads to what was shown before, and loses nothing of it.
  await page.goBack()
  await page.waitForURL(/#birds/)
  await page.goBack()
  await page.goBack()
  await panel.locator('[data-kind=wood]').waitFor()
  await button(panel, 'Back to the drawing').click()
  await ready()
  await press(corners[5])
  await press(corners[0])
  const { measure: { geometry }, unclosed } = await kept()
  assert.equal(unclosed, null)
  assert.equal(geometry.coordinates[0].length, corners.length + 1)
  for (const [i, corner] of corners.entries()) {
    const [x, y] = await pixelOf(page, geometry.coordinates[0][i])
    // Those after the first may have gone to what is near.
    assert.ok(Math.hypot(x - corner[0], y - corner[1]) < (i ? 12 : 2.5), `corner ${i + 1} was pressed at ${corner} and stands at ${[x, y]}`)
  }
  // Closed it is reshaped: a press sets no more.
  await press([map.x + 100, map.y + 200])
  assert.equal((await kept()).measure.geometry.coordinates[0].length, corners.length + 1)
  await page.reload()
  await panel.getByRole('heading', { name: /^Draw:/ }).waitFor()
  assert.equal(await panel.getByText('Press on the ground to set corners').count(), 0)
  await button(page, 'Give it up').click()
  // Laid before it is closed, it is laid by the corners that were set.
  await button(page, 'Draw: Ragged native wood').click()
  for (const corner of corners.slice(0, 2)) await press(corner)
  assert.ok(await button(page, 'Lay it').isDisabled(), 'two corners are no area')
  await press(corners[2])
  // What it comes to is told of what would be laid, though the hand crosses the ground to lay it.
  await page.mouse.move(map.x + map.width - 20, map.y + 60, { steps: 6 })
  await button(page, 'Lay it').hover()
  const [a, b, c] = (await kept()).unclosed.corners
  const size_ha = Math.abs((b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])) / 2 / 10_000
  const told = `${size_ha.toFixed(size_ha < 10 ? 1 : 0)} ha`
  await panel.locator('.comes', { hasText: new RegExp(`^${told},`) }).waitFor()
  await button(page, 'Lay it').click()
  await page.getByRole('button', { name: 'Reshape', exact: true }).waitFor()
  assert.equal((await panel.locator('dd').first().innerText()).split(',')[0], told, 'another size was told than was laid')
  const laid = addressOf(page).get('of')
  const shape = (await desk.asks('/api/measures?option=2')).find((m) => m.id === laid).geometry
  assert.equal(shape.coordinates.flat(shape.type === 'MultiPolygon' ? 2 : 1).length, 4)
  await desk.edit({ do: 'drop_measures', ids: [laid] })
  context.fair(new URL(desk.at).host)
  await context.close()
})

test('what is drawn and not laid is not thrown away for another, nor drawn for an option that is not shown without a word', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  await desk.edit({ do: 'add_option', name: 'Soon gone' })
  const gone = (await desk.asks('/api/plan')).options.find((o) => o.name === 'Soon gone').number
  const context = await room(browser)
  const page = await at(context, desk, { hash: `#ground?option=${gone}&year=10&panel=measures&sight=382400,548000,4` }, about)
  const panel = page.locator('#panel')
  const drawing = panel.getByRole('heading', { name: 'Draw: Ragged native wood' })
  await button(page, 'Draw: Ragged native wood').click()
  await button(page, 'Begin with a square in the middle of the picture').click()
  await panel.locator('.comes').waitFor()
  const drawn = await panel.locator('.comes').innerText()
  for (const other of ['Draw: Ragged native wood', 'Draw: Ditch blocked or scrapes dug']) {
    await button(panel, 'Measures').click()
    await button(page, other).click()
    await page.locator('.told.said', { hasText: 'is not laid yet' }).waitFor()
    await drawing.waitFor()
    assert.equal(await panel.locator('.comes').innerText(), drawn)
  }
  // Whoever reloads at something else is left there.
  await button(panel, 'Findings').click()
  await page.reload()
  await button(panel, 'Back to the drawing').waitFor()
  assert.equal(addressOf(page).get('panel'), 'findings')
  await button(panel, 'Back to the drawing').click()
  await drawing.waitFor()
  // Its option goes, and another takes the number.
  await desk.edit({ do: 'drop_option', number: gone })
  await desk.edit({ do: 'add_option', name: 'Quite another' })
  assert.ok((await desk.asks('/api/plan')).options.some((o) => o.number === gone && o.name === 'Quite another'))
  await page.reload()
  await panel.getByText('The option it was drawn for is there no more').waitFor()
  assert.ok(await button(page, 'Lay it').isDisabled())
  await page.locator('.option', { hasText: 'Quite another' }).click()
  await button(panel, 'Draw it for Quite another').click()
  await button(page, 'Lay it').click()
  await page.getByRole('button', { name: 'Reshape', exact: true }).waitFor()
  assert.equal((await desk.asks(`/api/measures?option=${gone}`)).length, 1)
  await desk.edit({ do: 'drop_option', number: gone })
  context.fair(new URL(desk.at).host)
  await context.close()
})

test('on a piece of ground an empty drawing is begun; the whole of it only where that is chosen', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=2&year=10&panel=feature&of=patches%2FV058' }, about)
  const panel = page.locator('#panel')
  await button(panel, 'Draw: Ragged native wood').click()
  await panel.getByRole('heading', { name: /^Draw:/ }).waitFor()
  await settled(page)
  assert.ok(await button(panel, 'Lay it').isDisabled(), 'something is drawn before anything was pressed')
  await button(panel, 'Give it up').click()
  await page.goto(`${desk.at}/#ground?option=2&year=10&panel=feature&of=patches%2FV058`)
  await panel.getByRole('button', { name: /^Take the whole of it, [\d.]+ ha: Ragged native wood$/ }).click()
  await panel.locator('.comes').waitFor()
  assert.ok(await button(panel, 'Lay it').isEnabled())
  await button(panel, 'Give it up').click()
  await context.close()
})

test('what is asked in a new option is asked at once, found again by a page loaded anew, and asked again where nothing is yet', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const shown = (page, name) => page.locator('.option[aria-pressed=true] bdi').getByText(new RegExp(`^\\d+ ${name}$`)).waitFor()
  const page = await at(context, desk, { hash: '#ground?option=1&panel=suggest&of=wood' }, about)
  await button(page, 'Ask in a new option').waitFor()
  await page.getByLabel('How long to look, seconds').fill('60')
  await button(page, 'Ask in a new option').click()
  await shown(page, 'Only ragged native wood')
  await page.locator('.job button:enabled').waitFor()
  // In the midst of it the page is loaded anew: it opens, and the search goes on.
  await page.reload()
  await page.locator('.job button:enabled').waitFor({ timeout: 20_000 })
  assert.equal(await page.getByLabel('How long to look, seconds').inputValue(), '60')
  await page.locator('.job button').click()
  await page.locator('.job').waitFor({ state: 'detached' })
  await suggestSmall(page)
  const words = await page.locator('.answer h3').innerText()
  await page.reload()
  await button(page, 'Lay them').waitFor()
  assert.equal(await page.locator('.answer h3').innerText(), words, 'the answer is another')
  // Nothing is laid there yet: it is asked in again; then in another.
  await page.goto(`${desk.at}/#ground?option=1&panel=suggest&of=wood`)
  await suggestSmall(page, 'Ask in a new option')
  await shown(page, 'Only ragged native wood')
  await button(page, 'Lay them').click()
  await page.getByRole('heading', { name: /^Measures/ }).waitFor()
  await page.goto(`${desk.at}/#ground?option=1&panel=suggest&of=wood`)
  await suggestSmall(page, 'Ask in a new option')
  await shown(page, 'Only ragged native wood 2')
  context.fair(new URL(desk.at).host)
  await context.close()
})

test('what is put forward is numbered, each looked at by a press; laid, the year gone on to is told', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=2&panel=suggest&of=heather' }, about)
  await page.getByLabel('Years planned').fill('1')
  await page.getByLabel('How long to look, seconds').fill('1')
  await page.locator('#panel').getByRole('button', { name: 'Suggest', exact: true }).click()
  await button(page, 'Lay them').waitFor()
  await settled(page)
  const offers = page.locator('.offer')
  const many = await offers.count()
  assert.deepEqual(await offers.locator('.number').evaluateAll((all) => all.map((n) => Number(n.innerText.match(/\d+$/)[0]))), Array.from({ length: many }, (_, i) => i + 1))
  assert.doesNotMatch(await page.locator('.answer').innerText(), /NaN|undefined/)
  const wide = addressOf(page).get('sight')
  await offers.nth(1).click()
  await page.waitForFunction((was) => !location.hash.includes(was), `sight=${wide}`)
  assert.equal(await offers.nth(1).getAttribute('aria-pressed'), 'true')
  await button(page, 'Lay them').click()
  await page.locator('.told.said', { hasText: 'The years ruler went on to 10 years' }).waitFor()
  assert.equal(addressOf(page).get('year'), '10')
  context.fair(new URL(desk.at).host)
  await context.close()
})

test('a number is read with its commas and pounds; what is none is told and holds what it was typed for', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=2&year=10&panel=suggest&of=wood' }, about)
  const panel = page.locator('#panel')
  const ask = button(panel, 'Suggest')
  await page.getByLabel('At most, hectares').fill('3 ha')
  assert.ok(await ask.isDisabled(), 'a limit that cannot be read is left out')
  assert.equal(await page.getByLabel('At most, hectares').getAttribute('aria-invalid'), 'true')
  await panel.getByText('At most, hectares: give a number above nought').waitFor()
  await page.getByLabel('At most, hectares').fill('3')
  await page.getByLabel('At most, pounds').fill('£20,000')
  await page.getByLabel('How long to look, seconds').fill('1')
  const [asked] = await Promise.all([page.waitForRequest((r) => r.method() === 'POST' && /suggest/.test(r.postData() ?? '')), ask.click()])
  assert.equal(asked.postDataJSON().budget_gbp, 20_000)
  await page.goto(`${desk.at}/#ground?option=2&year=10&panel=measures`)
  await button(page, 'Draw: Ragged native wood').click()
  await button(page, 'Begin with a square in the middle of the picture').click()
  await panel.locator('.comes').waitFor()
  const kept = () => page.evaluate(() => JSON.parse(Object.entries(localStorage).find(([k]) => k.startsWith('greyhen.draft.'))[1]).measure)
  const stems = panel.locator('input[inputmode=decimal][id^=fact-]').first()
  const name = (await stems.getAttribute('id')).slice('fact-'.length)
  const type = async (field, text) => {
    await field.fill(text)
    await field.blur()
  }
  await type(stems, '1,500')
  assert.equal((await kept()).facts[name], 1500)
  for (const [field, bad, good] of [[stems, 'many', '1500'], [stems, '£20', '1500'], [page.locator('#begins'), '28', '2031']]) {
    await type(field, bad)
    assert.equal(await field.getAttribute('aria-invalid'), 'true')
    assert.equal(await field.inputValue(), bad)
    assert.ok(await button(page, 'Lay it').isDisabled(), `laid with ${bad}`)
    await panel.getByText('Something typed below cannot be read').waitFor()
    await type(field, good)
    assert.equal(await field.getAttribute('aria-invalid'), 'false')
    assert.ok(await button(page, 'Lay it').isEnabled())
  }
  assert.equal((await kept()).year, 2031)
  // What is read but cannot be is told once, by what stands over its field.
  const open = page.locator('#fact-open_pct')
  const label = await panel.locator('label[for=fact-open_pct]').innerText()
  await type(open, '99')
  await button(page, 'Lay it').click()
  await panel.locator('.faults li').waitFor()
  const faults = await panel.locator('.faults li').allInnerTexts()
  assert.equal(faults.length, 1)
  assert.ok(faults[0].startsWith(`${label} · needed a number from 0 to `) && !faults[0].includes('open_pct'), faults[0])
  await settled(page)
  assert.equal(await page.locator('.told.gone').count(), 0)
  await button(page, 'Give it up').click()
  await context.close()
})

test('what can hurt is minded before any is drawn or put forward', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=2&year=10&panel=suggest&of=heather' }, about)
  const panel = page.locator('#panel')
  const minded = (await desk.asks('/api/kinds')).find((k) => k.key === 'heather').cautions
  assert.ok(minded.length > 2)
  const told = () => panel.locator('ul.caution li').allInnerTexts()
  assert.deepEqual(await told(), minded)
  await button(page, 'All measures').first().click()
  await page.locator('[data-kind=heather] summary').click()
  assert.deepEqual(await page.locator('[data-kind=heather] ul.caution li').allInnerTexts(), minded)
  await page.getByRole('button', { name: /^Draw: .*heather/i }).click()
  await panel.getByRole('heading', { name: /^Draw:/ }).waitFor()
  assert.deepEqual(await told(), minded)
  const [laying, caution] = [await button(page, 'Lay it').boundingBox(), await panel.locator('ul.caution').boundingBox()]
  assert.ok(caution.y >= laying.y + laying.height, 'cautions stand over the buttons and move them')
  await button(page, 'Give it up').click()
  await context.close()
})

test('that the years ruler went on is told only where it still stands there', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  for (const [moves, told] of [[[], /went on to 10 years/], [[']', '['], /went on to 10 years/], [[']'], null]]) {
    const page = await at(context, desk, { hash: '#ground?option=2&panel=measures&sight=382400,548000,4' }, about)
    await button(page, 'Draw: Ragged native wood').click()
    await button(page, 'Begin with a square in the middle of the picture').click()
    await page.locator('#panel .comes').waitFor()
    for (const key of moves) await page.keyboard.press(key)
    await button(page, 'Lay it').click()
    const said = page.locator('.told.said')
    await said.waitFor()
    await page.getByRole('button', { name: 'Reshape', exact: true }).waitFor()
    const notice = await said.innerText()
    assert.doesNotMatch(notice, /\.\.|^\./)
    if (told) assert.match(notice, told)
    else assert.doesNotMatch(notice, /years ruler/)
    await desk.edit({ do: 'drop_measures', ids: [addressOf(page).get('of')] })
    await page.close()
  }
  await context.close()
})

test('the number of what is put forward is pressed on the ground; the answer is there still after other ground was looked at', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  await desk.edit({ do: 'add_option', name: 'A wood asked about' })
  const option = (await desk.asks('/api/plan')).options.find((o) => o.name === 'A wood asked about').number
  const context = await room(browser)
  const page = await at(context, desk, { hash: `#ground?option=${option}&panel=suggest&of=wood` }, about)
  const panel = page.locator('#panel')
  let answer = null
  page.on('response', async (r) => { if (/\/api\/jobs\/\d+$/.test(r.url())) answer = (await r.json().catch(() => null))?.answer ?? answer })
  await suggestSmall(page)
  await settled(page)
  // It stands within its outline, in the midst of the longest way across at half its height.
  const { geometry } = answer.measures[0]
  const ring = geometry.type === 'MultiPolygon' ? geometry.coordinates[0][0] : geometry.coordinates[0]
  const norths = ring.map((p) => p[1])
  const north = (Math.min(...norths) + Math.max(...norths)) / 2
  const cuts = ring.slice(1).flatMap(([x, y], i) => {
    const [px, py] = ring[i]
    return py > north !== y > north ? [px + ((north - py) * (x - px)) / (y - py)] : []
  }).sort((a, b) => a - b)
  const ways = cuts.flatMap((to, i) => (i % 2 ? [[cuts[i - 1], to]] : [])).sort((a, b) => b[1] - b[0] - a[1] + a[0])
  const first = page.locator('.offer').first()
  await page.mouse.click(...(await pixelOf(page, [(ways[0][0] + ways[0][1]) / 2, north])))
  await first.and(page.locator('[aria-pressed=true]')).waitFor()
  await settled(page)
  // So is its outline, also where it lies over what was surveyed.
  await first.click()
  await first.and(page.locator('[aria-pressed=false]')).waitFor()
  await settled(page)
  const [[x, y], [nextX, nextY]] = ring
  await page.mouse.click(...(await pixelOf(page, [(x + nextX) / 2, (y + nextY) / 2])))
  await first.and(page.locator('[aria-pressed=true]')).waitFor()
  await settled(page)
  const map = await page.locator('.map').boundingBox()
  await page.mouse.click(map.x + map.width - 70, map.y + 60)
  await panel.getByRole('heading', { name: 'What could be done here' }).waitFor()
  await button(panel, 'Measures').click()
  await button(panel, 'Suggest: Ragged native wood').click()
  await button(panel, 'Lay them').waitFor({ timeout: 2000 })
  assert.equal(await page.getByLabel('At most, hectares').inputValue(), '3')
  assert.ok(await button(panel, 'Lay them').isEnabled())
  await desk.edit({ do: 'add_option', name: 'Meanwhile' })
  await panel.getByText('The plan has changed since').waitFor()
  assert.ok(await button(panel, 'Lay them').isDisabled())
  await context.close()
})
