// The field page on a bad day: the network is cut, fifty entries are written, the phone loses its power twice, answers are lost on the way
// back. Every entry must be in the plan, each exactly once. Every state of the page is looked at by axe-core on the way.

import assert from 'node:assert/strict'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { after, test } from 'node:test'
import { accessible } from './axe.mjs'
import { launch, open, room, settled } from './browser.mjs'
import { aside, freshDesk } from './desk.mjs'
import { aside as offline, network, noise, phone } from './phone.mjs'

const SHOTS = process.env.SHOTS
const ENTRIES = 50
const KINDS = ['visit', 'stick', 'probe', 'note', 'photo']
const CHANGED = 'note 38, written anew'
const BIDI = '\u202e'

const folder = mkdtempSync(join(tmpdir(), 'field-'))
let own, net, pocket, desktop
after(async () => {
  await pocket?.kill()
  net?.close()
  await desktop?.close()
  await own?.end()
  rmSync(folder, { recursive: true, force: true })
})

/** What is done, told with its seconds; a wait that is too long says what it was for. */
function teller(t) {
  const began = Date.now()
  const say = (words) => t.diagnostic(`${((Date.now() - began) / 1000).toFixed(1).padStart(5)} s  ${words}`)
  const step = async (words, work, seconds = 30) => {
    let late
    const patience = new Promise((_, no) => { late = setTimeout(() => no(new Error(`waited ${seconds} s for: ${words}`)), seconds * 1000) })
    try {
      return await Promise.race([work(), patience])
    } catch (why) {
      say(`stopped at: ${words}`)
      throw why
    } finally {
      clearTimeout(late)
    }
  }
  return { say, step }
}

async function looked(page, name) {
  if (SHOTS) await page.screenshot({ path: join(SHOTS, `field-${name}.png`), fullPage: true })
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `"${name}" is no wider than the phone`)
  await accessible(page, `on the field page, "${name}"`)
}

async function pair(page, code) {
  await page.fill('input[name=code]', code)
  await page.fill('input[name=name]', 'Test phone')
  await page.click('button.main')
}

async function write(page, n, picture) {
  const kind = KINDS[n % KINDS.length]
  await page.click(`[data-kind=${kind}]`)
  if (kind === 'visit') {
    const leks = await page.$$eval('select[name=lek] option', (all) => all.map((one) => one.value).filter(Boolean))
    // Each its own day, in a spring that has no counts yet.
    await count(page, { lek: leks[n % leks.length], date: `2026-04-${String(1 + Math.floor(n / 5)).padStart(2, '0')}`, cocks: 1, hens: n % 4 })
  }
  if (kind === 'stick' || kind === 'probe') await page.fill('input[name=cm]', String(20 + n))
  if (kind === 'note') await page.fill('textarea[name=text]', `<b>note ${n}</b> =1+1 ${BIDI}`)
  if (kind === 'photo') { await page.setInputFiles('input[type=file]', picture); await page.fill('textarea[name=text]', `photo ${n}`) }
  if (kind !== 'visit' && kind !== 'photo') await page.waitForSelector('text=/Place known to/')
  await keep(page)
}

async function count(page, { lek, date, cocks, hens }) {
  await page.selectOption('select[name=lek]', lek)
  await page.fill('input[name=date]', date)
  await page.fill('input[name=start]', '05:10')
  for (let n = 0; n < cocks; n += 1) await page.click('[aria-label="one more: cocks"]')
  await page.fill('input[name=hens]', String(hens))
}

async function keep(page) {
  await page.click('button.main')
  await page.waitForSelector('text=Kept on this phone.')
}

const states = (page) => page.$$eval('ul.list li', (all) => all.map((one) => [one.dataset.id, one.dataset.state]))
const sent = (page, n) => page.waitForFunction((n) => document.querySelectorAll('li[data-state=sent]').length === n, n)

/** Until what was typed is on the phone's disk. */
const onDisk = (page, text) => page.waitForFunction((text) => new Promise((yes, no) => {
  const asked = indexedDB.open('field')
  asked.onerror = () => no(asked.error)
  asked.onsuccess = () => {
    const draft = asked.result.transaction('kept').objectStore('kept').get('draft')
    draft.onsuccess = () => { asked.result.close(); yes(draft.result?.values.text === text) }
  }
}), text)

