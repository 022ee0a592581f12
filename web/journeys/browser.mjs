// The browser of the journeys: Debian's own, without a screen.
import assert from 'node:assert/strict'
import { chromium } from 'playwright-core'

export const CHROMIUM = process.env.CHROMIUM ?? '/usr/bin/chromium'
export const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-background-networking', '--disable-component-update', '--no-first-run']
export const SIZES = [[1280, 800], [1024, 700], [768, 1024]]
/** A desk that computes on a busy machine is waited for; a page that hangs is not. */
const LONGEST_MS = 90_000

/** A page that was just built, in place of the one in the binary: PAGE=dist. */
export const PAGE = process.env.PAGE
// Such a page comes from nowhere, and would not be let to speak to this machine.
const LET = PAGE ? ['--disable-features=LocalNetworkAccessChecks'] : []

export const launch = () => chromium.launch({ executablePath: CHROMIUM, args: [...FLAGS, ...LET] })

async function inPlace(route) {
  const { pathname } = new URL(route.request().url())
  return route.fulfill({ path: `${PAGE}/${pathname === '/' ? 'index.html' : pathname}` })
}

/** A window of its own, whose pages tell what goes wrong in them and who they ask. */
export async function room(browser, how = {}) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 }, ...how })
  context.setDefaultTimeout(LONGEST_MS)
  if (PAGE) await context.route(/\/\/[^/]+\/(assets\/.*)?(\?.*)?$/, inPlace)
  const troubles = []
  const asked = new Set()
  context.on('page', (page) => {
    page.on('pageerror', (error) => troubles.push(`page error: ${error.message}`))
    page.on('console', (message) => message.type() === 'error' && troubles.push(`console: ${message.text()} (${message.location().url})`))
    page.on('websocket', (socket) => asked.add(new URL(socket.url()).host))
    page.on('request', (request) => /^(data|blob|about):/.test(request.url()) || asked.add(new URL(request.url()).host))
  })
  return Object.assign(context, {
    troubles,
    /** Nothing went wrong in any of its pages, and none asked anybody but the desk. */
    fair(host) {
      assert.deepEqual(troubles, [])
      assert.deepEqual([...asked].filter((one) => one !== host), [], 'hosts asked beside the desk')
    },
  })
}

/** Open the address the desk printed, in a room and with a question. */
export async function open(context, desk, hash = '') {
  const page = await context.newPage()
  if (PAGE) await context.request.get(desk.address)
  await page.goto(PAGE ? desk.at : desk.address)
  if (hash) await page.goto(`${desk.at}/${hash}`)
  await settled(page)
  return page
}

/** What the address of a page tells. */
export const addressOf = (page) => new URLSearchParams(page.url().split('?')[1])

/** Wait until nothing is being worked out and the picture is drawn. */
export async function settled(page) {
  await page.waitForFunction(() => document.querySelector('.desk, main, dialog') && !document.querySelector("[aria-busy='true'], .progress"))
  await page.evaluate(() => new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn))))
}
