// axe-core over what a page shows.
import assert from 'node:assert/strict'
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')
const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']

/** No violation is in the page. */
export async function accessible(page, where) {
  // By the debugger's way in, which the page's own policy does not close.
  if (!(await page.evaluate(() => 'axe' in globalThis))) await page.evaluate(axe)
  const found = await page.evaluate(async (rules) => (await globalThis.axe.run(document, { runOnly: rules, resultTypes: ['violations'] })).violations, RULES)
  const told = found.flatMap((v) => v.nodes.slice(0, 4).map((node) => `${v.id}: ${v.help}: ${node.target.join(' ')} ${node.failureSummary?.split('\n').slice(1).join(' ').slice(0, 240)}`))
  assert.deepEqual(told, [], `what axe-core finds ${where}`)
}
