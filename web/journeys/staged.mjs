// What most journeys stand on: a fresh desk and a browser, there before the tests of a file and gone after them.
import { after, before } from 'node:test'
import { launch } from './browser.mjs'
import { aside, freshDesk } from './desk.mjs'

/** The stage of a file's tests; `prepare` makes on the desk what they need, and what it gives stands as `about`. */
export function staged(prepare = () => {}) {
  const stage = {}
  before(async () => {
    if (aside) return
    stage.desk = await freshDesk()
    stage.browser = await launch()
    stage.about = await prepare(stage)
  }, { timeout: 60_000 })
  after(async () => {
    await stage.browser?.close()
    await stage.desk?.end()
  })
  return stage
}
