// What is kept on the phone, in IndexedDB: entries until they are sent and a while after, their pictures beside them, what is being
// typed, and the list of leks.

import type { Book, Entry } from './words'

export interface Kept {
  entry: Entry
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

type Shelf = 'entries' | 'pictures' | 'kept'

let opened: Promise<IDBDatabase> | null = null

function open(): Promise<IDBDatabase> {
  opened ??= new Promise<IDBDatabase>((yes, no) => {
    const asked = indexedDB.open('field', 2)
    asked.onupgradeneeded = () => {
      const base = asked.result
      const make = (name: Shelf, how?: IDBObjectStoreParameters) => base.objectStoreNames.contains(name) || base.createObjectStore(name, how)
      make('entries', { keyPath: 'entry.id' })
      // Pictures lie apart: the list is read often, and must not carry them every time.
      make('pictures')
      make('kept')
    }
    asked.onsuccess = () => {
      asked.result.onclose = () => { opened = null }
      yes(asked.result)
    }
    asked.onerror = () => no(asked.error)
  }).catch((why: unknown) => { opened = null; throw why })
  return opened
}

/** Do something with some shelves in one transaction; done when all of it is on the disk, or none of it. */
async function work<T>(shelves: Shelf[], mode: IDBTransactionMode, ask: (shelf: (name: Shelf) => IDBObjectStore) => IDBRequest<T>): Promise<T> {
  const base = await open()
  return new Promise<T>((yes, no) => {
    const step = base.transaction(shelves, mode, { durability: 'strict' })
    const asked = ask((name) => step.objectStore(name))
    step.oncomplete = () => yes(asked.result)
    step.onabort = step.onerror = () => no(step.error ?? asked.error)
  })
}

export const put = (kept: Kept): Promise<IDBValidKey> => work(['entries'], 'readwrite', (shelf) => shelf('entries').put(kept))
export const entry = (id: string): Promise<Kept | undefined> => work<Kept | undefined>(['entries'], 'readonly', (shelf) => shelf('entries').get(id))
export const picture = (id: string): Promise<ArrayBuffer | undefined> => work<ArrayBuffer | undefined>(['pictures'], 'readonly', (shelf) => shelf('pictures').get(id))

/** Take what was written into the entries, in place of an older one that the desk refused; it is no longer being typed. Where the desk may
 * have got an entry of this id meanwhile, it becomes another one: true, where both will arrive. */
export async function keep(kept: Kept, jpeg: ArrayBuffer | null, refused: string | null): Promise<boolean> {
  let both = false
  await work(['entries', 'pictures', 'kept'], 'readwrite', (shelf) => {
    const there = shelf('entries').get(kept.entry.id) as IDBRequest<Kept | undefined>
    there.onsuccess = () => {
      const [tried, look] = [there.result?.tried ?? false, there.result?.state === 'look']
      const id = tried ? crypto.randomUUID() : kept.entry.id
      both = tried && !look
      // Refused while this was typed.
      if (tried && look) shelf('entries').delete(kept.entry.id)
      shelf('entries').put({ ...kept, entry: { ...kept.entry, id } })
      if (jpeg) shelf('pictures').put(jpeg, id)
    }
    if (refused !== null) shelf('entries').delete(refused)
    return shelf('kept').delete('draft')
  })
  return both
}

/** An entry that is sent now, as it stands now; from here on the desk may have it. */
export async function take(id: string): Promise<Kept | undefined> {
  const there = await work<Kept | undefined>(['entries'], 'readwrite', (shelf) => {
    const asked = shelf('entries').get(id) as IDBRequest<Kept | undefined>
    asked.onsuccess = () => { if (asked.result) shelf('entries').put({ ...asked.result, tried: true }) }
    return asked
  })
  return there && { ...there, tried: true }
}

/** The desk has it: its picture need not lie here as well. */
export const sent = (kept: Kept): Promise<undefined> =>
  work(['entries', 'pictures'], 'readwrite', (shelf) => {
    shelf('entries').put(kept)
    return shelf('pictures').delete(kept.entry.id)
  })

export const drop = (id: string): Promise<undefined> =>
  work(['entries', 'pictures'], 'readwrite', (shelf) => {
    shelf('entries').delete(id)
    return shelf('pictures').delete(id)
  })

/** Every entry, the newest first. */
export async function all(): Promise<Kept[]> {
  const entries = await work<Kept[]>(['entries'], 'readonly', (shelf) => shelf('entries').getAll())
  return entries.sort((a, b) => b.at - a.at)
}

/** Let go of what was sent long ago. */
export async function tidy(): Promise<void> {
  const sent = (await all()).filter((kept) => kept.state === 'sent')
  for (const old of sent.slice(SENT_KEPT)) await drop(old.entry.id)
}

/** What is being typed. It is written through to the disk: a phone may lose its power at any moment. */
export interface Draft {
  kind: string
  /** The id it will have. */
  id: string
  /** The id of the entry that is changed by it; null: it is a new one. */
  of: string | null
  values: Record<string, string>
}
export const draft = (): Promise<Draft | undefined> => work<Draft | undefined>(['kept'], 'readonly', (shelf) => shelf('kept').get('draft'))
export const keepDraft = (draft: Draft): Promise<IDBValidKey> => work(['kept'], 'readwrite', (shelf) => shelf('kept').put(draft, 'draft'))
export const dropDraft = (): Promise<undefined> => work(['kept'], 'readwrite', (shelf) => shelf('kept').delete('draft'))

export const book = (): Promise<Book | undefined> => work<Book | undefined>(['kept'], 'readonly', (shelf) => shelf('kept').get('book'))
export const keepBook = (book: Book): Promise<IDBValidKey> => work(['kept'], 'readwrite', (shelf) => shelf('kept').put(book, 'book'))
