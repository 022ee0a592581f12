// What is drawn and not laid, in the page's own store: of every plan and window. What a closed window left is found by the next one.

const WINDOW = 'greyhen.window'
const START = 'greyhen.draft.'
const TRIES = 8
const AGAIN_MS = 60
/** While a window is open it holds a lock of its name. */
const lockOf = (window: string) => `${WINDOW}.${window}`
const keyOf = (file: string) => `${START}${file}|${own}`

let own = ''
const named = name()

/** The name of this window: that of the page before it was loaded anew, unless another window took it along as it was copied. */
async function name() {
  own = stored(() => sessionStorage.getItem(WINDOW)) ?? crypto.randomUUID()
  // A page that is loaded anew may still hold it for a moment.
  for (let tried = 0; !(await hold(own)); tried += 1) {
    if (tried < TRIES) await new Promise((later) => setTimeout(later, AGAIN_MS))
    else own = crypto.randomUUID()
  }
  stored(() => sessionStorage.setItem(WINDOW, own))
}

/** Hold the lock of a name as long as the page is open; false where another window does. */
function hold(window: string): Promise<boolean> {
  return new Promise((held) => {
    void navigator.locks.request(lockOf(window), { ifAvailable: true }, (lock) => {
      held(lock !== null)
      return lock && new Promise(() => undefined)
    })
  })
}

/** Keep what is drawn on a plan. */
export const keep = (file: string, what: unknown) => stored(() => localStorage.setItem(keyOf(file), JSON.stringify(what)))

/** It was laid or given up. */
export const letGo = (file: string) => stored(() => localStorage.removeItem(keyOf(file)))

/** What this window drew on a plan; else what a window drew that is there no more, which is this one's from now on. */
export async function look<T>(file: string): Promise<T | null> {
  await named
  const open = new Set((await navigator.locks.query()).held?.map((lock) => lock.name))
  const start = `${START}${file}|`
  const left = () => Object.keys(localStorage).filter((key) => key.startsWith(start) && !open.has(lockOf(key.slice(start.length))))
  return stored(() => {
    const key = [keyOf(file), ...left()].find((key) => localStorage.getItem(key) !== null)
    const text = key && localStorage.getItem(key)
    if (!text) return null
    localStorage.removeItem(key)
    localStorage.setItem(keyOf(file), text)
    return JSON.parse(text) as T
  }) ?? null
}

/** What a store does; nothing where it is full or closed, or holds what was cut short: the page itself still has what is drawn. */
function stored<T>(act: () => T): T | undefined {
  try {
    return act()
  } catch {
    return undefined
  }
}
