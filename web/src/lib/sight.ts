// What comes is brought into sight.

/** Attach to what appears by itself where a reader may not be looking: no farther than it takes. */
export const intoSight = (what: HTMLElement) => what.scrollIntoView({ block: 'nearest' })

/** Attach to an answer that is read from its top. */
export const toTop = (what: HTMLElement) => what.scrollIntoView({ block: 'start' })
