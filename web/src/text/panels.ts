// Words of the side panel.
export const panels = {
  side: 'Side panel',
  closePanel: 'Close the panel',
  label: 'What the side panel holds',
  turns: { why: 'Why', measures: 'Measures', findings: 'Findings' },
  backToPen: 'Back to the drawing',
}

export const why = {
  begin: 'Which season is short?',
  beginNext: 'Press a cell of the year sheet. The ground then shows what that season finds there for that lek, why it is short, and which ground could mend it.',
  pinches: 'Scarcest, lek by lek',
  pinch: (season: string, words: string) => `${season}: ${words}`,
  wants: 'What birds seek then',
  supply: 'Usable ground',
  need: 'Needed',
  aim: (cocks: string) => `for ${cocks} and their hens`,
  short: 'Draws that come out short',
  missing: 'Missing',
  missingHint: 'Missing is what is needed less what is usable, draw by draw, and nought in a draw that finds enough; the sentence above speaks only of the draws that come out short.',
  draws: (share: string, draws: number) => `${share} of ${draws} draws`,
  spread: (low: string, high: string) => `${low} to ${high}`,
  losses: 'What keeps ground from giving more',
  mend: 'Ground that could mend it',
  mendNone: 'No ground within reach is held back by anything that work can change.',
  mendHa: (ha: string) => `up to ${ha} ha`,
  mendHint: (ha: string) => `What each could give at most; ${ha} ha is missing.`,
  march: { partly: 'partly outside the march', outside: 'outside the march, a neighbour’s' },
  onKeys: 'Figures it stands on',
  loading: 'Looking at the ground…',
}

export const explain = {
  title: 'Where this comes from',
  loading: 'Looking it up…',
  value: 'Value',
  source: 'Source',
  none: 'No source to read: an assumption, and marked as one.',
  without: { practice: 'Common practice; nothing to read.', memory: 'Written from memory; nothing was opened.' } as Record<string, string>,
  grade: 'Grade',
  holds: 'Holds for',
  edition: 'Edition',
  note: 'Note',
  used: 'Used',
  row: 'Kept in',
  rule: 'A rule',
  stands: 'It stands on',
  check: 'Check the law and code in force before acting on it.',
  unknown: 'No figure or rule is held under this name.',
}

export const search = {
  title: 'Find',
  label: 'A place, measure, lek, figure, rule or word of help',
  none: (q: string) => `Nothing is called “${q}”.`,
  noneNext: 'Try part of a name, such as a field’s, or a word such as fence.',
  what: { feature: 'On the ground', measure: 'Measure', lek: 'Lek', option: 'Option', figure: 'Figure', rule: 'Rule', kind: 'Kind of measure' } as Record<string, string>,
  many: (n: number) => (n === 1 ? '1 found' : `${n} found`),
}

export const keysText = {
  title: 'Keys',
  rows: [
    ['/ or Ctrl K', 'find anything'],
    ['?', 'this list'],
    ['1 to 5', 'rooms: Ground, Works, Birds, Hand-over, Survey'],
    ['W, M, F', 'why, measures, findings'],
    ['[ and ]', 'a year back, a year on'],
    ['Arrows', 'in the year sheet: from cell to cell; on the ground: move it; on the ruler: the year'],
    ['+ and −', 'on the ground: nearer, farther'],
    ['Arrows on a corner', 'while drawing by numbers: move it ten metres, with Shift one metre'],
    ['Ctrl Z', 'take back'],
    ['Ctrl Shift Z', 'do again'],
    ['Esc', 'leave what is asked'],
  ] as [string, string][],
}
