// The desk speaks to the command line as well: here its hints are said as this page does what they ask.
const SAID: [RegExp, string][] = [
  [/`?--map\b|`--map/, 'Say above which column of the file it is, and in which unit.'],
  [/--layer\b/, 'Choose the layer above.'],
  [/--epsg\b/, 'Give its EPSG number above.'],
  [/--make-leks\b/, 'Tick that the leks put forward be made.'],
  [/--replace\b/, 'Tick that it takes the place of what is there.'],
  [/--leave-out\b/, 'Tick that rows that cannot be used are left out.'],
  [/--force\b/, 'Choose another name.'],
  [/--stop\b/, 'Bring tracks and roads in, in Survey.'],
  [/greyhen import\b/, 'Bring it in, in Survey.'],
  [/greyhen new\b/, 'Make a new plan, in Survey.'],
  [/greyhen check\b/, 'See Findings.'],
  [/greyhen ahead\b/, 'The ruler ends there.'],
]

/** A hint in words of this page; one that names nothing of the command line stands as it is. */
export function inPage(hint: string): string {
  if (!/--\w|greyhen [a-z]/.test(hint)) return hint.replaceAll('`', '')
  return SAID.find(([of]) => of.test(hint))?.[1] ?? hint.replaceAll('`', '')
}
