// The field book: five buttons, what was written, and how it stands.

import { el, field, own } from './dom'
import { fields, inputs, line, placed, said, TITLES, type Kind } from './forms'
import * as place from './place'
import { fetchBook, pair, send, type Line } from './send'
import { small } from './shot'
import { all, book as keptBook, draft, drop, dropDraft, keepDraft, put, type Draft, type Kept } from './store'
import type { Book, Entry } from './words'

const room = document.getElementById('room') as HTMLElement
const state = document.getElementById('state') as HTMLElement
const title = document.getElementById('plan') as HTMLElement

/** How long it waits before it tries a lost network again. */
const AGAIN_MS = 15_000

let book: Book | null = null
let now: Line = { is: 'quiet' }
let at: 'pair' | 'list' | 'form' = 'list'

/** Show a room, with the reader at its top. */
function show(where: typeof at, ...parts: (Node | string)[]): void {
  at = where
  room.replaceChildren(...parts)
  room.focus({ preventScroll: true })
  scrollTo(0, 0)
}

// ---- pairing

function pairRoom(why = ''): void {
  const code = el('input', { name: 'code', inputmode: 'numeric', autocomplete: 'one-time-code', pattern: '[0-9]{6}', maxlength: 6, required: true })
  const name = el('input', { name: 'name', maxlength: 60, required: true, autocomplete: 'given-name', value: book?.device ?? '' })
  const wrong = el('p', { class: 'wrong', role: 'alert', hidden: !why }, why)
  const form = el('form', { class: 'stack', novalidate: true }, el('h2', {}, 'Pair this phone'),
    el('p', {}, 'The desk shows six digits when a phone is to be paired.'), wrong,
    field('Six digits', code), field('Name for this phone', name, 'Such as whose it is. The desk tells entries apart by it.'),
    el('button', { class: 'main' }, 'Pair'), el('p', {}, el('a', { href: '/field/how' }, 'How a phone comes to trust the desk, and what to do without')),
    book && el('button', { type: 'button', class: 'quiet', onclick: () => listRoom() }, 'Go on writing; pair later'))
  form.addEventListener('submit', (event) => {
    event.preventDefault()
    void pair(code.value.trim(), name.value.trim()).then((answer) => {
      if (typeof answer === 'string') { wrong.textContent = answer; wrong.hidden = false; return }
      book = answer
      now = { is: 'quiet' }
      // Ask the phone not to clear what the page keeps.
      void navigator.storage?.persist?.()
      void listRoom()
      void go()
    })
  })
  show('pair', form)
}

// ---- the list

async function listRoom(kept = ''): Promise<void> {
  place.rest()
  if (!book) return pairRoom()
  const entries = await all()
  const kinds = (Object.keys(TITLES) as Kind[]).map((kind) => el('button', { type: 'button', 'data-kind': kind, onclick: () => formRoom(kind) }, TITLES[kind]))
  const list = entries.length > 0
    ? el('ul', { class: 'list' }, ...entries.map(row))
    : el('p', { class: 'hint' }, 'Nothing written yet. What you write stays on this phone until the desk has it.')
  const said = el('p', { class: 'said', role: 'status', hidden: !kept }, kept)
  show('list', said, el('div', { class: 'kinds' }, ...kinds), el('h2', {}, 'Written on this phone'), list,
    el('p', {}, el('a', { href: '/field/how' }, 'Trusting the desk, and the printed sheets')))
  await tell()
}

const TAGS: Record<Kept['state'], string> = { waiting: 'Waiting', sent: 'Sent', look: 'Needs a look' }

function row(kept: Kept): HTMLElement {
  const { entry } = kept
  const again = () => void put({ ...kept, state: 'waiting', said: '' }).then(() => listRoom()).then(go)
  const gone = () => { if (confirm('Throw this entry away? It is nowhere else.')) void drop(entry.id).then(() => listRoom()) }
  const open = entry.what.is !== 'photo' && (kept.state === 'look' || (kept.state === 'waiting' && !kept.tried)) && el('button', { type: 'button', onclick: () => formRoom(entry.what.is, kept) }, 'Change')
  const mend = kept.state === 'look' && [el('button', { type: 'button', onclick: again }, 'Send again'), el('button', { type: 'button', class: 'away', onclick: gone }, 'Throw away')]
  const buttons = [open, ...(mend || [])].filter((button): button is HTMLButtonElement => Boolean(button))
  return el('li', { 'data-id': entry.id, 'data-state': kept.state }, el('p', {}, el('span', { class: `tag ${kept.state}` }, TAGS[kept.state])), el('p', {}, ...line(entry.what, book ?? { plan: '', device: '', leks: [] })),
    kept.said && el('p', { class: kept.state === 'look' ? 'wrong' : 'hint' }, own(kept.said)), buttons.length > 0 && el('div', { class: 'two' }, ...buttons))
}

// ---- a form

