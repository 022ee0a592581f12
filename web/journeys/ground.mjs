// Where things of the plan are in the window.

/** A shape looked at leaves a wider margin on the left, where the key stands. */
const MORE_ON_THE_LEFT_PX = 10

/** The place in the window of a coordinate, while a shape is looked at: its middle is the picture's, and the scale bar tells the rest. */
export async function pixelOf(page, geometry, [x, y]) {
  const corners = geometry.coordinates.flat(geometry.type === 'MultiPolygon' ? 2 : 1)
  const middle = [0, 1].map((axis) => {
    const all = corners.map((c) => c[axis])
    return (Math.min(...all) + Math.max(...all)) / 2
  })
  const map = await page.locator('.map').boundingBox()
  const [metres, pixels] = await page.locator('.scale .bar').evaluate((bar) => {
    const [, number, unit] = bar.textContent.match(/([\d.,]+) (k?m)/)
    return [Number(number.replace(',', '')) * (unit === 'km' ? 1000 : 1), parseFloat(bar.style.width)]
  })
  return [map.x + (map.width + MORE_ON_THE_LEFT_PX) / 2 + ((x - middle[0]) * pixels) / metres, map.y + map.height / 2 - ((y - middle[1]) * pixels) / metres]
}
