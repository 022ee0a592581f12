// The field page: five buttons, what was written, and how it stands.

import { el, field, own } from './dom'
import { fields, inputs, line, placed, said, TITLES, written, type Kind } from './forms'
import * as place from './place'
import { fetchBook, pair, send, type Line } from './send'
import { small } from './shot'
import { all, book as keptBook, draft, drop, dropDraft, entry as keptEntry, keep, keepDraft, put, type Draft, type Kept } from './store'
import type { Book, Entry } from './words'

const room = document.getElementById('room') as HTMLElement
const state = document.getElementById('state') as HTMLElement
const title = document.getElementById('plan') as HTMLElement

/** How long it waits before it tries a lost network again: a moment at first, then longer and longer. */
const AGAIN_MS = [1_000, 2_000, 4_000, 8_000, 15_000]

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
  const ask = el('button', { class: 'main' }, 'Pair')
  const form = el('form', { class: 'stack', novalidate: true }, el('h2', {}, 'Pair this phone'),
    el('p', {}, 'At the desk, under “From the hill”, choose “Pair a phone”. It shows six digits.'), wrong,
    field('Six digits', code), field('Name for this phone', name, 'Such as whose it is. The desk tells entries apart by it.'),
    ask, el('p', {}, el('a', { href: '/field/how' }, 'How a phone comes to trust the desk, and what to do without')),
    book && el('button', { type: 'button', class: 'quiet', onclick: () => listRoom() }, 'Go on writing; pair later'))
  form.addEventListener('submit', (event) => {
    event.preventDefault()
    ask.disabled = true
    void pair(code.value.trim(), name.value.trim()).then((answer) => {
      ask.disabled = false
      if (typeof answer === 'string') { wrong.textContent = answer; wrong.hidden = false; wrong.scrollIntoView({ block: 'nearest' }); return }
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
  show('list', said, strange(), el('div', { class: 'kinds' }, ...kinds), el('h2', {}, 'Written on this phone'), list,
    el('p', {}, el('a', { href: '/field/how' }, 'Trusting the desk, and the printed sheets')))
  await tell(entries)
}

/** What is said where the desk does not know this phone. Nobody is taken away from what they write. */
const strange = (): HTMLElement => el('div', { class: 'strange stack', hidden: now.is !== 'unpaired' }, el('p', { class: 'wrong' }, 'The desk does not know this phone. What you wrote is safe here: pair it again, and it is sent.'),
  el('button', { type: 'button', class: 'main', onclick: () => pairRoom() }, 'Pair this phone again'))

const TAGS: Record<Kept['state'], string> = { waiting: 'Waiting', sent: 'Sent', look: 'Needs a look' }

function row(kept: Kept): HTMLElement {
  const { entry } = kept
  const again = () => void put({ ...kept, state: 'waiting', said: '' }).then(() => listRoom()).then(go)
  const gone = () => { if (confirm('Throw this entry away? It is nowhere else.')) void drop(entry.id).then(() => listRoom()) }
  const open = entry.what.is !== 'photo' && (kept.state === 'look' || (kept.state === 'waiting' && !kept.tried)) && el('button', { type: 'button', onclick: () => formRoom(entry.what.is, kept) }, 'Change')
  const mend = kept.state === 'look' && [el('button', { type: 'button', onclick: again }, 'Send again'), el('button', { type: 'button', class: 'away', onclick: gone }, 'Throw away')]
  const buttons = [open, ...(mend || [])].filter((button): button is HTMLButtonElement => Boolean(button))
  return el('li', { 'data-id': entry.id, 'data-state': kept.state }, el('p', {}, el('span', { class: `tag ${kept.state}` }, TAGS[kept.state]), ` ${written(entry)}`), el('p', {}, ...line(entry.what, book ?? { plan: '', device: '', leks: [] })),
    kept.said && el('p', { class: kept.state === 'look' ? 'wrong' : 'hint' }, own(kept.said)), buttons.length > 0 && el('div', { class: buttons.length > 1 ? 'two' : 'one' }, ...buttons))
}

// ---- a form

function formRoom(kind: Kind, old?: Kept, left?: Draft): void {
  if (!book) return pairRoom()
  // What the desk refused is written anew; what it never saw is changed.
  const refused = old?.state === 'look' ? old.entry.id : null
  const id = (refused ? null : old?.entry.id) ?? left?.id ?? crypto.randomUUID()
  let typed = left !== undefined
  const wrong = el('p', { class: 'wrong', role: 'alert', hidden: true })
  const spot = placed(kind) ? el('p', { class: 'hint', role: 'status' }, place.words()) : null
  const observer = el('input', { name: 'observer', maxlength: 100, autocomplete: 'name', value: left?.values.observer ?? old?.entry.observer ?? localStorage.getItem('observer') ?? book.device })
  const done = el('button', { class: 'main' }, 'Keep')
  const leave = () => { if (!typed || confirm('Throw away what is typed here?')) void dropDraft().then(() => listRoom()) }
  const form = el('form', { class: 'stack', novalidate: true }, el('h2', {}, TITLES[kind]), ...inputs(kind, book, left?.values ?? (old ? fields(old.entry.what) : {})), field('Observer', observer), spot, wrong,
    done, el('button', { type: 'button', class: 'quiet', onclick: leave }, 'Leave without keeping'))
  const fail = (words: string) => { wrong.textContent = words; wrong.hidden = false; done.disabled = false; wrong.scrollIntoView({ block: 'nearest' }) }
  if (placed(kind)) place.look(() => { if (spot?.isConnected) spot.textContent = place.words() })
  // What is being typed outlives a page that is shut.
  form.addEventListener('input', () => {
    typed = true
    const values = [...new FormData(form)].filter((pair): pair is [string, string] => typeof pair[1] === 'string')
    keepDraft({ kind, id, of: old?.entry.id ?? null, values: Object.fromEntries(values) }).catch(() => fail('The phone has no room to keep what you type. Write it on paper too.'))
  })
  form.addEventListener('submit', (event) => {
    event.preventDefault()
    const what = said(kind, form)
    const picture = form.querySelector<HTMLInputElement>('input[type=file]')?.files?.[0]
    if (typeof what === 'string') return fail(what)
    if (kind === 'photo' && !picture) return fail('Still needed: the picture.')
    done.disabled = true
    const entry: Entry = { id, made_at: old?.entry.made_at ?? new Date().toISOString(), observer: observer.value.trim(), place: placed(kind) ? (old?.entry.place ?? place.fix()) : null, what }
    localStorage.setItem('observer', observer.value.trim())
    void (async () => {
      try {
        const jpeg = picture ? await small(picture) : null
        const both = await keep({ entry, state: 'waiting', tried: false, said: '', at: old?.at ?? Date.now() }, jpeg, refused)
        await listRoom(both ? 'Kept on this phone. The first was already on its way: both will arrive; take one out at the desk.' : 'Kept on this phone.')
        void go()
      } catch (why) {
        fail(`It could not be kept: ${why instanceof Error ? why.message : 'the phone refused'}. Write it on paper too.`)
      }
    })()
  })
  show('form', form)
}

// ---- how it stands

async function tell(known?: Kept[]): Promise<void> {
  const entries = known ?? (await all())
  const of = (one: Kept['state']) => entries.filter((kept) => kept.state === one).length
  const counts = [`${of('waiting')} waiting`, `${of('sent')} sent`, ...(of('look') > 0 ? [`${of('look')} to look at`] : [])].join(' · ')
  const safe = of('waiting') > 0 ? 'No way to the desk now. It is safe here and is sent later.' : 'No way to the desk now.'
  const words = { quiet: '', sending: 'Sending.', away: safe, unpaired: book ? 'The desk does not know this phone.' : '', other: now.is === 'other' ? `${now.why}.` : '' }[now.is]
  state.replaceChildren(...(book || entries.length > 0 ? [el('strong', {}, counts)] : []), ...(words ? [el('span', {}, words)] : []))
  title.textContent = book?.plan || 'Field page'
}

let again = 0
let tries = 0

const waiting = async (): Promise<number> => (await all()).filter((kept) => kept.state === 'waiting').length

async function go(): Promise<void> {
  clearTimeout(again)
  const before = await waiting()
  await send((line) => {
    now = line
    void (at === 'list' ? redraw() : tell())
  })
  clearTimeout(again)
  const left = await waiting()
  // Something got through: the network is there.
  if (left < before) tries = 0
  if (left > 0) again = window.setTimeout(() => void go(), AGAIN_MS[Math.min(tries++, AGAIN_MS.length - 1)])
}

/** The network is there again, it seems: no need to wait. */
function anew(): void {
  tries = 0
  void go()
}

/** Draw the entries anew without moving the reader. */
async function redraw(): Promise<void> {
  const entries = await all()
  const list = room.querySelector('ul.list')
  if (list && at === 'list') list.replaceChildren(...entries.map(row))
  room.querySelector('.strange')?.toggleAttribute('hidden', now.is !== 'unpaired')
  await tell(entries)
}

async function start(): Promise<void> {
  if ('serviceWorker' in navigator) void navigator.serviceWorker.register('/field/worker.js', { scope: '/field/' }).catch(() => undefined)
  book = (await keptBook()) ?? null
  const left = await draft()
  if (book && left && left.kind in TITLES) formRoom(left.kind as Kind, left.of === null ? undefined : await keptEntry(left.of), left)
  else await listRoom()
  const fetched = await fetchBook()
  if ('plan' in fetched) {
    const first = !book
    book = fetched
    if (first || at === 'pair') await listRoom()
  } else now = fetched
  await (at === 'list' ? redraw() : tell())
  void go()
}

addEventListener('online', anew)
document.addEventListener('visibilitychange', () => { if (document.visibilityState === 'visible') anew() })
void start()
