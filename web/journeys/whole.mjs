// The whole job on the demonstration holding: DESK_URL=(the address the desk printed) node journeys/whole.mjs
import assert from 'node:assert/strict'
import { DESK, launch, settled } from './browser.mjs'

const browser = await launch()
const context = await browser.newContext({ viewport: { width: 1280, height: 800 } })
const page = await context.newPage()
const troubles = []
page.on('pageerror', (error) => troubles.push(error.message))
page.on('console', (message) => message.type() === 'error' && troubles.push(message.text()))
page.on('request', (request) => assert.equal(new URL(request.url()).hostname, '127.0.0.1', `asked elsewhere: ${request.url()}`))
const panel = page.locator('#panel')
const words = (row, column) => page.locator(`[data-at='${row}.${column}'] button`).innerText()
const told = (what) => console.log(`${((performance.now() - began) / 1000).toFixed(1)} s  ${what}`)
const began = performance.now()

await page.goto(DESK)
await page.locator('.sheet table').waitFor()
told(`the year sheet is there, ${Math.round(await page.evaluate(() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? -1))} ms to first paint`)

await page.locator('.cell.pinch').first().click()
await panel.locator('.said').waitFor()
told(`why: ${await panel.locator('.said').innerText()}`)
await panel.locator('.figure').first().click()
await panel.getByRole('heading', { name: 'Where this comes from' }).waitFor()

const name = `Journey ${Date.now() % 100000}`
await page.getByRole('button', { name: 'New option' }).click()
await page.locator('#option-name').fill(name)
await page.locator('#option-name').press('Enter')
await page.locator(`.option[aria-pressed='true']`, { hasText: name }).waitFor()

await page.keyboard.press('Escape')
await page.getByRole('button', { name: 'Measures', exact: true }).click()
await page.getByRole('button', { name: 'Suggest: Ragged native wood' }).click()
await page.locator('#take-ha').fill('14')
await page.locator('#take-seconds').fill('5')
await panel.getByRole('button', { name: 'Suggest', exact: true }).click()
await page.getByRole('button', { name: 'Lay them' }).click({ timeout: 180000 })
const first = panel.locator('.list-button').first()
await first.waitFor()
told('a wood is suggested and laid')

await first.click()
await page.getByRole('button', { name: 'Show it on the ground' }).click()
await settled(page)
const before = await page.locator('.sheet').innerText()
await page.getByRole('button', { name: 'Reshape' }).click()
const map = await page.locator('.map').boundingBox()
const [x, y] = [map.x + map.width / 2, map.y + map.height / 2]
await page.mouse.move(x, y)
await page.mouse.down()
for (let i = 1; i <= 12; i += 1) await page.mouse.move(x - i * 6, y + i * 3)
await page.mouse.up()
await page.locator('.when', { hasText: 'as drawn' }).waitFor()
await page.getByRole('button', { name: 'Lay it as it is now' }).click()
await page.locator('.when', { hasText: 'in 10 years' }).waitFor()
await panel.getByRole('button', { name: 'Reshape' }).waitFor()
told(`dragged and laid; the sheet ${before === (await page.locator('.sheet').innerText()) ? 'says the same at this year' : 'changed'}`)

await page.locator('#years').focus()
for (let i = 0; i < 2; i += 1) await page.keyboard.press('PageUp')
await page.locator('.when', { hasText: 'in 20 years' }).waitFor()
await page.locator(`.sheet[aria-busy='false']`).waitFor({ timeout: 120000 })
told(`year 20: ${(await words(0, 6)).replaceAll('\n', ' ')}`)

await page.getByRole('button', { name: 'Compare' }).click()
await panel.locator('.verdict').first().waitFor({ timeout: 240000 })
told(`compared: ${await panel.locator('.verdict').count()} verdicts`)

await page.getByRole('button', { name: 'Works', exact: true }).click()
await page.locator('.board .task').first().click({ timeout: 120000 })
told(`works: ${await page.locator('.board .task').count()} rows`)

await page.getByRole('button', { name: 'Hand-over', exact: true }).click()
await page.getByRole('button', { name: 'Write the hand-over' }).click()
await page.getByRole('button', { name: 'Keep them' }).waitFor({ timeout: 400000 })
told(`hand-over: ${await page.locator('.sheet a').count()} files`)

const back = await page.locator('.acts button').first().innerText()
await page.keyboard.press('Escape')
await page.locator('.acts button').first().click()
await page.locator('.said', { hasText: /./ }).first().waitFor()
told(`took back: ${back.replaceAll('\n', ' ')}`)

const at = page.url()
await page.reload()
await page.locator('.sheet table').waitFor()
assert.equal(page.url(), at)
await page.locator(`.option[aria-pressed='true']`, { hasText: name }).waitFor()
told('after a reload everything is where it was')
assert.deepEqual(troubles, [])
await browser.close()
