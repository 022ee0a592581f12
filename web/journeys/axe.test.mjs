// Every room and state is looked at by axe-core: the wide picture whole, the rooms also on a narrow one.
import assert from 'node:assert/strict'
import { test } from 'node:test'
import { accessible } from './axe.mjs'
import { room } from './browser.mjs'
import { aside } from './desk.mjs'
import { at, furnish, light, SCENES } from './scenes.mjs'
import { staged } from './staged.mjs'

const ROOMS = ['season', 'measures', 'works', 'birds', 'handover', 'survey']

const WIDTHS = [[1280, 800, Object.keys(SCENES)], [768, 1024, ROOMS]]
const stage = staged(({ desk }) => furnish(desk))

for (const [width, height, names] of WIDTHS) {
  test(`axe-core finds nothing on any screen of ${width} x ${height}`, { skip: aside }, async () => {
    const { desk, browser, about } = stage
    const viewport = { width, height }
    const wanted = names.filter((name) => !SCENES[name].long)
    const faults = []
    const look = async (context, name, page = null) => {
      try {
        const shown = await at(context, desk, SCENES[name], about, page)
        await accessible(shown, `on "${name}" at ${width}`)
        return shown
      } catch (fault) {
        faults.push(`${name}: ${fault.message}`)
        return null
      }
    }
    const context = await room(browser, { viewport })
    let page = null
    for (const name of wanted.filter((name) => light(SCENES[name]))) page = await look(context, name, page)
    await context.close()
    for (const name of wanted.filter((name) => !light(SCENES[name]))) {
      const own = await room(browser, { viewport })
      await look(own, name)
      await own.close()
    }
    assert.deepEqual(faults, [])
  })
}
