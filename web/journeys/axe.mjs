// axe-core over every screen and state at the three sizes; any violation ends in failure.
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { at, launch, SCENES, settled, SIZES } from './browser.mjs'

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')
const wanted = process.argv.slice(2)
const sizes = process.env.SIZE ? SIZES.filter((s) => String(s[0]) === process.env.SIZE) : SIZES
const browser = await launch()
let violations = 0
let screens = 0
for (const [width, height] of sizes) {
  for (const [name, scene] of Object.entries(SCENES).filter(([n]) => !wanted.length || wanted.includes(n))) {
    const context = await browser.newContext({ viewport: { width, height }, bypassCSP: true })
    const page = await at(context, scene.hash, scene.before)
    try {
      await scene.act?.(page)
    } catch (trouble) {
      console.error(`${name} ${width}: ${trouble.message.split('\n')[0]}`)
      violations += 1
    }
    await settled(page)
    await page.evaluate(axe)
    const { violations: found } = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }))
    screens += 1
    for (const v of found) {
      violations += 1
      console.log(`${name} ${width}: ${v.id} (${v.impact}): ${v.help}`)
      for (const node of v.nodes.slice(0, 4)) console.log(`    ${node.target.join(' ')} ${node.failureSummary?.split('\n').slice(1).join(' ').slice(0, 240)}`)
    }
    await context.close()
  }
}
await browser.close()
console.log(`${screens} screens, ${violations} violations`)
process.exit(violations ? 1 : 0)
