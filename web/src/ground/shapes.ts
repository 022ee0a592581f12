// Shapes as the desk sends them and as the map library holds them.
import GeoJSON from 'ol/format/GeoJSON'
import type { Geometry } from 'ol/geom'

const shapes = new GeoJSON()
export const shapeOf = (geometry: unknown): Geometry => shapes.readGeometry(geometry) as Geometry
export const jsonOf = (geometry: Geometry): unknown => shapes.writeGeometryObject(geometry, { decimals: 2 })
