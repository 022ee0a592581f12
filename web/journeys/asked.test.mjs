// What is asked after is left for where it was asked; what is spoken of keeps its number; Back leads through what was shown.
import assert from 'node:assert/strict'
import { test } from 'node:test'
import { addressOf, room, settled } from './browser.mjs'
import { aside, square } from './desk.mjs'
import { at, furnish } from './scenes.mjs'
import { staged } from './staged.mjs'

const stage = staged(({ desk }) => furnish(desk))

const back = (page) => page.getByRole('button', { name: 'Back', exact: true }).click()
/** What is shown, as the address tells it; how far down and how near is left out. */
function where(page) {
  const told = addressOf(page)
  told.delete('sight')
  return `${new URL(page.url()).hash.split('?')[0]}?${told}`
}
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
  // In a page that is loaded anew too, and the address of one opens that one.
  const of = after[Object.keys(after).find((what) => !(what in before))].slice(1)
  await page.goto(`${desk.at}/#ground?option=1&panel=findings&of=${of}`)
  const opened = page.locator('#panel details[open] summary bdi').first()
  const what = await opened.innerText()
  await page.reload()
  await opened.waitFor()
  assert.equal(await opened.innerText(), what)
  assert.deepEqual(await told(), after)
  // What the store holds may be anything.
  for (const held of ['', 'null', '{"1":2}', '[["x"]]', '[["demo.gpkg|1",[[1]]]]', '[[']) {
    await page.evaluate((held) => sessionStorage.setItem('greyhen.numbers', held), held)
    await page.reload()
    await page.locator('#panel summary', { hasText: other }).first().waitFor()
  }
  context.fair(new URL(desk.at).host)
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

test('the browser leads back through what was shown, a step for each press, and no step leads to what is no more', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=1' }, about)
  const panel = page.locator('#panel')
  const button = (name) => page.getByRole('button', { name, exact: true })
  const steps = () => page.evaluate(() => history.length)
  const shown = []
  const step = async (press, comes) => {
    await settled(page)
    shown.push(where(page))
    const before = await steps()
    await press()
    await page.waitForFunction((comes) => new RegExp(comes).test(location.hash), comes)
    await settled(page)
    assert.equal(await steps(), before + 1, `${comes}: ${await steps() - before} steps`)
  }
  const figures = panel.locator('details', { hasText: 'Figures it stands on' })
  await step(() => page.locator('.cell.pinch').first().click(), 'lek=')
  await figures.locator('summary').click()
  await step(() => figures.getByRole('button').last().click(), 'panel=explain')
  await step(() => button('Findings').click(), 'panel=findings')
  await step(() => panel.locator('summary').first().click(), 'of=')
  // The year and the sight go along, and are no steps.
  const before = await steps()
  await page.keyboard.press(']')
  await button('Nearer').click()
  await settled(page)
  assert.equal(await steps(), before)
  await step(() => button('Birds').click(), '^#birds')
  await step(() => page.locator('.option.now').click(), '^#birds(?!.*option)')
  // What the page makes of a press is of the same step.
  await step(() => button('Compare').click(), 'panel=compare')
  await step(() => page.keyboard.press('3'), '^#birds')
  assert.doesNotMatch(where(page), /compare/)
  // An option that another window takes out is let go, and no step leads to it.
  await desk.edit({ do: 'add_option', name: 'Soon gone' })
  const { number } = (await desk.asks('/api/plan')).options.find((o) => o.name === 'Soon gone')
  await step(() => page.locator('.option', { hasText: 'Soon gone' }).click(), `option=${number}`)
  await desk.edit({ do: 'drop_option', number })
  await page.waitForFunction(() => !location.hash.includes('option='))
  const [end, most] = [where(page), await steps()]
  // The step to it now shows what stood before it: Back goes over it.
  assert.equal(shown.pop(), end)
  for (const there of shown.toReversed()) {
    await page.goBack()
    await settled(page)
    assert.equal(where(page), there)
    if (there.includes('explain')) await explained(page).waitFor()
    if (there.startsWith('#birds')) await page.locator('.map').waitFor({ state: 'detached' })
  }
  // There and back again; and a figure come to by Forward is left for where it was asked after.
  for (const there of [...shown.slice(1), end]) {
    await page.goForward()
    await settled(page)
    assert.equal(where(page), there)
  }
  assert.equal(await steps(), most, 'going to and fro makes steps')
  await page.evaluate((by) => history.go(by), 2 - shown.length)
  await explained(page).waitFor()
  await back(page)
  await panel.locator('.said').waitFor()
  context.fair(new URL(desk.at).host)
  await context.close()
})

