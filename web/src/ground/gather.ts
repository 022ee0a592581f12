// Where marks stand so that none covers another, nor a lek's name: near ones are gathered into one, and what still touches steps aside.
// Everything is in pixels of the picture, down the page positive.

export interface Spot { x: number; y: number }
/** A mark to be placed: how much room it wants, by half width and half height. */
export interface Wanted<T> { spot: Spot; items: T[] }
export interface Placed<T> extends Wanted<T> { at: Spot }
export interface Box { x: number; y: number; w: number; h: number }

const GAP_PX = 3
const RINGS_PX = [30, 46, 62, 82, 104]
const WAYS = [[0, -1], [1, 0], [-1, 0], [0, 1], [0.7, -0.7], [-0.7, -0.7], [0.7, 0.7], [-0.7, 0.7]] as const

export const touch = (a: Box, b: Box) => Math.abs(a.x - b.x) < a.w + b.w + GAP_PX && Math.abs(a.y - b.y) < a.h + b.h + GAP_PX
const middle = (spots: Spot[]): Spot => ({ x: spots.reduce((s, p) => s + p.x, 0) / spots.length, y: spots.reduce((s, p) => s + p.y, 0) / spots.length })

type Room = (many: number) => { w: number; h: number }

/** Gather marks that would touch into one, until none do. */
export function gather<T>(marks: { spot: Spot; item: T }[], room: Room): Wanted<T>[] {
  const groups = marks.map(({ spot, item }) => ({ spots: [spot], spot, items: [item] }))
  const box = (g: { spot: Spot; items: T[] }): Box => ({ ...g.spot, ...room(g.items.length) })
  for (let again = true; again; ) {
    again = false
    for (let a = 0; a < groups.length; a += 1) {
      for (let b = groups.length - 1; b > a; b -= 1) {
        const [one, two] = [groups[a], groups[b]]
        if (!one || !two || !touch(box(one), box(two))) continue
        one.spots.push(...two.spots)
        one.items.push(...two.items)
        one.spot = middle(one.spots)
        groups.splice(b, 1)
        again = true
      }
    }
  }
  return groups.map(({ spot, items }) => ({ spot, items }))
}

/** Give each a place of its own beside what is already taken, in sight where it can be; the taken list grows. */
export function place<T>(groups: Wanted<T>[], taken: Box[], room: Room, sight: Box): Placed<T>[] {
  return groups.map((group) => {
    const size = room(group.items.length)
    const free = (at: Spot) => !taken.some((box) => touch(box, { ...at, ...size }))
    const spots = [group.spot, ...RINGS_PX.flatMap((far) => WAYS.map(([x, y]) => ({ x: group.spot.x + x * (far + size.w - size.h), y: group.spot.y + y * far })))]
    const seen = (at: Spot) => Math.abs(at.x - sight.x) < sight.w - size.w && Math.abs(at.y - sight.y) < sight.h - size.h
    const at = spots.find((s) => free(s) && seen(s)) ?? spots.find(free) ?? group.spot
    taken.push({ ...at, ...size })
    return { ...group, at }
  })
}
