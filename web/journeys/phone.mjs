// A phone on the hill for a journey: a browser that can lose its power, behind a network that can be cut and can lose what comes back.
// Certificate errors are ignored in the browser, which stands for a phone that trusts the desk's authority.
import { spawnSync } from 'node:child_process'
import { existsSync, readFileSync, rmSync } from 'node:fs'
import { createServer as createSecure, request as askSecure } from 'node:https'
import { connect, createServer } from 'node:net'
import { join } from 'node:path'
import { chromium } from 'playwright-core'
import { CHROMIUM, FLAGS, PAGE } from './browser.mjs'

/** Longest a phone may take for anything. */
const PATIENCE_MS = 30_000

/** Why a journey with a phone steps aside, in words; false where it can go. */
export const aside = ['openssl', 'pgrep'].find((tool) => spawnSync(tool, ['--help']).error) ? 'it needs openssl and pgrep' : false

/**
 * The way to the desk's field page. It is `straight`: every byte goes through as it is. Or `cut`. Or `lossy`: what is sent reaches the desk,
 * and of every few answers to an entry one is lost on the way back, line and all.
 */
export async function network(port, keep, every = 10) {
  const sockets = new Set()
  const net = { port: 0, lost: 0, is: 'straight', set, close }
  let answers = 0
  const ca = readFileSync(join(keep, 'authority.pem'))

  // Between the two ends, where an answer can be told from a handshake. Towards the desk it trusts nobody but the authority.
  const between = createSecure(certificate(), (asked, answer) => {
    const { 'accept-encoding': _, ...headers } = asked.headers
    const far = askSecure({ host: '127.0.0.1', servername: 'localhost', port, ca, agent: false, method: asked.method, path: asked.url, headers: { ...headers, connection: 'close' } }, async (came) => {
      const told = []
      for await (const bytes of came) told.push(bytes)
      const entry = asked.method === 'POST' && asked.url === '/field/entries' && came.statusCode === 200
      if (net.is === 'cut') return asked.socket.destroy()
      if (net.is === 'lossy' && entry && (answers += 1) % every === 1) {
        net.lost += 1
        return asked.socket.destroy()
      }
      const body = own(asked.url) ?? Buffer.concat(told)
      const { etag: __, 'transfer-encoding': ___, ...dress } = came.headers
      answer.writeHead(came.statusCode, { ...dress, 'content-length': body.length, connection: 'close' }).end(body)
    })
    far.on('error', () => asked.socket.destroy())
    asked.pipe(far)
  })
  between.on('tlsClientError', () => {})

  const server = createServer((near) => {
    if (net.is === 'cut') return near.destroy()
    sockets.add(near)
    near.on('error', () => {})
    near.on('close', () => sockets.delete(near))
    if (PAGE || net.is === 'lossy') return between.emit('connection', near)
    const far = connect(port, '127.0.0.1')
    far.on('error', () => near.destroy())
    near.on('close', () => far.destroy())
    near.pipe(far).pipe(near)
  })

  /** Make it another way; lines that were open are gone. */
  function set(is) {
    net.is = is
    for (const socket of sockets) socket.destroy()
  }
  function close() {
    set('cut')
    server.close()
    between.close()
  }
  await new Promise((yes) => server.listen(0, '127.0.0.1', yes))
  net.port = server.address().port
  return net
}

/** A certificate for this one run. */
function certificate() {
  const made = spawnSync('openssl', ['req', '-x509', '-newkey', 'ec', '-pkeyopt', 'ec_paramgen_curve:P-256', '-nodes', '-keyout', '-', '-days', '2', '-subj', '/CN=localhost', '-addext', 'subjectAltName=DNS:localhost'], { encoding: 'utf8' })
  if (made.status !== 0) throw new Error(`openssl made no certificate: ${made.error?.message ?? made.stderr}`)
  return { key: made.stdout, cert: made.stdout }
}

/** A file of the page that was just built, where PAGE says so. */
function own(url) {
  const file = PAGE && join(PAGE, url === '/field/' ? '/field/index.html' : url)
  return file && /\.\w+$/.test(file) && existsSync(file) ? readFileSync(file) : null
}

/** A phone with a folder of its own, where it lies, and what goes wrong in its page. */
export function phone(folder, desk, net, [longitude, latitude], troubles) {
  const mine = () => spawnSync('pgrep', ['-f', `user-data-dir=${folder}`], { encoding: 'utf8' }).stdout.split('\n').filter(Boolean).map(Number)
  let context = null
  return {
    async open() {
      context = await chromium.launchPersistentContext(folder, {
        executablePath: CHROMIUM, headless: true, ignoreHTTPSErrors: true, viewport: { width: 360, height: 740 }, hasTouch: true, locale: 'en-GB',
        geolocation: { longitude, latitude, accuracy: 6 }, permissions: ['geolocation'],
        args: [...FLAGS, `--host-resolver-rules=MAP localhost:${desk.port} 127.0.0.1:${net.port}`, '--ignore-certificate-errors'],
      })
      context.setDefaultTimeout(PATIENCE_MS)
      const page = context.pages()[0] ?? (await context.newPage())
      page.on('pageerror', (error) => troubles.push(error.message))
      page.on('dialog', (dialog) => dialog.accept())
      await page.goto(`https://localhost:${desk.port}/field/`)
      return page
    },
    /** Shut the page as people do. */
    shut: () => context.close(),
    /** End the browser as a phone that runs out of power does. */
    async kill() {
      for (let left = mine(); left.length; left = mine()) {
        for (const pid of left) try { process.kill(pid, 'SIGKILL') } catch { /* gone already */ }
        await new Promise((yes) => setTimeout(yes, 20))
      }
      await context?.close().catch(() => {})
      for (const name of ['SingletonLock', 'SingletonCookie', 'SingletonSocket']) rmSync(join(folder, name), { force: true })
    },
    forget: () => context.clearCookies(),
  }
}

/** A large picture of noise, which does not shrink easily: a bitmap of 24 bits. */
export function noise(width, height) {
  const row = width * 3
  const bytes = Buffer.alloc(54 + row * height)
  bytes.write('BM')
  for (const [at, value] of [[2, bytes.length], [10, 54], [14, 40], [18, width], [22, height], [34, row * height]]) bytes.writeInt32LE(value, at)
  bytes.writeInt16LE(1, 26)
  bytes.writeInt16LE(24, 28)
  for (let i = 54, seed = 1; i < bytes.length; i += 1) {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0
    bytes[i] = seed >>> 24
  }
  return bytes
}
