// Words used in more than one room.
export const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1)

/** What a figure or a fact is, without what is said after it. */
export const short = (what: string) => what.split(/[;,(]/)[0]?.trim() ?? what

/** What is told one after the other, each as a sentence; what is not told is left out. The last keeps the end it has. */
export function sentences(parts: (string | null | undefined | false)[]): string {
  const told = parts.filter((part) => typeof part === 'string').map((part) => part.trim()).filter(Boolean)
  return told.map((part, i) => capital(i === told.length - 1 || /[.!?…]$/.test(part) ? part : `${part}.`)).join(' ')
}

export const said = {
  app: 'greyhen',
  rooms: { ground: 'Ground', works: 'Works', birds: 'Birds', handover: 'Hand-over', survey: 'Survey' },
  roomsLabel: 'Rooms',
  skipToGround: 'Skip to the ground',
  skipToSheet: 'Skip to the year sheet',
  skipToPanel: 'Skip to the side panel',
  find: 'Find',
  help: 'Help',
  keys: 'Keys',
  close: 'Close',
  back: 'Back',
  stop: 'Stop',
  again: 'Ask again',
  takeBack: 'Take back',
  doAgain: 'Do again',
  takeBackWhat: (what: string) => `Take back: ${what}`,
  doAgainWhat: (what: string) => `Do again: ${what}`,
  nothingBack: 'Nothing to take back',
  nothingAgain: 'Nothing to do again',
  asNow: 'As now',
  source: 'Source',
  why: 'Why',
  needed: (what: string) => `needed ${what}`,
  found: (what: string) => `found ${what}`,
  changedElsewhere: (what: string) => `Another window: ${what}`,
  backAgain: 'The desk is there again. Everything has been read anew.',
  gone: 'The desk does not answer. Start it again the way it was started; this page then comes back by itself.',
  roomLost: 'This part of the page could not be fetched from the desk. Is the desk still running? Then load the page again.',
  goneTitle: 'The desk does not answer.',
  goneNext: 'You can go on looking. What you are drawing is kept in this page; it can be laid when the desk is back. If it does not come back by itself, start it again the way it was started.',
  keylessTitle: 'The desk was started anew.',
  keylessNext: 'Open the address it told, which holds the key of this run; this page then goes on. What you are drawing is kept.',
  opening: 'Opening the plan…',
  locked: 'This page has no key.',
  lockedNext: 'Open the address that the desk told when it was started; it holds the key of this run.',
  failed: 'The plan could not be read.',
  failedNext: 'See whether the desk is still running, then load this page again.',
  readOnly: 'This plan can be looked at but not changed.',
  lacks: 'The year cannot be worked out yet.',
  lacksNext: 'Put in what is missing in the Survey room:',
  toSurvey: 'Go to Survey',
  stale: 'The plan has changed since this was worked out.',
  working: 'Working…',
  waiting: 'Waiting for its turn…',
  seconds: (s: number) => `${Math.round(s)} s`,
  pounds: (gbp: number) => `£${Math.round(gbp).toLocaleString('en-GB')}`,
  poundsBetween: (low: number, high: number) => `£${Math.round(low).toLocaleString('en-GB')} to £${Math.round(high).toLocaleString('en-GB')}`,
  notNumber: 'This is no number: write it as 20,000 or 12.5.',
  measures: (n: number) => (n === 1 ? '1 measure' : n === 0 ? 'no measures' : `${n} measures`),
  cocks: (n: number) => (n === 1 ? '1 cock' : `${n} cocks`),
  ha: 'ha',
  m: 'm',
  faultsTitle: 'This could not be done.',
  clashTitle: 'Somebody changed the same thing.',
  clashTheirs: 'Their change',
  clashMine: 'Yours',
  takeTheirs: 'Take theirs',
  keepMine: 'Keep mine',
  clashNext: 'Nothing has been lost: choose which should stand.',
  put: 'a measure drawn or changed',
  wentOn: (years: number) => `The years ruler went on to ${years} years, where the plan begins to tell`,
}

/** What an edit that waits would do, in words. */
export const editWords: Record<string, string> = {
  put_measure: 'A measure drawn or changed',
  drop_measures: 'Measures taken out',
  lay: 'Measures put forward and laid',
  add_option: 'A new option',
  name_option: 'An option named anew',
  drop_option: 'An option taken out',
  put_visit: 'A count entered',
  drop_visit: 'A count taken out',
  set_feature: 'A piece of the survey changed',
  drop_feature: 'A piece of the survey taken out',
}
