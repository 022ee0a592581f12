// The browser of the journeys: Debian's own, without a screen.
import { chromium } from 'playwright-core'

export const SIZES = [[1280, 800], [1024, 700], [768, 1024]]

export const launch = () =>
  chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking', '--disable-component-update', '--no-first-run'],
  })

/** Where the desk is: the address it printed, or the page's own development server. */
export const DESK = process.env.DESK_URL ?? 'http://127.0.0.1:5173/'

/** A page at the desk, with the room and question of an address. */
export async function at(context, hash = '') {
  const page = await context.newPage()
  page.on('pageerror', (error) => console.error('page error:', error.message))
  page.on('console', (message) => message.type() === 'error' && console.error('console:', message.text()))
  if (process.env.DESK_URL) await page.goto(DESK)
  await page.goto(new URL(`/${hash}`, DESK).href)
  await settled(page)
  return page
}

/** Wait until nothing is asked of the desk and the picture is drawn. */
export async function settled(page) {
  await page.waitForLoadState('networkidle').catch(() => undefined)
  await page.waitForTimeout(350)
}

/** The screens and states looked at. */
export const SCENES = {
  first: { hash: '#ground' },
  season: { hash: '#ground?lek=L1&season=snowbound' },
  year20: { hash: '#ground?option=1&year=20&lek=L1&season=snowbound' },
  measures: { hash: '#ground?option=1&panel=measures' },
  measure: { hash: '#ground?option=1&panel=measure&of=M01' },
  feature: { hash: '#ground?option=1&lek=L1&season=snowbound&panel=feature&of=patches%2FV58' },
  suggest: {
    hash: '#ground?option=1&panel=suggest&of=wood',
    act: async (page) => {
      await page.locator('#panel').getByRole('button', { name: 'Suggest', exact: true }).click()
      await page.getByRole('button', { name: 'Lay them' }).waitFor({ timeout: 60000 })
    },
  },
  draw: {
    hash: '#ground?option=1&panel=measures',
    act: async (page) => {
      await page.getByRole('button', { name: 'Draw: Ragged native wood' }).click()
      await page.getByRole('button', { name: 'Begin with a square in the middle of the picture' }).click()
      await page.getByRole('button', { name: 'Corner 1' }).focus()
      await page.keyboard.press('ArrowLeft')
    },
  },
  findings: { hash: '#ground?option=1&panel=findings&of=0' },
  explain: { hash: '#ground?panel=explain&of=season.brood' },
  compare: { hash: '#ground?option=1&year=20&panel=compare' },
  search: {
    hash: '#ground?panel=search',
    act: async (page) => {
      await page.locator('#find').fill('quarlow')
      await settled(page)
    },
  },
  help: { hash: '#ground?panel=help' },
  keys: { hash: '#ground?panel=keys' },
  works: { hash: '#works?option=1' },
  works_now: { hash: '#works' },
  birds: { hash: '#birds' },
  handover: { hash: '#handover?option=1' },
  survey: { hash: '#survey' },
}
