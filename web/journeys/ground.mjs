// Where things of the plan are in the window.

/** The place in the window of a coordinate, as the kilometres at the edges of the ground and its scale bar tell it. */
export async function pixelOf(page, [x, y]) {
  const map = await page.locator('.map').boundingBox()
  const [metres, pixels] = await page.locator('.scale .bar').evaluate((bar) => {
    const [, number, unit] = bar.textContent.match(/([\d.,]+) (k?m)/)
    return [Number(number.replace(',', '')) * (unit === 'km' ? 1000 : 1), parseFloat(bar.style.width)]
  })
  const edge = (where, side) => page.locator(`.edges .${where}`).first().evaluate((label, side) => [Number(label.textContent) * 1000, parseFloat(label.style[side])], side)
  const [[east, left], [north, top]] = [await edge('across', 'left'), await edge('down', 'top')]
  // They are told within the hundred-kilometre square.
  const within = (value) => value % 100_000
  return [map.x + left + ((within(x) - east) * pixels) / metres, map.y + top - ((within(y) - north) * pixels) / metres]
}
