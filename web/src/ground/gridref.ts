// Grid references of the British National Grid; in other coordinates, kilometres.
const LETTERS = 'ABCDEFGHJKLMNOPQRSTUVWXYZ'

/** Two letters and as many figures as fit the metres asked for. */
export function gridRef(epsg: number, [east, north]: [number, number], to_m = 100): string {
  if (epsg !== 27700 || east < 0 || east >= 700000 || north < 0 || north >= 1300000)
    return `${Math.round(east).toLocaleString('en-GB')} E ${Math.round(north).toLocaleString('en-GB')} N`
  const e = Math.floor(east / 100000)
  const n = Math.floor(north / 100000)
  const first = (19 - n) - ((19 - n) % 5) + Math.floor((e + 10) / 5)
  const second = (((19 - n) * 5) % 25) + (e % 5)
  const figures = 5 - Math.round(Math.log10(to_m))
  const part = (value: number) => String(Math.floor((value % 100000) / to_m)).padStart(figures, '0')
  return `${LETTERS[first] ?? '?'}${LETTERS[second] ?? '?'} ${part(east)} ${part(north)}`
}

/** A step of the grid that leaves a handful of lines on the picture. */
export function gridStep(width_m: number): number {
  return [100, 200, 500, 1000, 2000, 5000, 10000].find((step) => width_m / step <= 7) ?? 20000
}
