// Days as people write them: `1 Sep 2027`, `1 September 2027`, `1/9/2027` or `2027-09-01`.

const FULL = ['January', 'February', 'March', 'April', 'May', 'June', 'July', 'August', 'September', 'October', 'November', 'December']

/** A written day as `2027-09-01`; null where it is none. */
export function readDay(text: string): string | null {
  const t = text.trim().toLowerCase()
  const iso = /^(\d{4})-(\d{1,2})-(\d{1,2})$/.exec(t)
  const plain = /^(\d{1,2})[\s./-]+([a-z]{3,9}|\d{1,2})\.?[\s./-]+(\d{4})$/.exec(t)
  const [y, m, d] = iso ? [iso[1], iso[2], iso[3]] : plain ? [plain[3], plain[2], plain[1]] : []
  if (!y || !m || !d) return null
  const month = /^\d/.test(m) ? Number(m) : FULL.findIndex((name) => name.toLowerCase().startsWith(m)) + 1
  const date = new Date(Date.UTC(Number(y), month - 1, Number(d)))
  if (month < 1 || date.getUTCMonth() !== month - 1 || date.getUTCDate() !== Number(d)) return null
  return date.toISOString().slice(0, 10)
}

/** `2027-04-09` as `9 April 2027`. */
export function longDay(iso: string | null | undefined): string {
  const [y, m, d] = (iso ?? '').split('-').map(Number)
  return y && m && d ? `${d} ${FULL[m - 1] ?? ''} ${y}` : (iso ?? '')
}

/** Two days, the month and year once where they are the same: `10 to 13 April 2028`. */
export function span(first: string, last: string): string {
  if (first === last) return longDay(first)
  const keep = first.slice(0, 7) === last.slice(0, 7) ? 1 : first.slice(0, 4) === last.slice(0, 4) ? 2 : 3
  return `${longDay(first).split(' ').slice(0, keep).join(' ')} to ${longDay(last)}`
}
