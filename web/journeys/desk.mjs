// A desk of one's own for a journey: a fresh demonstration in a folder of its own, served by the binary, ended with the journey.
import { spawn, spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { CHROMIUM } from './browser.mjs'

export const GREYHEN = process.env.GREYHEN ?? fileURLToPath(new URL('../../target/debug/greyhen', import.meta.url))

/** Why a journey steps aside, in words; false where it can go. */
export const aside = [[GREYHEN, 'greyhen was not built'], [CHROMIUM, 'there is no chromium']].find(([file]) => !existsSync(file))?.[1] ?? false

/** A folder with the demonstration in it. */
export function demo() {
  const folder = mkdtempSync(join(tmpdir(), 'journey-'))
  const made = spawnSync(GREYHEN, ['demo', folder], { encoding: 'utf8' })
  if (made.status !== 0) throw new Error(`greyhen demo ended with ${made.status}: ${made.stderr}`)
  return folder
}

/** Serve the demonstration of a folder. */
export async function serve(folder, { port = 0, more = [], ready = () => true } = {}) {
  const child = spawn(GREYHEN, ['desk', join(folder, 'demo.gpkg'), '--port', String(port), ...more], { stdio: ['ignore', 'pipe', 'inherit'] })
  const ended = new Promise((yes) => child.once('exit', yes))
  const told = await new Promise((yes, no) => {
    let told = ''
    ended.then((code) => no(new Error(`the desk ended with ${code}: ${told}`)))
    child.stdout.on('data', (bytes) => {
      told += bytes
      if (/\?key=\w+\s/.test(told) && ready(told)) yes(told)
    })
  })
  const [address, at, ownPort, key] = told.match(/(http:\/\/[\d.]+:(\d+))\/\?key=(\w+)/)
  const end = (signal) => {
    child.kill(signal)
    return ended
  }
  /** Ask the desk itself, as a program that was told the key. */
  async function asks(path, body, method = body === undefined ? 'GET' : 'POST') {
    const answer = await fetch(at + path, { method, headers: { authorization: `Bearer ${key}`, 'content-type': 'application/json' }, ...(body === undefined ? {} : { body: JSON.stringify(body) }) })
    if (!answer.ok) throw new Error(`${path}: ${answer.status} ${await answer.text()}`)
    return answer.status === 204 ? null : answer.json()
  }
  let edits = 0
  async function edit(...all) {
    const { version } = await asks('/api/plan')
    return asks('/api/edits', { version, once: `journey-${(edits += 1)}`, edits: all })
  }
  return { child, told, address, at, port: Number(ownPort), key, asks, edit, stop: () => end('SIGTERM'), kill: () => end('SIGKILL') }
}

/** A fresh demonstration and a desk on it, which may be ended and served again; `end` clears all of it away. */
export async function freshDesk(how) {
  const folder = demo()
  const clear = () => rmSync(folder, { recursive: true, force: true })
  let now
  try {
    now = await serve(folder, how)
  } catch (why) {
    clear()
    throw why
  }
  const again = async (port) => (now = Object.assign(await serve(folder, { ...how, port }), more))
  const end = async () => {
    await now.kill()
    clear()
  }
  const more = { folder, again, end }
  return Object.assign(now, more)
}

/** A square wood, in the demonstration's own ground. */
export const WOOD = { do: 'put_measure', option: 1, kind: 'wood', geometry: square(382300, 548900, 240), facts: {} }

export function square(x, y, side) {
  return { type: 'Polygon', coordinates: [[[x, y], [x + side, y], [x + side, y + side], [x, y + side], [x, y]]] }
}