test('fifty entries of a bad day arrive exactly once', { skip: aside || offline, timeout: 180_000 }, async (t) => {
  const { say, step } = teller(t)
  const keepAt = join(folder, 'keep')
  const ready = (words) => /Phones open https:\/\/127\.0\.0\.1:(\d+)/.test(words) && words.includes('fingerprint')
  own = await step('the desk of a fresh demonstration', () => freshDesk({ more: ['--field', '--field-at', '127.0.0.1', '--field-port', '0', '--field-keep', keepAt], ready }), 90)
  const desk = { port: Number(own.told.match(/Phones open https:\/\/127\.0\.0\.1:(\d+)/)[1]) }
  net = await network(desk.port, keepAt)
  const total = async (layer) => (await own.asks(`/features/collections/${layer}/items?limit=1`)).numberMatched
  const totals = async () => ({ visits: await total('visits'), sticks: await total('stick_heights'), probes: await total('peat_probes') })
  const arrived = async () => (await own.asks('/api/field')).entries
  const code = async () => (await own.asks('/api/field/pairing', {})).code
  const patch = (await own.asks('/features/collections/patches/items?limit=1')).features[0].geometry.coordinates.flat(2)
  const somewhere = [0, 1].map((axis) => patch.reduce((sum, place) => sum + place[axis], 0) / patch.length)
  const before = await totals()
  say('the desk answers')

  const troubles = []
  pocket = phone(join(folder, 'phone'), desk, net, somewhere, troubles)
  let page
  await step('a phone is paired', async () => {
    page = await pocket.open()
    await page.waitForSelector('text=Pair this phone')
    await looked(page, 'pair')
    const right = await code()
    await pair(page, right === '000000' ? '111111' : '000000')
    await page.waitForSelector('text=/not the code/')
    await looked(page, 'pair-wrong')
    await pair(page, right)
    await page.waitForSelector('[data-kind=visit]')
    await page.evaluate(() => navigator.serviceWorker.ready)
    await page.waitForFunction(async () => (await caches.keys()).length === 1)
  })
  say('paired; the page is kept on the phone')

  await step('every form is looked at', async () => {
    await looked(page, 'choose')
    for (const kind of KINDS) {
      await page.click(`[data-kind=${kind}]`)
      if (kind !== 'visit') await page.waitForSelector('text=/Place known to/')
      await looked(page, `form-${kind}`)
      if (kind === 'visit' || kind === 'photo') {
        await page.click('button.main')
        await page.waitForSelector('text=/Still needed/')
        if (kind === 'visit') await looked(page, 'form-fault')
      }
      await page.click('text=Leave without keeping')
      await page.waitForSelector('[data-kind=visit]')
    }
  })
  // One that has to be made smaller several times over, and ones that need not.
  const [large, small] = ['large.bmp', 'small.bmp'].map((name) => join(folder, name))
  writeFileSync(large, noise(2000, 1500))
  writeFileSync(small, noise(300, 200))
  // A browser takes half a minute to put its cookies on the disk, and does so when it is shut: the phone goes into the pocket.
  await step('the phone is shut', () => pocket.shut())
  say('every form looked at; the page is shut')

  net.set('cut')
  page = await step('the page opens without a network', () => pocket.open())
  for (let n = 0; n < ENTRIES; n++) {
    const typedWhenThePowerGoes = async (text) => {
      await page.fill('textarea[name=text]', text)
      await onDisk(page, text)
      await pocket.kill()
      page = await pocket.open()
      assert.equal(await page.inputValue('textarea[name=text]'), text, 'what was being typed is there')
    }
    if (n === 20) {
      await step('the power goes over a new note', async () => {
        const was = await states(page)
        await page.click('[data-kind=note]')
        await typedWhenThePowerGoes('half a note')
        await page.click('text=Leave without keeping')
        await page.waitForSelector('ul.list li')
        assert.deepEqual(await states(page), was, 'every entry is still on the phone')
      })
      say(`killed after ${n}: all are still there, and the half-written note too`)
    }
    if (n === 40) {
      await step('the power goes over a note that is changed', async () => {
        const was = await states(page)
        await page.locator('li', { hasText: 'note 38' }).getByRole('button', { name: 'Change' }).click()
        await typedWhenThePowerGoes(CHANGED)
        await keep(page)
        assert.deepEqual(await states(page), was, 'a changed entry stays the one it was')
      })
      say(`killed after ${n}: all are still there, and the change of one too`)
    }
    await step(`entry ${n} (${KINDS[n % KINDS.length]}) is kept`, () => write(page, n, n < KINDS.length ? large : small))
  }
  const written = await states(page)
  assert.equal(written.length, ENTRIES)
  assert.ok(written.every(([, state]) => state === 'waiting'))
  assert.equal((await arrived()).length, 0, 'nothing arrived while the network was cut')
  await looked(page, 'waiting')
  say(`${ENTRIES} entries wait`)

  net.set('lossy')
  await page.evaluate(() => dispatchEvent(new Event('online')))
  await step(`${ENTRIES} entries are sent`, () => sent(page, ENTRIES).catch(async (why) => { throw new Error(`the phone says: ${await page.innerText('#state')}; ${net.lost} answers lost; ${why.message}`) }), 60)
  say(`all sent; ${net.lost} answers were lost on the way`)
  assert.ok(net.lost >= 6, 'too few answers were lost')
  net.set('straight')
  await looked(page, 'sent')

  const entries = await arrived()
  assert.deepEqual(entries.map((entry) => entry.id).sort(), written.map(([id]) => id).sort(), 'each id once, none missing')
  const of = (kind, state) => entries.filter((entry) => entry.kind === kind && entry.state === state).length
  const then = await totals()
  for (const entry of entries.filter((entry) => entry.state === 'waiting')) say(`waits: ${entry.words}: ${entry.why}`)
  assert.deepEqual(KINDS.map((kind) => of(kind, kind === 'note' || kind === 'photo' ? 'kept' : 'merged')), [10, 10, 10, 10, 10], 'all went in by themselves')
  assert.deepEqual(then, { visits: before.visits + 10, sticks: before.sticks + 10, probes: before.probes + 10 })
  assert.deepEqual(entries.map((entry) => entry.said.what.text).filter((text) => /note 38\b/.test(text)), [CHANGED])
  const photos = entries.filter((entry) => entry.photo)
  assert.equal(photos.length, 10)
  for (const entry of photos) {
    const answer = await fetch(own.at + entry.photo, { headers: { Authorization: `Bearer ${own.key}` } })
    const size = (await answer.arrayBuffer()).byteLength
    assert.ok(answer.headers.get('content-type') === 'image/jpeg' && size > 1000 && size <= 400_000, `a photograph of ${size} bytes`)
  }
  say('each of the 50 entries is in the plan exactly once')

  // A step back at the desk: the reading is gone, the entry waits; a second look brings it in again.
  await own.asks('/api/undo', { version: (await own.asks('/api/plan')).version })
  const waits = (await arrived()).filter((entry) => entry.state === 'waiting')
  assert.equal(waits.length, 1)
  assert.equal((await own.asks(`/api/field/entries/${waits[0].id}`, { choice: 'add' })).state, 'merged')
  assert.deepEqual(await totals(), then)
  say(`taken back at the desk, "${waits[0].words}" waited and was brought in again`)

  // What left: the list of leks by name and square, nothing finer.
  const book = await page.evaluate(() => fetch('/field/book').then((answer) => answer.json()))
  assert.ok(book.leks.length > 0 && book.leks.every((lek) => lek.exact === null && /^[A-Z]{2} \d\d \d\d$/.test(lek.square)), JSON.stringify(book))
  assert.equal(await page.evaluate(() => fetch('/field/book', { credentials: 'omit' }).then((answer) => answer.status)), 401)

  // The desk is told of another number for a morning it has, and of a note longer than it takes.
  await step('what the desk cannot take as it is', async () => {
    await page.click('[data-kind=visit]')
    await count(page, { lek: book.leks[0].id, date: '2026-04-01', cocks: 5, hens: 2 })
    await keep(page)
    await page.waitForSelector('text=/Somebody at the desk will look/')
    await page.click('[data-kind=note]')
    await page.$eval('textarea[name=text]', (area) => { area.value = 'long '.repeat(1000) })
    await keep(page)
    await page.waitForSelector('li[data-state=look]')
    await looked(page, 'look')
  })
  say('a count that disagrees waits at the desk; a note that is refused waits on the phone')

  await step('the desk shows what waits', async () => {
    desktop = await launch()
    const context = await room(desktop)
    const shown = await open(context, own, '#ground?panel=field')
    await shown.getByText('One entry waits for you').waitFor()
    await settled(shown)
    if (SHOTS) await shown.screenshot({ path: join(SHOTS, 'desk-waits.png') })
    await accessible(shown, 'where an entry from the hill waits')
    await shown.getByRole('button', { name: 'Put it in place of what is there' }).click()
    await shown.getByText('Nothing waits for you').waitFor()
    context.fair(new URL(own.at).host)
    await context.close()
  })
  assert.deepEqual(await totals(), then, 'it stands in place of the other')
  say('decided at the desk')

  // The desk knows the phone no more: what is written stays, nobody is taken away from it, and is sent when it is paired anew.
  await step('a phone that is unknown is paired again', async () => {
    await pocket.forget()
    await write(page, KINDS.indexOf('note'))
    await page.waitForSelector('text=Pair this phone again')
    await looked(page, 'unknown')
    await page.click('text=Pair this phone again')
    await pair(page, await code())
    await sent(page, ENTRIES + 2)
  })
  assert.equal((await arrived()).length, ENTRIES + 2)
  await step('the how-to is looked at', async () => {
    await page.goto(new URL('how', page.url()).href)
    await looked(page, 'how')
  })
  assert.deepEqual(troubles, [])
  await pocket.shut()
})
