// Where the phone is. Longitude and latitude go to the desk as they are; it turns them into the grid exactly.

import type { Fix } from './words'

let watch: number | null = null
let last: Fix | null = null
let trouble = ''
let tell: () => void = () => {}

/** Begin to look, and tell when something is known. */
export function look(changed: () => void): void {
  tell = changed
  if (watch !== null || !('geolocation' in navigator)) return
  watch = navigator.geolocation.watchPosition(
    ({ coords }) => { last = { lon: coords.longitude, lat: coords.latitude, accuracy_m: Math.round(coords.accuracy * 10) / 10 }; trouble = ''; tell() },
    (error) => { trouble = error.code === error.PERMISSION_DENIED ? 'The phone does not tell this page where it is. Allow it in the browser’s settings.' : 'The phone does not know yet where it is.'; tell() },
    { enableHighAccuracy: true, maximumAge: 5_000 },
  )
}

/** Stop looking. */
export function rest(): void {
  if (watch !== null) navigator.geolocation.clearWatch(watch)
  watch = null
  last = null
  tell = () => {}
}

export const fix = (): Fix | null => last

/** In words. */
export function words(): string {
  if (last) return `Place known to ${Math.max(1, Math.round(last.accuracy_m ?? 0))} m.`
  return trouble || ('geolocation' in navigator ? 'Looking where you are …' : 'This phone tells no place.')
}
