// The field page on a bad day: the network is cut, fifty entries are written, the browser is killed twice, answers are lost on the way
// back. Every entry must be in the plan, each exactly once.
// Certificate errors are ignored here, which stands for a phone that trusts the desk's authority.

import assert from 'node:assert/strict'
import { spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { connect, createServer } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { after, test } from 'node:test'
import { chromium } from 'playwright-core'
import { CHROMIUM, FLAGS } from './browser.mjs'
import { aside, freshDesk } from './desk.mjs'

const SHOTS = process.env.SHOTS
const ENTRIES = 50

const folder = mkdtempSync(join(tmpdir(), 'field-'))
const troubles = []
let own, net
after(async () => {
  await kill()
  net?.close()
  await own?.end()
  rmSync(folder, { recursive: true, force: true })
})

// ---- a network that can be cut, and that can lose what comes back

function network(port) {
  const sockets = new Set()
  const net = { cut: false, lose: 0, lost: 0 }
  const server = createServer((near) => {
    if (net.cut) return near.destroy()
    const far = connect(port, '127.0.0.1')
    for (const one of [near, far]) {
      sockets.add(one)
      one.on('error', () => {})
      one.on('close', () => { sockets.delete(one); near.destroy(); far.destroy() })
    }
    let sent = 0
    near.on('data', (bytes) => { sent += bytes.length; far.write(bytes) })
    far.on('data', (bytes) => {
      // After the handshake and a request, an answer: it is lost, and the line with it.
      if (net.lose > 0 && sent > 1500) { net.lose -= 1; net.lost += 1; near.destroy(); far.destroy() } else near.write(bytes)
    })
  })
  return new Promise((yes) => server.listen(0, '127.0.0.1', () => yes({
    ...net, port: server.address().port,
    set: (about) => { Object.assign(net, about); if (about.cut) for (const socket of sockets) socket.destroy() },
    get lost() { return net.lost },
    close: () => { for (const socket of sockets) socket.destroy(); server.close() },
  })))
}

// ---- the phone

async function openPhone(desk, net, at) {
  const context = await chromium.launchPersistentContext(join(folder, 'phone'), {
    executablePath: CHROMIUM, headless: true, ignoreHTTPSErrors: true, viewport: { width: 360, height: 740 }, hasTouch: true,
    geolocation: { longitude: at[0], latitude: at[1], accuracy: 6 }, permissions: ['geolocation'],
    args: [...FLAGS, `--host-resolver-rules=MAP localhost:${desk.port} 127.0.0.1:${net.port}`, '--ignore-certificate-errors'],
  })
  context.setDefaultTimeout(90_000)
  const page = context.pages()[0] ?? (await context.newPage())
  page.on('pageerror', (error) => troubles.push(error.message))
  return { context, page }
}

/** End the browser as a phone that runs out of power does. */
async function kill() {
  const mine = () => spawnSync('pgrep', ['-f', `user-data-dir=${join(folder, 'phone')}`], { encoding: 'utf8' }).stdout.split('\n').filter(Boolean).map(Number)
  for (let left = mine(); left.length; left = mine()) {
    for (const pid of left) try { process.kill(pid, 'SIGKILL') } catch { /* gone already */ }
    await new Promise((yes) => setTimeout(yes, 20))
  }
  for (const name of ['SingletonLock', 'SingletonCookie', 'SingletonSocket']) rmSync(join(folder, 'phone', name), { force: true })
}

async function shot(page, name) {
  if (SHOTS) await page.screenshot({ path: join(SHOTS, `${name}.png`), fullPage: true })
}

const KINDS = ['visit', 'stick', 'probe', 'note', 'photo']

async function write(page, n, picture) {
  const kind = KINDS[n % KINDS.length]
  await page.click(`[data-kind=${kind}]`)
  if (kind === 'visit') {
    const leks = await page.$$eval('select[name=lek] option', (all) => all.map((one) => one.value).filter(Boolean))
    await page.selectOption('select[name=lek]', leks[n % leks.length])
    // Each its own day, in a spring that has no counts yet.
    await page.fill('input[name=date]', `2026-04-${String(1 + Math.floor(n / 5)).padStart(2, '0')}`)
    await page.fill('input[name=start]', '05:10')
    await page.click(`[aria-label="one cocks more"]`)
    await page.fill('input[name=hens]', String(n % 4))
  }
  if (kind === 'stick' || kind === 'probe') await page.fill('input[name=cm]', String(20 + n))
  if (kind === 'note') await page.fill('textarea[name=text]', `<b>note ${n}</b> =1+1 \u202e`)
  if (kind === 'photo') { await page.setInputFiles('input[type=file]', picture); await page.fill('textarea[name=text]', `photo ${n}`) }
  if (kind !== 'visit' && kind !== 'photo') await page.waitForSelector('text=/Place known to/')
  await page.click('button.main')
  await page.waitForSelector('text=Kept on this phone.')
}

const states = (page) => page.$$eval('ul.list li', (all) => all.map((one) => [one.dataset.id, one.dataset.state]))

test('fifty entries of a bad day arrive exactly once', { skip: aside }, async (t) => {
  const say = (words) => t.diagnostic(words)
  const told = (words) => /Phones open https:\/\/127\.0\.0\.1:(\d+)/.test(words) && words.includes('fingerprint')
  own = await freshDesk({ more: ['--field', '--field-at', '127.0.0.1', '--field-port', '0', '--field-keep', join(folder, 'keep')], ready: told })
  const desk = { at: own.at, key: own.key, port: Number(own.told.match(/Phones open https:\/\/127\.0\.0\.1:(\d+)/)[1]) }
  const asDesk = own.asks
  net = await network(desk.port)
  const items = (layer) => asDesk(`/features/collections/${layer}/items?limit=10000`)
  const patch = (await asDesk('/features/collections/patches/items?limit=1')).features[0].geometry.coordinates.flat(2)
  const somewhere = [0, 1].map((axis) => patch.reduce((sum, place) => sum + place[axis], 0) / patch.length)
  const before = { visits: (await items('visits')).numberMatched, sticks: (await items('stick_heights')).numberMatched, probes: (await items('peat_probes')).numberMatched }

  let { context, page } = await openPhone(desk, net, somewhere)
  const home = `https://localhost:${desk.port}/field/`
  await page.goto(home)
  await page.waitForSelector('text=Pair this phone')
  await shot(page, 'field-pair')
  const { code } = await asDesk('/api/field/pairing', {})
  await page.fill('input[name=code]', code === '000000' ? '111111' : '000000')
  await page.fill('input[name=name]', 'Test phone')
  await page.click('button.main')
  await page.waitForSelector('text=/not the code/')
  await page.fill('input[name=code]', code)
  await page.click('button.main')
  await page.waitForSelector('[data-kind=visit]')
  await page.evaluate(() => navigator.serviceWorker.ready)
  await page.waitForFunction(async () => (await caches.keys()).length === 1)
  say('paired; the page is kept on the phone')

  // A large picture, made in the browser: noise that does not shrink easily.
  const picture = join(folder, 'picture.png')
  const bytes = await page.evaluate(async () => {
    const canvas = Object.assign(document.createElement('canvas'), { width: 2400, height: 1800 })
    const pen = canvas.getContext('2d')
    const data = pen.createImageData(2400, 1800)
    for (let i = 0; i < data.data.length; i += 4) { const v = (i * 2654435761) >>> 24; data.data[i] = v; data.data[i + 1] = (v * 7) & 255; data.data[i + 2] = (v * 13) & 255; data.data[i + 3] = 255 }
    pen.putImageData(data, 0, 0)
    const blob = await new Promise((yes) => canvas.toBlob(yes, 'image/png'))
    return [...new Uint8Array(await blob.arrayBuffer())]
  })
  writeFileSync(picture, Buffer.from(bytes))
  say(`picture of ${Math.round(statSync(picture).size / 1000)} kB`)

  net.set({ cut: true })
  say('network cut')
  for (let n = 0; n < ENTRIES; n++) {
    if (n === 20 || n === 40) {
      // Half a form is written when the power goes.
      await page.click('[data-kind=note]')
      await page.fill('textarea[name=text]', `half a note ${n}`)
      await kill()
      await context.close().catch(() => {})
      ;({ context, page } = await openPhone(desk, net, somewhere))
      await page.goto(home)
      // Browsers take their time to put away what is being typed: it comes back where that was done; entries always do.
      await page.waitForSelector('textarea[name=text], [data-kind=visit]')
      const half = await page.locator('text=Leave without keeping').count()
      if (half) await page.click('text=Leave without keeping')
      await page.waitForSelector('[data-kind=visit]')
      assert.equal((await states(page)).length, n, 'every entry is still on the phone')
      say(`killed after ${n}: all ${n} are still there${half ? ', and the half-written form too' : ''}`)
    }
    await write(page, n, picture)
  }
  const written = await states(page)
  assert.equal(written.length, ENTRIES)
  assert.ok(written.every(([, state]) => state === 'waiting'))
  assert.equal((await asDesk('/api/field')).entries.length, 0, 'nothing arrived while the network was cut')
  await shot(page, 'field-waiting')
  say(`${ENTRIES} entries wait`)

  net.set({ cut: false, lose: 6 })
  await page.evaluate(() => dispatchEvent(new Event('online')))
  await page.waitForFunction(() => document.querySelectorAll('li[data-state=sent]').length === 50, null, { timeout: 240_000 })
  say(`all sent; ${net.lost} answers were lost on the way`)
  assert.ok(net.lost > 0, 'the test lost no answer')
  await shot(page, 'field-sent')

  const { entries } = await asDesk('/api/field')
  assert.deepEqual(entries.map((entry) => entry.id).sort(), written.map(([id]) => id).sort(), 'each id once, none missing')
  const of = (kind, state) => entries.filter((entry) => entry.kind === kind && entry.state === state).length
  const after = { visits: (await items('visits')).numberMatched, sticks: (await items('stick_heights')).numberMatched, probes: (await items('peat_probes')).numberMatched }
  say(`arrived: ${KINDS.map((kind) => `${entries.filter((entry) => entry.kind === kind).length} ${kind}`).join(', ')}; ${entries.filter((entry) => entry.state === 'waiting').length} wait for a look`)
  for (const entry of entries.filter((entry) => entry.state === 'waiting')) say(`  waits: ${entry.words}: ${entry.why}`)
  assert.equal(after.visits - before.visits, of('visit', 'merged'), 'visits in the plan')
  assert.equal(after.sticks - before.sticks, of('stick', 'merged'), 'stick heights in the plan')
  assert.equal(after.probes - before.probes, of('probe', 'merged'), 'peat probes in the plan')
  assert.equal(of('visit', 'merged') + of('stick', 'merged') + of('probe', 'merged'), 30, 'all counts and readings went in by themselves')
  assert.equal(of('note', 'kept') + of('photo', 'kept'), 20)
  for (const entry of entries.filter((entry) => entry.photo)) {
    const answer = await fetch(desk.at + entry.photo, { headers: { Authorization: `Bearer ${desk.key}` } })
    const size = (await answer.arrayBuffer()).byteLength
    assert.ok(answer.headers.get('content-type') === 'image/jpeg' && size > 1000 && size <= 400_000, `a photograph of ${size} bytes`)
  }

  // A step back at the desk: the reading is gone, the entry waits; a second look brings it in again.
  const plan = await asDesk('/api/plan')
  await asDesk('/api/undo', { version: plan.version })
  const waits = (await asDesk('/api/field')).entries.filter((entry) => entry.state === 'waiting')
  assert.equal(waits.length, 1)
  say(`taken back at the desk: "${waits[0].words}" waits (${waits[0].why})`)
  const back = await asDesk(`/api/field/entries/${waits[0].id}`, { choice: 'add' })
  assert.equal(back.state, 'merged')
  const end = { visits: (await items('visits')).numberMatched, sticks: (await items('stick_heights')).numberMatched, probes: (await items('peat_probes')).numberMatched }
  assert.deepEqual(end, after)

  // What left: the list of leks by name and square, nothing finer.
  const book = await page.evaluate(() => fetch('/field/book').then((answer) => answer.json()))
  assert.ok(book.leks.length > 0 && book.leks.every((lek) => lek.exact === null && /^[A-Z]{2} \d\d \d\d$/.test(lek.square)), JSON.stringify(book))
  const stranger = await page.evaluate(() => fetch('/field/book', { credentials: 'omit' }).then((answer) => answer.status))
  assert.equal(stranger, 401)
  assert.deepEqual(troubles, [])
  await context.close()
  say('each of the 50 entries is in the plan exactly once')
})
