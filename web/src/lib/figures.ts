// How figures are written, and read where they are typed.

/** What is typed as a number: commas or spaces may stand between its thousands. Null where nothing is typed, not a number where it is none. */
export function figure(typed: string): number | null {
  const text = typed.trim().replace('−', '-')
  if (!text) return null
  const [, sign = '', digits] = text.match(/^(-?)((?:\d+|\d{1,3}(?:[, ]\d{3})+)?(?:\.\d*)?)$/) ?? []
  return digits && /\d/.test(digits) ? Number(sign + digits.replace(/[, ]/g, '')) : NaN
}

/** What is typed as a sum: as a number, and its sign of pounds may stand before it. */
export const sum = (typed: string): number | null => figure(typed.trim().replace(/^([-−]?)£ ?(?=[\d.])/, '$1'))

/** Hectares to the figures that mean something. */
export function ha(value: number): string {
  const size = Math.abs(value)
  if (size >= 100) return Math.round(value).toLocaleString('en-GB')
  if (size >= 10) return value.toFixed(0)
  if (size >= 1) return value.toFixed(1)
  return size === 0 ? '0' : value.toFixed(2)
}

/** Hectares more or less, with their sign. */
export const signed = (value: number): string => `${value < 0 ? '−' : '+'}${ha(Math.abs(value))}`

export const metres = (value: number): string =>
  value >= 1000 ? `${(value / 1000).toFixed(value >= 10000 ? 0 : 1)} km` : `${Math.round(value).toLocaleString('en-GB')} m`

export const pounds = (value: number): string => `${value < 0 ? '−' : ''}£${Math.abs(Math.round(value)).toLocaleString('en-GB')}`

export const pence = (value: number): string => pounds(value / 100)

export const share = (value: number): string => `${Math.round(value * 100)} %`

export function bytes(size: number): string {
  if (size >= 1e6) return `${(size / 1e6).toFixed(1)} MB`
  if (size >= 1000) return `${Math.round(size / 1000)} kB`
  return `${size} bytes`
}

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec']
export const month = (number: number): string => MONTHS[number - 1] ?? ''

/** `2027-04-09` as `9 Apr 2027`. */
export function day(iso: string | null | undefined): string {
  const [y, m, d] = (iso ?? '').split('-').map(Number)
  return y && m && d ? `${d} ${month(m)} ${y}` : (iso ?? '')
}