function formRoom(kind: Kind, old?: Kept, left?: Draft): void {
  if (!book) return pairRoom()
  // What the desk refused is written anew; what it never saw is changed.
  const id = (old?.state === 'look' ? null : old?.entry.id) ?? left?.id ?? crypto.randomUUID()
  const wrong = el('p', { class: 'wrong', role: 'alert', hidden: true })
  const spot = placed(kind) ? el('p', { class: 'hint', role: 'status' }, place.words()) : null
  const observer = el('input', { name: 'observer', maxlength: 100, autocomplete: 'name', value: old?.entry.observer ?? localStorage.getItem('observer') ?? book.device })
  const keep = el('button', { class: 'main' }, 'Keep')
  const form = el('form', { class: 'stack', novalidate: true }, el('h2', {}, TITLES[kind]), ...inputs(kind, book, left?.values ?? (old ? fields(old.entry.what) : {})), field('Observer', observer), spot, wrong,
    keep, el('button', { type: 'button', class: 'quiet', onclick: () => { void dropDraft().then(() => listRoom()) } }, 'Leave without keeping'))
  if (placed(kind)) place.look(() => { if (spot?.isConnected) spot.textContent = place.words() })
  // What is being typed outlives a page that is shut.
  form.addEventListener('input', () => {
    const typed = [...new FormData(form)].filter((pair): pair is [string, string] => typeof pair[1] === 'string')
    void keepDraft({ kind, id, values: Object.fromEntries(typed) })
  })
  form.addEventListener('submit', (event) => {
    event.preventDefault()
    const what = said(kind, form)
    const picture = form.querySelector<HTMLInputElement>('input[type=file]')?.files?.[0]
    const fail = (words: string) => { wrong.textContent = words; wrong.hidden = false; keep.disabled = false }
    if (typeof what === 'string') return fail(what)
    if (kind === 'photo' && !picture) return fail('Still needed: the picture.')
    keep.disabled = true
    const entry: Entry = { id, made_at: old?.entry.made_at ?? new Date().toISOString(), observer: observer.value.trim(), place: placed(kind) ? (old?.entry.place ?? place.fix()) : null, what }
    localStorage.setItem('observer', observer.value.trim())
    void (async () => {
      try {
        const jpeg = picture ? await small(picture) : null
        await put({ entry, jpeg, state: 'waiting', tried: false, said: '', at: old?.at ?? Date.now() })
        if (old && old.entry.id !== id) await drop(old.entry.id)
        await dropDraft()
        await listRoom('Kept on this phone.')
        void go()
      } catch (why) {
        fail(`It could not be kept: ${why instanceof Error ? why.message : 'the phone refused'}. Write it on paper too.`)
      }
    })()
  })
  show('form', form)
}

// ---- how it stands

async function tell(): Promise<void> {
  const entries = await all()
  const of = (one: Kept['state']) => entries.filter((kept) => kept.state === one).length
  const counts = [`${of('waiting')} waiting`, `${of('sent')} sent`, ...(of('look') > 0 ? [`${of('look')} to look at`] : [])].join(' · ')
  const words = { quiet: '', sending: 'Sending. ', away: 'No way to the desk; it stays here and is sent later. ', unpaired: 'This phone is not paired. ', other: '' }[now.is]
  state.textContent = words + (now.is === 'other' ? `${now.why}. ` : '') + counts
  title.textContent = book?.plan || 'Field book'
}

let again = 0

async function go(): Promise<void> {
  clearTimeout(again)
  await send((line) => {
    now = line
    void (at === 'list' && !room.querySelector('form') ? redraw() : tell())
  })
  if (now.is === 'unpaired' && at === 'list') pairRoom('The desk does not know this phone. What you wrote is safe here; pair it again to send it.')
  if ((await all()).some((kept) => kept.state === 'waiting')) again = window.setTimeout(() => void go(), AGAIN_MS)
}

/** Draw the entries anew without moving the reader. */
async function redraw(): Promise<void> {
  const entries = await all()
  const list = room.querySelector('ul.list')
  if (list && at === 'list') list.replaceChildren(...entries.map(row))
  await tell()
}

async function start(): Promise<void> {
  if ('serviceWorker' in navigator) void navigator.serviceWorker.register('/field/worker.js', { scope: '/field/' }).catch(() => undefined)
  book = (await keptBook()) ?? null
  const left = await draft()
  if (book && left && left.kind !== 'photo' && left.kind in TITLES) formRoom(left.kind as Kind, undefined, left)
  else await listRoom()
  const fetched = await fetchBook()
  if ('plan' in fetched) {
    const first = !book
    book = fetched
    if (first || at === 'pair') await listRoom()
  } else if (fetched.is === 'unpaired' && at === 'list') {
    now = fetched
    pairRoom(book ? 'The desk does not know this phone. What you wrote is safe here; pair it again to send it.' : '')
  } else now = fetched
  await tell()
  void go()
}

addEventListener('online', () => void go())
document.addEventListener('visibilitychange', () => { if (document.visibilityState === 'visible') void go() })
void start()
