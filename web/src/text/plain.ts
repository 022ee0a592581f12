// The desk speaks to the command line as well: here its hints are said as this page does what they ask. Only the words that name a command
// or an option are said anew; a part of a hint that still names one is left out, and the rest stands.

const named = (field: string) => field.replaceAll('_', ' ')

/** `--map lon=COLUMN --map lat=COLUMN` as columns to be chosen. */
function columns(said: string): string {
  const fields = [...said.matchAll(/--map '?(\w+)=/g)].map(([, field = '']) => named(field))
  const last = fields.pop() ?? ''
  return fields.length ? `choose above the columns of ${fields.join(', ')} and ${last}` : `choose above the column of ${last}`
}

const SAID: [RegExp, string | ((said: string, field: string) => string)][] = [
  [/`--map [^`]*` says otherwise/g, 'where that is wrong, choose its unit above'],
  [/`--map [^`]*` says which is which/g, 'choose above which column is which'],
  [/say it: `--map [^`]*:[^`]*`/g, 'choose its unit above'],
  [/\bwith `--map (\w+)=-`/g, (_, field) => `by choosing none for ${named(field)} above`],
  [/`--map (\w+)=-`/g, (_, field) => `choose none for ${named(field)} above`],
  [/(?:\b(?:name|say) (?:it|them) with )?`--map [^`]*`/g, columns],
  [/\bname one of them with `--layer`/g, 'choose one of them above'],
  [/\bsay which with `--layer [^`]*`/g, 'choose which above'],
  [/\bsay the coordinate system with `--epsg NUMBER`/g, 'give the EPSG number of its coordinate system above'],
  [/\bsay `--epsg NUMBER`/g, 'give its EPSG number above'],
  [/\bsay `--epsg (\d+)`/g, 'give the EPSG number $1 above'],
  [/\(`--make-leks`\)/g, '(tick it above)'],
  [/\bwith `--replace`/g, '(tick it above)'],
  [/\bgo in with `greyhen import FILE [^`]*`/g, 'go in where “What is in the file” says so'],
  [/\bimport it into a plan with `greyhen import`/g, 'bring it into a plan, in Survey'],
  [/\bmake one with `greyhen new`/g, 'make one in Survey'],
]

const TYPED = /(?<![\w-])--[a-z]|\bgreyhen (?:ahead|assess|birds|check|compare|counts|demo|desk|explain|guidance|handover|import|measure|new|option|show|spend|suggest|works)\b/

/** What is told, in words of this page; empty where nothing but a command was told. */
export function inPage(told: string): string {
  const said = SAID.reduce((text, [of, words]) => (typeof words === 'string' ? text.replace(of, words) : text.replace(of, words)), told)
  return untyped(said).replaceAll('`', '')
}

/** Where something is, what was needed or found: without the option that told of it. */
export const plainly = (told: string) => told.replace(/, as `--map` says| in `--map`/g, '').replaceAll('`', '')

/** Without the parts that name a command. */
function untyped(text: string): string {
  if (!TYPED.test(text)) return text
  // Parts, and between them what joins them.
  const parts = text.split(/(; |: |, or |, )/)
  return parts.reduce((kept, part, i) => (i % 2 || TYPED.test(part) ? kept : kept ? kept + (parts[i - 1] ?? '') + part : part), '')
}
