// What is asked after is left for where it was asked; what is spoken of keeps its number.
import assert from 'node:assert/strict'
import { test } from 'node:test'
import { room, settled } from './browser.mjs'
import { aside, square } from './desk.mjs'
import { at, furnish } from './scenes.mjs'
import { staged } from './staged.mjs'

const stage = staged(({ desk }) => furnish(desk))

test('a figure is left for where it was asked after, as far down as it was read', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?lek=L1&season=snowbound' }, about)
  await settled(page)
  const panel = page.locator('#panel')
  const figures = panel.locator('details', { hasText: 'Figures it stands on' })
  await figures.locator('summary').click()
  const figure = figures.getByRole('button').last()
  await figure.scrollIntoViewIfNeeded()
  const read = await panel.evaluate((e) => e.scrollTop)
  assert.ok(read > 100, `the panel is hardly scrolled: ${read}`)
  await figure.click()
  await page.getByRole('heading', { name: 'Where this comes from' }).waitFor()
  assert.equal(await panel.evaluate((e) => e.scrollTop), 0, 'a figure is read from its top')
  await page.getByRole('button', { name: 'Back', exact: true }).click()
  await page.getByRole('heading', { name: 'Where this comes from' }).waitFor({ state: 'detached' })
  await page.waitForFunction((read) => Math.abs(document.querySelector('#panel').scrollTop - read) < 2, read)
  await context.close()
})

test('a finding keeps its number while others come and go', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=1&panel=findings' }, about)
  await settled(page)
  const told = () => page.locator('#panel summary').evaluateAll((all) => Object.fromEntries(all.map((s) => [s.querySelector('bdi').textContent, s.querySelector('.mark').textContent])))
  const before = await told()
  assert.ok(Object.values(before).every((mark) => /^[MSN]\d+$/.test(mark)), JSON.stringify(before))
  const { ids: [other] } = await desk.edit({ do: 'put_measure', option: 1, kind: 'wood', geometry: square(382900, 548900, 240), facts: {} })
  await page.locator('#panel summary', { hasText: other }).first().waitFor()
  const after = await told()
  const kept = Object.keys(before).filter((what) => what in after)
  assert.ok(kept.length > 5 && Object.keys(after).length > kept.length, `${kept.length} of ${Object.keys(after).length}`)
  for (const what of kept) assert.equal(after[what], before[what], what)
  await desk.edit({ do: 'drop_measures', ids: [other] })
  await context.close()
})
