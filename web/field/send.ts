// Sending: oldest first, one at a time. The desk takes each id once, so what is not sure to have arrived is sent again.

import { all, keepBook, picture, put, sent, take, tidy, type Kept } from './store'
import { told, type Book, type Problem, type Received } from './words'

/** How sending stands: quiet, under way, or what keeps it. */
export type Line = { is: 'quiet' } | { is: 'sending' } | { is: 'away' } | { is: 'unpaired' } | { is: 'other'; why: string }

/** A network that hangs is as good as none. */
const PATIENCE_MS = 30_000

async function ask(path: string, body?: unknown): Promise<Response> {
  const init: RequestInit = { signal: AbortSignal.timeout(PATIENCE_MS), cache: 'no-store', credentials: 'same-origin' }
  if (body !== undefined) Object.assign(init, { method: 'POST', body: JSON.stringify(body), headers: { 'Content-Type': 'application/json' } })
  return fetch(path, init)
}

async function problem(answer: Response): Promise<Problem> {
  const bare: Problem = { kind: 'failed', title: `The desk answered ${answer.status}`, faults: [] }
  return answer.json().then((told: Problem) => ({ ...bare, ...told }), () => bare)
}

/** Pair this phone. */
export async function pair(code: string, name: string): Promise<Book | string> {
  try {
    const answer = await ask('/field/pair', { code, name })
    if (!answer.ok) return told(await problem(answer))
    const book = (await answer.json()) as Book
    await keepBook(book)
    return book
  } catch {
    return 'The desk cannot be reached. Is the phone on the same network?'
  }
}

/** Fetch the list of leks anew. */
export async function fetchBook(): Promise<Book | Line> {
  try {
    const answer = await ask('/field/book')
    if (answer.ok) {
      const book = (await answer.json()) as Book
      await keepBook(book)
      return book
    }
    return answer.status === 401 ? { is: 'unpaired' } : { is: 'other', why: told(await problem(answer)) }
  } catch {
    return { is: 'away' }
  }
}

async function base64(bytes: ArrayBuffer): Promise<string> {
  return new Promise((yes, no) => {
    const reader = new FileReader()
    reader.onload = () => yes(String(reader.result).split(',')[1] ?? '')
    reader.onerror = () => no(reader.error)
    reader.readAsDataURL(new Blob([bytes]))
  })
}

async function one(kept: Kept): Promise<Line> {
  const jpeg = kept.entry.what.is === 'photo' ? await picture(kept.entry.id) : undefined
  const entry = jpeg ? { ...kept.entry, what: { ...kept.entry.what, jpeg: await base64(jpeg) } } : kept.entry
  const answer = await ask('/field/entries', entry)
  if (answer.ok) {
    const received = (await answer.json()) as Received
    const said = received.state === 'waiting' ? `Somebody at the desk will look: ${received.why}` : received.state === 'aside' ? 'Put aside at the desk' : ''
    await sent({ ...kept, state: 'sent', said })
    return { is: 'quiet' }
  }
  if (answer.status === 401) return { is: 'unpaired' }
  const why = told(await problem(answer))
  if ([400, 413, 415, 422].includes(answer.status)) {
    await put({ ...kept, state: 'look', said: why })
    return { is: 'quiet' }
  }
  return { is: 'other', why }
}

async function queue(changed: (line: Line) => void): Promise<Line> {
  for (;;) {
    const next = (await all()).filter((kept) => kept.state === 'waiting').at(-1)
    if (!next) break
    const taken = await take(next.entry.id)
    if (!taken) continue
    changed({ is: 'sending' })
    const line = await one(taken).catch((): Line => ({ is: 'away' }))
    if (line.is !== 'quiet') return line
  }
  await tidy()
  return { is: 'quiet' }
}

/** Send what waits; of several windows, one does. */
export async function send(changed: (line: Line) => void): Promise<void> {
  await navigator.locks.request('send', { ifAvailable: true }, async (lock) => {
    if (lock) changed(await queue(changed))
  })
}
