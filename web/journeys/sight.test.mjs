// What comes by itself comes into sight, and nothing moves under the hand.
import assert from 'node:assert/strict'
import { test } from 'node:test'
import { room, settled, SIZES } from './browser.mjs'
import { aside } from './desk.mjs'
import { at, furnish } from './scenes.mjs'
import { staged } from './staged.mjs'

const stage = staged(async ({ desk }) => {
  const about = await furnish(desk)
  await desk.edit({ do: 'add_option', name: 'Nothing yet' })
  return about
})

/** Whether all of what a selector finds is in the window, and in what scrolls about it. */
const whole = (page, selector) => page.evaluate((selector) => {
  const e = document.querySelector(selector)
  const at = e.getBoundingClientRect()
  const inside = (box) => at.top >= box.top - 0.5 && at.bottom <= box.bottom + 0.5 && at.left >= box.left - 0.5 && at.right <= box.right + 0.5
  if (!inside({ top: 0, left: 0, bottom: innerHeight, right: innerWidth })) return false
  for (let up = e.parentElement; up; up = up.parentElement) if (/auto|scroll|hidden/.test(getComputedStyle(up).overflowY) && !inside(up.getBoundingClientRect())) return false
  return true
}, selector)

/** Where the button to stop stands for as long as it does, at most so long. */
const stands = (page, ms) => page.evaluate(async (ms) => {
  const tops = []
  for (const end = performance.now() + ms; performance.now() < end; await new Promise(requestAnimationFrame)) {
    const stop = document.querySelector('.job button')
    if (!stop) break
    tops.push(Math.round(stop.getBoundingClientRect().top))
  }
  return [...new Set(tops)]
}, ms)

/** What can be asked for and takes long. */
const LONG = [
  ['#ground?option=2&panel=suggest&of=wood', async (page) => {
    await page.getByLabel('How long to look, seconds').fill('60')
    await page.locator('#panel').getByRole('button', { name: 'Suggest', exact: true }).click()
  }],
  ['#ground?option=1&panel=spend', (page) => page.getByRole('button', { name: 'Weigh it' }).click()],
  ['#birds?option=1', (page) => page.getByRole('button', { name: /^Work out numbers ahead/ }).click()],
  ['#handover?option=1', (page) => page.getByRole('button', { name: 'Write the hand-over' }).click()],
]

for (const [width, height] of SIZES) {
  test(`what works can be stopped without looking for it, in a window of ${width} x ${height}`, { skip: aside }, async () => {
    const { desk, browser, about } = stage
    const context = await room(browser, { viewport: { width, height } })
    for (const [hash, ask] of LONG) {
      const page = await at(context, desk, { hash }, about)
      await ask(page)
      await page.locator('.job button:enabled').waitFor()
      assert.ok(await whole(page, '.job button'), `${hash}: Stop is out of sight`)
      assert.equal((await stands(page, 1500)).length, 1, `${hash}: Stop moves`)
      // What was quick has been answered.
      await page.evaluate(() => document.querySelector('.job button')?.click())
      await page.locator('.job').waitFor({ state: 'detached' })
      await page.close()
    }
    await context.close()
  })
}

