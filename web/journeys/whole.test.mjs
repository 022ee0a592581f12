// The whole job on one page, from the pinch to the hand-over, taken back and found again after a reload.
import assert from 'node:assert/strict'
import { test } from 'node:test'
import { accessible } from './axe.mjs'
import { addressOf, open, room, settled } from './browser.mjs'
import { aside } from './desk.mjs'
import { pixelOf } from './ground.mjs'
import { suggestSmall } from './scenes.mjs'
import { staged } from './staged.mjs'

const stage = staged()

test('the whole job is done on one page', { skip: aside }, async (t) => {
  const { desk, browser } = stage
  const context = await room(browser)
  const page = await open(context, desk)
  const panel = page.locator('#panel')
  const sheet = page.locator('#year-sheet')
  const button = (name, within = page) => within.getByRole('button', { name, exact: true })
  const cell = (row, column) => page.locator(`[data-at='${row}.${column}'] button`)
  const bySheet = async () => {
    await settled(page)
    return sheet.innerText()
  }
  const told = (what) => t.diagnostic(what)

  await page.locator('.cell.pinch').first().click()
  await panel.locator('.said').waitFor()
  const why = await panel.locator('.said').innerText()
  assert.match(why, /short in \d+ of 200 draws/)
  assert.ok(await panel.locator('.mend').count(), 'no ground is named that could mend it')

  // Usable ground stands on many figures, which are listed; the need on one.
  await panel.locator('.figure').first().click()
  await panel.locator('details[open] .word').first().click()
  await panel.getByRole('heading', { name: 'Where this comes from' }).waitFor()
  await panel.getByText('Source').first().waitFor()

  await button('New option').click()
  await page.locator('#option-name').fill('Trees at the edge')
  await page.locator('#option-name').press('Enter')
  await page.locator(`.option[aria-pressed='true']`, { hasText: 'Trees at the edge' }).waitFor()

  // At a year in which what is planned stands.
  await page.locator('#years').focus()
  for (let i = 0; i < 2; i += 1) await page.keyboard.press('PageUp')
  await page.locator('.when', { hasText: 'in 10 years' }).waitFor()
  const bare = await bySheet()

  await button('Measures').click()
  await button('Suggest: Ragged native wood').click()
  await suggestSmall(page)
  await accessible(page, 'on a wood put forward')
  // That the plan changes by what is laid is not told as if something had gone wrong.
  await page.evaluate(() => {
    new MutationObserver(() => (globalThis.doubted ||= document.body.innerText.includes('has changed since'))).observe(document.body, { subtree: true, childList: true })
  })
  await button('Lay them').click()
  const laid = panel.locator('.list-button').first()
  await laid.waitFor()
  assert.ok(!(await page.evaluate(() => globalThis.doubted)), 'what was just laid is told to be out of date')
  told('a wood is suggested and laid')

  await laid.click()
  await button('Show it on the ground').click()
  await settled(page)

  // Another is drawn there, a square, and a corner of it dragged.
  await button('Measures').click()
  await button('Draw: Ragged native wood').click()
  await page.getByLabel('Side, m').fill('240')
  await button('Begin with a square in the middle of the picture').click()
  await page.locator('.when', { hasText: 'as drawn' }).waitFor()
  await button('Lay it').click()
  await button('Show it on the ground').click()
  await settled(page)
  const id = addressOf(page).get('of')
  const drawn = async () => (await desk.asks('/api/measures?option=1')).find((m) => m.id === id)
  const measure = await drawn()
  await button('Reshape').click()
  await settled(page)

  // A corner is dragged a hundred pixels away from the middle of the wood.
  const [corner, out] = await farthestCorner(page, measure.geometry)
  const seen = [corner[0] + out[0] * 100, corner[1] + out[1] * 100]
  await page.mouse.move(...corner)
  await page.mouse.down()
  for (let i = 1; i <= 10; i += 1) await page.mouse.move(corner[0] + out[0] * 10 * i, corner[1] + out[1] * 10 * i)
  await page.locator('.when', { hasText: 'as drawn' }).waitFor()
  await page.locator('#year-sheet .moved').first().waitFor({ state: 'attached' })
  await page.mouse.move(...seen)
  await page.mouse.up()
  await accessible(page, 'while a measure is under the pen')
  await button('Lay it as it is now').click()
  await button('Reshape', panel).waitFor()
  await page.locator('.when', { hasText: 'in 10 years' }).waitFor()
  const dragged = await drawn()
  assert.ok(dragged.area_ha > measure.area_ha, `dragged out, the wood has ${dragged.area_ha} ha and had ${measure.area_ha}`)
  const after = await bySheet()
  assert.ok(after !== bare, 'the year sheet says the same with the wood and without')
  told(`dragged from ${measure.area_ha.toFixed(2)} to ${dragged.area_ha.toFixed(2)} ha`)

  await page.locator('#years').focus()
  for (let i = 0; i < 2; i += 1) await page.keyboard.press('PageUp')
  await page.locator('.when', { hasText: 'in 20 years' }).waitFor()
  assert.ok((await bySheet()) !== after, 'year 20 looks as year 10')
  await cell(0, 6).click()
  await panel.locator('.said').waitFor()

  // A second option, with nothing in it, to be read beside the first.
  await button('New option').click()
  await page.locator('#option-name').fill('Leave it')
  // Pressed twice, it is made once, and what is pressed then takes nothing out.
  await page.locator('form .slab', { hasText: 'New option' }).dblclick()
  await page.locator(`.option[aria-pressed='true']`, { hasText: 'Leave it' }).waitFor()
  await settled(page)
  assert.equal(await page.locator('.option', { hasText: 'Leave it' }).count(), 1)
  assert.equal(await page.locator('.told.gone').count(), 0, 'the second press is told as a fault')
  assert.ok(!(await button('Take the option out').evaluate((b) => b.matches(':hover'))), 'the pointer was left on what takes the option out')
  await page.locator('.option', { hasText: 'Trees at the edge' }).click()
  await button('Compare').click()
  await page.locator('#beside').selectOption('2')
  await panel.locator('.verdict').first().waitFor()
  assert.match(await panel.innerText(), /surely better|not told apart/)
  await settled(page)
  await accessible(page, 'on two options beside each other')
  await page.reload()
  await panel.locator('.verdict').first().waitFor()
  assert.equal(await page.locator('#beside').inputValue(), '2', 'after a reload another option is beside')
  told('compared, and found again')

  await button('Works').click()
  await page.locator('.board .task').first().click()
  await panel.getByRole('heading').first().waitFor()
  assert.ok((await page.locator('.board .task').count()) > 3, 'the works of a wood are more than three')
  await settled(page)
  await accessible(page, 'on the works board')
  told('works looked at')

  await button('Hand-over').click()
  await button('Write the hand-over').click()
  await button('Keep them').waitFor()
  const files = await page.locator('main .sheet .file strong').allInnerTexts()
  assert.ok(files.length >= 5, `written: ${files}`)
  for (const name of ['.gpkg', '.xlsx', '.ics']) assert.ok(files.some((file) => file.endsWith(name)), `no ${name} among ${files}`)
  const [download] = await Promise.all([page.waitForEvent('download'), page.locator('main .sheet a[download]').first().click()])
  assert.equal(await download.failure(), null)
  await settled(page)
  await accessible(page, 'on a hand-over that is written')
  told(`handed over: ${files.join(', ')}`)

  // Taken back: the second option is gone, the first and its woods stay.
  const planned = (await desk.asks('/api/measures?option=1')).length
  await page.locator('.acts button').first().click()
  await page.locator('.told.said', { hasText: /taken? back/i }).waitFor()
  await settled(page)
  assert.equal(await page.locator('.option', { hasText: 'Leave it' }).count(), 0)
  assert.equal((await desk.asks('/api/measures?option=1')).length, planned)

  await button('Ground').click()
  await settled(page)
  const at = page.url()
  const shown = await bySheet()
  await page.reload()
  await page.locator('#year-sheet table').waitFor()
  assert.equal(page.url(), at)
  await page.locator(`.option[aria-pressed='true']`, { hasText: 'Trees at the edge' }).waitFor()
  assert.equal(await bySheet(), shown, 'after a reload the year sheet is another')
  assert.deepEqual((await drawn()).geometry, dragged.geometry)

  context.fair(new URL(desk.at).host)
  await context.close()
})

/** The corner of a shape that is farthest from its middle, as a place in the window, and the way that leads out from there. */
async function farthestCorner(page, geometry) {
  const corners = geometry.coordinates.flat(geometry.type === 'MultiPolygon' ? 2 : 1)
  const middle = [0, 1].map((axis) => corners.reduce((sum, c) => sum + c[axis], 0) / corners.length)
  const far = (c) => Math.hypot(c[0] - middle[0], c[1] - middle[1])
  const corner = corners.reduce((most, c) => (far(c) > far(most) ? c : most))
  return [await pixelOf(page, corner), [(corner[0] - middle[0]) / far(corner), -(corner[1] - middle[1]) / far(corner)]]
}
