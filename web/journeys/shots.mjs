// Pictures of every screen at the three sizes: `node journeys/shots.mjs OUT [scene...]`.
import { mkdirSync } from 'node:fs'
import { at, launch, SCENES, settled, SIZES } from './browser.mjs'

const [out = 'shots', ...wanted] = process.argv.slice(2)
const sizes = process.env.SIZE ? SIZES.filter((s) => String(s[0]) === process.env.SIZE) : SIZES
mkdirSync(out, { recursive: true })
const browser = await launch()
for (const [width, height] of sizes) {
  for (const [name, scene] of Object.entries(SCENES).filter(([n]) => !wanted.length || wanted.includes(n))) {
    const context = await browser.newContext({ viewport: { width, height }, ...(process.env.GREY ? { forcedColors: 'none' } : {}) })
    const page = await at(context, scene.hash, scene.before)
    try {
      await scene.act?.(page)
      await settled(page)
    } catch (trouble) {
      console.error(`${name} ${width}: ${trouble.message.split('\n')[0]}`)
    }
    if (process.env.GREY) await page.addStyleTag({ content: 'html{filter:grayscale(1)}' })
    await page.screenshot({ path: `${out}/${name}-${width}.png` })
    await context.close()
  }
}
await browser.close()
