// The first guided task, by keyboard alone: help is opened, the pinch found and asked why, and ground that could mend it looked at.
import assert from 'node:assert/strict'
import { test } from 'node:test'
import { open, room, settled } from './browser.mjs'
import { aside } from './desk.mjs'
import { staged } from './staged.mjs'

const stage = staged()

test('the first task is done by keyboard alone', { skip: aside }, async () => {
  const { desk, browser } = stage
  const context = await room(browser)
  const page = await open(context, desk)
  const panel = page.locator('#panel')
  const focus = page.locator(':focus')
  // Not one press of a pointer reaches the page.
  await page.evaluate(() => {
    globalThis.presses = 0
    addEventListener('pointerdown', () => (globalThis.presses += 1), true)
  })

  /** Press a key, and see where that leads. */
  const press = async (key) => {
    await page.keyboard.press(key)
    await seen(page, key)
  }
  /** Go on by Tab until something has the focus. */
  const tabTo = async (what, most = 60) => {
    for (let i = 0; i < most; i += 1) {
      if (await what.evaluateAll((all) => all.includes(document.activeElement))) return
      await press('Tab')
    }
    assert.fail(`Tab does not lead to ${what} within ${most} steps; it stands on ${await focus.evaluate((e) => e.outerHTML.slice(0, 200))}`)
  }

  // Help, and its first task.
  await tabTo(page.getByRole('button', { name: 'Help', exact: true }))
  await page.keyboard.press('Enter')
  const task = panel.locator('details', { hasText: 'See the pinch, and why' })
  await task.waitFor()
  assert.equal(await task.locator('li.done').count(), 0)

  // Back to the start, and by the skip link into the year sheet: the cell that is marked pinch.
  await page.evaluate(() => document.activeElement?.blur())
  const skip = page.getByRole('link', { name: 'Skip to the year sheet' })
  for (let i = 0; i < 4 && !(await skip.evaluate((link) => link === document.activeElement)); i += 1) await page.keyboard.press('Shift+Tab')
  if (!(await skip.evaluate((link) => link === document.activeElement))) await tabTo(skip)
  await seen(page, 'the skip link')
  await page.keyboard.press('Enter')
  await tabTo(page.locator('#year-sheet .cell'), 3)
  const pinch = page.locator('#year-sheet tbody tr').first().locator('.cell.pinch')
  for (let i = 0; i < 7 && !(await pinch.evaluate((cell) => cell === document.activeElement)); i += 1) await press('ArrowRight')
  for (let i = 0; i < 7 && !(await pinch.evaluate((cell) => cell === document.activeElement)); i += 1) await press('ArrowLeft')
  assert.ok(await pinch.evaluate((cell) => cell === document.activeElement), 'arrows do not lead to the pinch')
  await page.keyboard.press('Enter')
  await panel.locator('.said').waitFor()
  await settled(page)
  assert.equal(await pinch.getAttribute('aria-pressed'), 'true')

  // The side panel says why; a numbered piece of ground is opened.
  await tabTo(panel.locator('.mend').first(), 80)
  await page.keyboard.press('Enter')
  await page.waitForURL(/panel=feature/)
  await settled(page)
  assert.match(await panel.getByRole('heading').first().innerText(), /\w/)
  // What was pressed is gone, and the focus is where the answer is, not at the start of the page.
  await press('Tab')
  assert.ok(await focus.evaluate((e) => document.querySelector('#panel').contains(e)), `Tab goes on from the side panel, not from ${await focus.evaluate((e) => e.outerHTML.slice(0, 120))}`)

  // Help has ticked every step of the task.
  await page.keyboard.press('?')
  await panel.getByRole('heading', { name: 'Keys' }).waitFor()
  await tabTo(page.getByRole('button', { name: 'Help', exact: true }), 90)
  await page.keyboard.press('Enter')
  await task.waitFor()
  assert.equal(await task.locator('li.done').count(), 3, await panel.innerText())

  // Years by keys, and Escape leads back.
  await page.keyboard.press(']')
  await page.locator('.when', { hasText: 'in 1 year' }).waitFor()
  await page.keyboard.press('[')
  await page.locator('.when', { hasText: 'as surveyed' }).waitFor()
  await page.keyboard.press('Escape')
  await panel.locator('.said').waitFor()

  assert.equal(await page.evaluate(() => globalThis.presses), 0)
  context.fair(new URL(desk.at).host)
  await context.close()
})

/** What has the focus is in the window, and marked. */
async function seen(page, after) {
  const told = await page.locator(':focus').evaluateAll(([e]) => {
    if (!e) return null
    const at = e.getBoundingClientRect()
    const look = getComputedStyle(e)
    return {
      what: e.outerHTML.slice(0, 120),
      marked: (look.outlineStyle !== 'none' && parseFloat(look.outlineWidth) >= 2 && look.outlineColor !== look.backgroundColor) || e.matches('.skip'),
      there: at.width > 0 && at.height > 0 && at.right > 0 && at.bottom > 0 && at.left < innerWidth && at.top < innerHeight,
    }
  })
  if (!told) return
  assert.ok(told.marked, `after ${after} the focus cannot be seen on ${told.what}`)
  assert.ok(told.there, `after ${after} the focus is out of sight on ${told.what}`)
}