for (const [width, height] of SIZES) {
  test(`nothing moves under the hand as an option is made, in a window of ${width} x ${height}`, { skip: aside }, async () => {
    const { desk, browser, about } = stage
    const context = await room(browser, { viewport: { width, height } })
    const page = await at(context, desk, { hash: '#ground?option=1&panel=measures' }, about)
    // What the option holds is long in coming.
    let read
    const held = new Promise((yes) => (read = yes))
    await page.route('**/api/measures?*', (route) => (route.request().url().endsWith('option=1') ? route.continue() : held.then(() => route.continue()).catch(() => {})))
    const places = () => page.evaluate(() => ['.strip .acts .word', '#year-sheet', '.map', '#panel h3'].map((of) => Math.round(document.querySelector(`.desk ${of}`).getBoundingClientRect().top)))
    await page.getByRole('button', { name: 'New option' }).click()
    await page.locator('#option-name').fill(`Wide ${width} and a name as long as people give`)
    const sheet = (await page.locator('#year-sheet').boundingBox()).y
    await page.locator('#option-name').press('Enter')
    await page.locator('.option[aria-pressed=true]', { hasText: `Wide ${width}` }).waitFor()
    await page.locator('#panel').getByText('Reading the measures…').waitFor()
    const before = await places()
    read()
    await page.locator('#panel').getByText('Nothing is laid yet').waitFor()
    await settled(page)
    assert.deepEqual(await places(), before, 'something moved as the option was read')
    assert.equal((await page.locator('#year-sheet').boundingBox()).y, sheet, 'the sheet moved as the option was made')
    assert.ok(await whole(page, '.option[aria-pressed=true]'), 'the option made is out of sight')
    await context.close()
  })

  test(`every visit is read without a slit, in a window of ${width} x ${height}`, { skip: aside }, async () => {
    const { desk, browser, about } = stage
    const context = await room(browser, { viewport: { width, height } })
    const page = await at(context, desk, { hash: '#birds' }, about)
    await page.getByText(/^Every visit/).click()
    const told = await page.locator('main table:has(button)').evaluate((table) => ({
      slit: table.parentElement.scrollHeight - table.parentElement.clientHeight,
      lines: [...table.querySelectorAll('button')].map((b) => b.getClientRects().length && Math.round(b.getBoundingClientRect().height / 21)),
    }))
    assert.ok(told.slit <= 1, `the list is ${told.slit} px higher than what it is seen through`)
    assert.ok(told.lines.length > 20 && told.lines.every((n) => n === 1), `buttons of ${[...new Set(told.lines)]} lines`)
    await context.close()
  })

  test(`the opened key leaves the title of the ground clear, in a window of ${width} x ${height}`, { skip: aside }, async () => {
    const { desk, browser, about } = stage
    const context = await room(browser, { viewport: { width, height } })
    const page = await at(context, desk, { hash: '#ground?option=1&lek=L2&season=snowbound' }, about)
    await page.locator('.key summary').click()
    await page.locator('.key li').first().waitFor()
    const [title, key] = [await page.locator('.ground .asked').boundingBox(), await page.locator('.key').boundingBox()]
    assert.ok(key.y >= title.y + title.height, `the key begins at ${key.y}, the title ends at ${title.y + title.height}`)
    await context.close()
  })

  test(`what is refused comes into sight, in a window of ${width} x ${height}`, { skip: aside }, async () => {
    const { desk, browser, about } = stage
    const context = await room(browser, { viewport: { width, height } })
    const page = await at(context, desk, { hash: '#survey' }, about)
    // A file that says nothing of what is needed.
    const named = (name, text) => ({ name, mimeType: 'text/plain', buffer: Buffer.from(text) })
    await page.locator('#source').setInputFiles(named('counts.csv', `a,b\n${'1,2\n'.repeat(40)}`))
    await page.locator('.faults').waitFor()
    assert.ok(await headInSight(page), 'faults of a file are out of sight')
    await page.locator('.epsg').fill('277')
    await page.locator('.epsg').blur()
    await page.getByText('An EPSG number has four to six figures').waitFor()
    assert.equal(await page.locator('.epsg').getAttribute('aria-invalid'), 'true')
    await page.getByRole('button', { name: 'New plan' }).click()
    await page.getByLabel('Name of the holding').fill('Nowhere (invented)')
    await page.locator('#plan-boundary').setInputFiles(named('march.geojson', '{"type":"FeatureCollection","features":[]}'))
    await page.locator('#plan-heights').setInputFiles(named('heights.asc', 'ncols 0'))
    await page.getByRole('button', { name: 'Make the plan' }).click()
    await page.locator('form > .faults').waitFor()
    assert.ok(await headInSight(page), 'faults of a new plan are out of sight')
    const told = await page.locator('form > .faults li').allInnerTexts()
    for (const file of ['march.geojson', 'heights.asc']) assert.ok(told.some((line) => line.startsWith(file)), `${file} is not among what is wrong: ${told.join(' | ')}`)
    assert.doesNotMatch(told.join(), /at:|hint:|found [^·]* needed/)
    // What is put right is not told of any more; what is no outline is not begun with.
    await page.locator('#plan-boundary').setInputFiles(named('march.pdf', '%PDF-1.4'))
    await page.getByText('The file chosen for the boundary was not recognised').waitFor()
    assert.equal(await page.locator('form > .faults').count(), 0)
    assert.ok(await page.getByRole('button', { name: 'Make the plan' }).isDisabled())
    await page.getByRole('button', { name: /^Leave it out ?: heights.asc/ }).click()
    assert.equal(await page.locator('.choose', { hasText: 'heights.asc' }).count(), 0)
    await context.close()
  })
}

/** Whether faults begin in the window and are in it as far as they go, or fill it. */
const headInSight = (page) => page.locator('main .faults').first().evaluate((e) => {
  const [at, main] = [e.getBoundingClientRect(), document.querySelector('main').getBoundingClientRect()]
  return at.top >= main.top - 0.5 && at.top < main.bottom - 40 && (at.bottom <= main.bottom + 0.5 || at.height > main.height - 30)
})
