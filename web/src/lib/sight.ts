// What comes is brought into sight, no farther than it takes.

/** Attach to what appears by itself where a reader may not be looking. */
export const intoSight = (what: HTMLElement) => what.scrollIntoView({ block: 'nearest' })
