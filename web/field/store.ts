// What is kept on the phone, in IndexedDB: entries until they are sent and a while after, and the list of leks.

import type { Book, Entry } from './words'

export interface Kept {
  entry: Entry
  /** The picture, where it is one; it joins the entry when that is sent. */
  jpeg: ArrayBuffer | null
  /** `waiting` to be sent, `sent`, or `look`: the desk did not take it. */
  state: 'waiting' | 'sent' | 'look'
  /** Whether it was tried to be sent: the desk may have it already, and keeps what it got first. */
  tried: boolean
  /** What the desk said. */
  said: string
  /** Order of making. */
  at: number
}

/** Sent entries that stay to be looked at. */
const SENT_KEPT = 100

let opened: Promise<IDBDatabase> | null = null

function open(): Promise<IDBDatabase> {
  opened ??= new Promise<IDBDatabase>((yes, no) => {
    const asked = indexedDB.open('field', 1)
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore('entries', { keyPath: 'entry.id' })
      asked.result.createObjectStore('kept')
    }
    asked.onsuccess = () => {
      asked.result.onclose = () => { opened = null }
      yes(asked.result)
    }
    asked.onerror = () => no(asked.error)
  }).catch((why: unknown) => { opened = null; throw why })
  return opened
}

/** Do something in one transaction; done when it is on the disk. */
async function work<T>(store: 'entries' | 'kept', mode: IDBTransactionMode, ask: (store: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  const base = await open()
  return new Promise<T>((yes, no) => {
    const step = base.transaction(store, mode, { durability: 'strict' })
    const asked = ask(step.objectStore(store))
    step.oncomplete = () => yes(asked.result)
    step.onabort = step.onerror = () => no(step.error ?? asked.error)
  })
}

export const put = (kept: Kept): Promise<IDBValidKey> => work('entries', 'readwrite', (store) => store.put(kept))
export const drop = (id: string): Promise<undefined> => work('entries', 'readwrite', (store) => store.delete(id))

/** Every entry, the newest first. */
export async function all(): Promise<Kept[]> {
  const entries = await work<Kept[]>('entries', 'readonly', (store) => store.getAll())
  return entries.sort((a, b) => b.at - a.at)
}

/** Let go of what was sent long ago. */
export async function tidy(): Promise<void> {
  const sent = (await all()).filter((kept) => kept.state === 'sent')
  for (const old of sent.slice(SENT_KEPT)) await drop(old.entry.id)
}

/** What is being typed. It is written through to the disk: a phone may lose its power at any moment. */
export interface Draft { kind: string; id: string; values: Record<string, string> }
export const draft = (): Promise<Draft | undefined> => work<Draft | undefined>('kept', 'readonly', (store) => store.get('draft'))
export const keepDraft = (draft: Draft): Promise<IDBValidKey> => work('kept', 'readwrite', (store) => store.put(draft, 'draft'))
export const dropDraft = (): Promise<undefined> => work('kept', 'readwrite', (store) => store.delete('draft'))

export const book = (): Promise<Book | undefined> => work<Book | undefined>('kept', 'readonly', (store) => store.get('book'))
export const keepBook = (book: Book): Promise<IDBValidKey> => work('kept', 'readwrite', (store) => store.put(book, 'book'))
