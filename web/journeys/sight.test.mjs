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
