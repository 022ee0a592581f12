// What is asked after is left for where it was asked; what is spoken of keeps its number.
import assert from 'node:assert/strict'
import { test } from 'node:test'
import { addressOf, room, settled } from './browser.mjs'
import { aside, square } from './desk.mjs'
import { at, furnish } from './scenes.mjs'
import { staged } from './staged.mjs'

const stage = staged(({ desk }) => furnish(desk))

const back = (page) => page.getByRole('button', { name: 'Back', exact: true }).click()
const explained = (page) => page.getByRole('heading', { name: 'Where this comes from' })

test('a figure is left for where it was asked after, as far down as it was read', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?lek=L1&season=snowbound' }, about)
  const panel = page.locator('#panel')
  const figures = panel.locator('details', { hasText: 'Figures it stands on' })
  await figures.locator('summary').click()
  const figure = figures.getByRole('button').last()
  await figure.scrollIntoViewIfNeeded()
  const read = await panel.evaluate((e) => e.scrollTop)
  assert.ok(read > 100, `the panel is hardly scrolled: ${read}`)
  await figure.click()
  await explained(page).waitFor()
  assert.equal(await panel.evaluate((e) => e.scrollTop), 0, 'a figure is read from its top')
  await back(page)
  await explained(page).waitFor({ state: 'detached' })
  await page.waitForFunction((read) => Math.abs(document.querySelector('#panel').scrollTop - read) < 2, read)
  await context.close()
})

test('a finding keeps its number while others come and go', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=1&panel=findings' }, about)
  const told = () => page.locator('#panel summary').evaluateAll((all) => Object.fromEntries(all.map((s) => [s.querySelector('bdi').textContent, s.querySelector('.mark').textContent])))
  const before = await told()
  assert.ok(Object.values(before).every((mark) => /^[MSC]\d+$/.test(mark)), JSON.stringify(before))
  const { ids: [other] } = await desk.edit({ do: 'put_measure', option: 1, kind: 'wood', geometry: square(382900, 548900, 240), facts: {} })
  await page.locator('#panel summary', { hasText: other }).first().waitFor()
  const after = await told()
  const kept = Object.keys(before).filter((what) => what in after)
  assert.ok(kept.length > 5 && Object.keys(after).length > kept.length, `${kept.length} of ${Object.keys(after).length}`)
  for (const what of kept) assert.equal(after[what], before[what], what)
  await desk.edit({ do: 'drop_measures', ids: [other] })
  await context.close()
})

test('what was open is open still when a figure is left, and is marked as where it was asked from', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=1&panel=measure&of=MEASURE' }, about)
  const panel = page.locator('#panel')
  const cards = panel.locator('details:has(summary .mark)')
  await cards.last().waitFor()
  await cards.last().locator('summary').click()
  const rule = cards.last().getByRole('button', { name: 'The rule' })
  await rule.scrollIntoViewIfNeeded()
  const read = await panel.evaluate((e) => e.scrollTop)
  await rule.click()
  await explained(page).waitFor()
  assert.equal(await panel.locator('nav [aria-current]').innerText(), 'Measures')
  await back(page)
  await rule.waitFor()
  assert.ok(Math.abs((await panel.evaluate((e) => e.scrollTop)) - read) < 2)
  // Of the findings the one opened, though it is half out of sight.
  await page.goto(`${desk.at}/#ground?option=1&panel=findings`)
  const all = panel.locator('details:has(summary .mark)')
  await all.last().waitFor()
  await all.last().locator('summary').click()
  const last = all.last().getByRole('button', { name: 'The rule' })
  await last.scrollIntoViewIfNeeded()
  const down = await panel.evaluate((e) => (e.scrollTop -= 60) && e.scrollTop)
  await last.evaluate((b) => b.click())
  await explained(page).waitFor()
  assert.equal(await panel.locator('nav [aria-current]').innerText(), 'Findings')
  await back(page)
  await last.waitFor()
  await settled(page)
  assert.ok(Math.abs((await panel.evaluate((e) => e.scrollTop)) - down) < 2, 'the findings were moved')
  await context.close()
})

test('a task is not come back to in another room, nor anything of an address that was left', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#works?option=1' }, about)
  const panel = page.locator('#panel')
  await page.locator('.board .task').first().click()
  await panel.getByText('Figures it stands on').click()
  await panel.locator('details[open] .word').first().click()
  await explained(page).waitFor()
  await page.keyboard.press('1')
  await back(page)
  await panel.getByRole('heading', { name: 'Which season is short?' }).waitFor()
  await page.goto(`${desk.at}/#ground?option=1&panel=measures`)
  await page.locator('[data-kind=wood]').waitFor()
  await page.goto(`${desk.at}/#ground?panel=explain&of=reach.brood_m`)
  await explained(page).waitFor()
  await back(page)
  await panel.getByRole('heading', { name: 'Which season is short?' }).waitFor()
  await context.close()
})

test('back at a piece of ground the picture stands as it was left', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=1&lek=L1&season=snowbound' }, about)
  const panel = page.locator('#panel')
  await panel.locator('.mend').first().click()
  await panel.getByRole('heading', { name: 'What could be done here' }).waitFor()
  await settled(page)
  await page.getByRole('button', { name: 'Farther', exact: true }).click()
  await page.waitForTimeout(400)
  const sight = () => addressOf(page).get('sight')
  const left = sight()
  await page.keyboard.press('3')
  await page.locator('.map').waitFor({ state: 'detached' })
  await page.keyboard.press('1')
  await panel.getByRole('heading', { name: 'What could be done here' }).waitFor()
  await settled(page)
  await page.waitForTimeout(500)
  assert.equal(sight(), left)
  // Chosen anew it is brought into the picture.
  await panel.locator('.back').click()
  await panel.locator('.mend').first().click()
  await page.waitForFunction((left) => !location.hash.includes(`sight=${left}`), left)
  await context.close()
})

test('the finding that is open stays open while others come and go before it', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=1&panel=findings' }, about)
  const cards = page.locator('#panel [data-finding] details')
  await cards.last().waitFor()
  await cards.last().locator('summary').click()
  const opened = () => page.locator('#panel details[open] summary bdi').first().innerText()
  const [what, number] = [await opened(), addressOf(page).get('of')]
  const many = await cards.count()
  const { ids: [other] } = await desk.edit({ do: 'put_measure', option: 1, kind: 'wood', geometry: square(382900, 548900, 240), facts: {} })
  await page.locator('#panel summary', { hasText: other }).first().waitFor()
  assert.ok((await cards.count()) > many)
  assert.equal(await page.locator('#panel details[open]').count(), 1)
  assert.equal(await opened(), what)
  assert.equal(addressOf(page).get('of'), number)
  await desk.edit({ do: 'drop_measures', ids: [other] })
  await context.close()
})
