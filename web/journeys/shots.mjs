// Pictures of every screen at the three sizes: `GREYHEN=(the binary) node journeys/shots.mjs OUT [scene...]`.
import { mkdirSync, rmSync } from 'node:fs'
import { launch, room, settled, SIZES } from './browser.mjs'
import { demo, serve } from './desk.mjs'
import { SCENES, at, furnish } from './scenes.mjs'

const [out = 'shots', ...wanted] = process.argv.slice(2)
const sizes = process.env.SIZE ? SIZES.filter((s) => String(s[0]) === process.env.SIZE) : SIZES
mkdirSync(out, { recursive: true })
const folder = demo()
const desk = await serve(folder)
const browser = await launch()
try {
  const about = await furnish(desk)
  for (const [width, height] of sizes) {
    for (const [name, scene] of Object.entries(SCENES).filter(([n]) => !wanted.length || wanted.includes(n))) {
      const context = await room(browser, { viewport: { width, height } })
      try {
        const page = await at(context, desk, scene, about)
        await settled(page)
        if (process.env.GREY) await page.addStyleTag({ content: 'html{filter:grayscale(1)}' })
        await page.screenshot({ path: `${out}/${name}-${width}.png` })
      } catch (trouble) {
        console.error(`${name} ${width}: ${trouble.message.split('\n')[0]}`)
      }
      await context.close()
    }
  }
} finally {
  await browser.close()
  await desk.stop()
  rmSync(folder, { recursive: true, force: true })
}