test('whichever way a figure is left, the focus is on what it was asked from; after a reload as well', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=1&panel=measure&of=MEASURE' }, about)
  const panel = page.locator('#panel')
  const figures = panel.locator('details', { hasText: 'stands on' }).first()
  await figures.locator('summary').click()
  const figure = figures.getByRole('button').last()
  const words = await figure.innerText()
  const ways = {
    'its Back': () => back(page),
    Escape: () => page.keyboard.press('Escape'),
    'the Back of the browser': () => page.goBack(),
    'its Back after a reload': async () => {
      await page.reload()
      await explained(page).waitFor()
      await settled(page)
      await back(page)
    },
  }
  for (const [way, leave] of Object.entries(ways)) {
    await figure.press('Enter')
    await explained(page).waitFor()
    await leave()
    await explained(page).waitFor({ state: 'detached' })
    await settled(page)
    assert.equal(addressOf(page).get('panel'), 'measure', way)
    assert.equal(await page.locator(':focus').innerText(), words, `left by ${way}`)
  }
  // Asked from nothing, the panel has it.
  await page.goto(`${desk.at}/#ground?panel=explain&of=reach.brood_m`)
  await explained(page).waitFor()
  await page.keyboard.press('Escape')
  await panel.getByRole('heading', { name: 'Which season is short?' }).waitFor()
  assert.equal(await page.evaluate(() => document.activeElement.id), 'panel')
  context.fair(new URL(desk.at).host)
  await context.close()
})

test('what the address tells and is not there is let go, and the address tells what is shown', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=1' }, about)
  const nonsense = {
    '#nowhere?option=1': '#ground?option=1',
    '#ground?option=77': '#ground',
    '#ground?option=-1&year=3': '#ground?year=3',
    '#ground?lek=L1&season=summer_hols': '#ground?lek=L1',
    '#ground?lek=nobody&season=brood': '#ground',
    '#ground?panel=toString': '#ground',
    '#ground?panel=explain': '#ground',
    '#ground?panel=search&of=rest': '#ground?panel=search',
    '#works?option=1&panel=compare': '#works?option=1',
    '#ground?option=1&panel=findings&of=9999': '#ground?option=1&panel=findings',
    '#ground?option=1&panel=findings&of=9999,1': '#ground?option=1&panel=findings&of=1',
    '#ground?panel=draw': '#ground?panel=measures',
  }
  for (const [hash, tells] of Object.entries(nonsense)) {
    // Gone to in a page that is open, and by one loaded anew.
    await page.goto(`${desk.at}/${hash}`)
    const anew = await at(context, desk, { hash }, about)
    for (const there of [page, anew])
      await there.waitForFunction((tells) => location.hash.replace(/(\?|&)sight=[^&]*/, '') === tells, tells).catch(() => assert.equal(there.url(), tells, hash))
    await anew.close()
  }
  // No more is a picture of nowhere: on arriving the whole plan is shown, later what was.
  const { extent: [west, south, east, north] } = await desk.asks('/api/plan')
  const sight = (page) => addressOf(page).get('sight')?.split(',').map(Number) ?? []
  for (const far of ['9999999,9999999,2', `${west},${south},100000`, '382400,548000,0.000001']) {
    await page.goto(`${desk.at}/#ground?option=1&sight=382400.0,548000.0,4.000`)
    await page.waitForFunction(() => /sight=382400.0,548000.0,4.000/.test(location.hash))
    await settled(page)
    for (const there of [page, await at(context, desk, { hash: `#ground?option=1&sight=${far}` }, about)]) {
      if (there === page) await page.goto(`${desk.at}/#ground?option=1&sight=${far}`)
      await there.waitForFunction((far) => /sight=/.test(location.hash) && !location.hash.includes(far), far)
      await settled(there)
      const [x, y, metresPerPixel] = sight(there)
      assert.ok(x > west && x < east && y > south && y < north && metresPerPixel >= 0.25 && metresPerPixel < 50, `${far}: ${sight(there)}`)
      if (there !== page) await there.close()
    }
  }
  await context.close()
})

test('what was pressed and is gone leaves the focus in the panel; a page that opens takes none', { skip: aside }, async () => {
  const { desk, browser, about } = stage
  const context = await room(browser)
  const page = await at(context, desk, { hash: '#ground?option=1&year=10&panel=measures' }, about)
  const panel = page.locator('#panel')
  const focused = () => page.evaluate(() => (document.activeElement?.closest('#panel') ? 'panel' : document.activeElement?.tagName))
  assert.equal(await focused(), 'BODY')
  for (const [press, comes] of [['Draw: Ragged native wood', /^Draw:/], ['Give it up', /^Measures/], ['Suggest: Ragged native wood', /^Suggest:/]]) {
    await panel.getByRole('button', { name: press, exact: true }).press('Enter')
    await panel.getByRole('heading', { name: comes, level: 2 }).waitFor()
    assert.equal(await focused(), 'panel', press)
  }
  context.fair(new URL(desk.at).host)
  await context.close()
})
