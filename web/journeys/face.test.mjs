// What every screen keeps to: nothing runs out of the window, no word of the command line, the year folded where nothing is asked of it,
// a key of what is drawn, and the holding's own ground before a neighbour's.
import assert from 'node:assert/strict'
import { test } from 'node:test'
import { room, settled, SIZES } from './browser.mjs'
import { aside } from './desk.mjs'
import { at, furnish, light, SCENES } from './scenes.mjs'
import { staged } from './staged.mjs'

const COMMAND_LINE = /--[a-z]|`|greyhen (desk|new|demo|import|check|assess|ahead|compare|suggest|works|handover)\b/

const stage = staged(({ desk }) => furnish(desk))

for (const [width, height] of SIZES) {
  test(`every screen keeps to a window of ${width} x ${height}, and to words of the page`, { skip: aside }, async () => {
    const { desk, browser, about } = stage
    const context = await room(browser, { viewport: { width, height } })
    const faults = []
    let page = null
    for (const [name, scene] of Object.entries(SCENES).filter(([, s]) => light(s) && !s.long)) {
      page = await at(context, desk, scene, about, page)
      const told = await page.evaluate(() => ({
        text: document.body.innerText,
        over: [document.documentElement.scrollWidth - innerWidth, document.documentElement.scrollHeight - innerHeight],
        dates: document.querySelectorAll('input[type=date], input[type=time]').length,
      }))
      if (told.over.some((px) => px > 0)) faults.push(`${name} runs out of the window by ${told.over}`)
      if (told.dates) faults.push(`${name} has a day in the browser's own language`)
      const said = told.text.match(COMMAND_LINE)
      if (said) faults.push(`${name} says ${told.text.slice(said.index - 30, said.index + 40)}`)
    }
    assert.deepEqual(faults, [])
    await context.close()
  })
}

for (const [width, height] of SIZES) {
  test(`the ground stands still while the pen moves, in a window of ${width} x ${height}`, { skip: aside }, async () => {
    const { desk, browser, about } = stage
    await desk.edit({ do: 'add_option', name: `Pen ${width}` })
    const option = (await desk.asks('/api/plan')).options.at(-1).number
    const context = await room(browser, { viewport: { width, height } })
    const page = await at(context, desk, { hash: `#ground?option=${option}&year=10&lek=L1&season=display&panel=measures` }, about)
    const map = page.locator('.map')
    // Near the ground, away from where the birds of the cell go.
    for (let i = 0; i < 2; i += 1) await page.getByRole('button', { name: 'Nearer' }).click()
    const stands = await map.boundingBox()
    const still = async (when) => assert.deepEqual(await map.boundingBox(), stands, `the ground moved ${when}`)
    await page.getByRole('button', { name: 'Draw: Ragged native wood' }).click()
    await still('as the pen was taken up')
    const corners = [[0.5, 0.35], [0.58, 0.35], [0.58, 0.5], [0.5, 0.5]].map(([x, y]) => [stands.x + x * stands.width, stands.y + y * stands.height])
    for (const [i, corner] of corners.entries()) {
      await page.mouse.move(...corner, { steps: 4 })
      await page.mouse.click(...corner)
      if (i >= 2) await page.locator('.when', { hasText: 'as drawn' }).waitFor()
      await still(`at corner ${i + 1}`)
    }
    await page.mouse.click(...corners[0])
    await page.locator('#year-sheet .moved').first().waitFor({ state: 'attached' })
    await still('as the outline was closed')
    const shown = await page.locator('.edges').innerHTML()
    await page.getByRole('button', { name: 'Lay it', exact: true }).click()
    await page.locator('#panel').getByRole('button', { name: 'Reshape' }).waitFor()
    await page.locator('.when', { hasText: 'in 10 years' }).waitFor()
    await settled(page)
    await still('as the wood was laid')
    assert.equal(await page.locator('.edges').innerHTML(), shown, 'other ground is shown as the wood was laid')
    await desk.edit({ do: 'drop_option', number: option })
    await context.close()
  })
}

test('outside Ground the year is one line, which opens and folds by keyboard', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, SCENES.works, about)
  const sheet = page.locator('#year-sheet')
  for (const name of ['Works', 'Birds', 'Hand-over', 'Survey']) {
    await page.getByRole('button', { name, exact: true }).click()
    await settled(page)
    assert.ok((await sheet.boundingBox()).height < 60, `${name}: the year takes more than a line`)
    assert.equal(await sheet.locator('.cell').count(), 0)
  }
  await page.getByRole('button', { name: 'Open the year sheet' }).focus()
  await page.keyboard.press('Enter')
  await sheet.locator('.cell').first().waitFor()
  // The focus stands on what undoes it.
  await page.keyboard.press('Enter')
  await sheet.locator('.cell').first().waitFor({ state: 'detached' })
  assert.match(await page.locator(':focus').innerText(), /Open the year sheet/)
  // A pinch told in the line leads to its ground.
  await sheet.locator('li button').first().click()
  await page.waitForURL(/#ground\?lek=/)
  await sheet.locator('.cell[aria-pressed=true]').waitFor()
  context.fair(new URL(desk.at).host)
  await context.close()
})

test('the key shows a sample of everything drawn, and of nothing else', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const read = async (scene, last) => {
    const page = await at(context, desk, scene, about)
    await page.locator('.key summary').click()
    // What comes last to the picture comes last to the key.
    await page.locator('.key li', { hasText: last }).first().waitFor()
    const samples = await page.locator('.key li').evaluateAll((all) => all.map((li) => {
      const canvas = li.querySelector('canvas')
      const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height)
      return { words: li.innerText, inked: data.some((v, i) => i % 4 === 3 && v > 0) }
    }))
    assert.deepEqual(samples.filter((s) => !s.inked), [], 'samples with nothing in them')
    await page.close()
    return samples.map((s) => s.words)
  }
  const asked = await read({ hash: '#ground?lek=L2&season=snowbound' }, 'what the season finds')
  for (const word of ['march (boundary)', 'fence', 'ditch', 'watercourse', 'wire or pipe', 'lek', 'as far as the birds go', 'ground that could mend it', 'the same, a neighbour’s']) assert.ok(asked.includes(word), `${word} is not in the key: ${asked}`)
  assert.ok(!asked.includes('measure laid') && !asked.includes('peat probe'), `what is not drawn is in the key: ${asked}`)
  const found = await read({ hash: '#ground?option=1&panel=findings' }, 'measure laid')
  for (const word of ['measure laid', 'a finding: must', 'a finding: should', 'a finding: consider']) assert.ok(found.includes(word), `${word} is not in the key: ${found}`)
  assert.ok(!found.includes('as far as the birds go'))
  await context.close()
})

test('ground that could mend a season: the holding’s own first, a neighbour’s after it and named as such', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?lek=L2&season=snowbound' }, about)
  const list = await page.locator('.mend').evaluateAll((all) => all.map((b) => ({ outside: Boolean(b.querySelector('.number.outside')), text: b.innerText })))
  const first = list.findIndex((m) => m.outside)
  assert.ok(first > 0, 'the demonstration has ground of both')
  assert.ok(list.slice(first).every((m) => m.outside && m.text.includes('a neighbour’s')), JSON.stringify(list))
  await page.locator('.number.outside').first().click()
  await page.locator('#panel').getByText('A neighbour’s ground').waitFor()
  await context.close()
})
