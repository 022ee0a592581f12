// Shapes as the desk sends them and as the map library holds them.
import GeoJSON from 'ol/format/GeoJSON'
import { MultiPolygon, Polygon, type Geometry } from 'ol/geom'

const shapes = new GeoJSON()
export const shapeOf = (geometry: unknown): Geometry => shapes.readGeometry(geometry) as Geometry
export const jsonOf = (geometry: Geometry): unknown => shapes.writeGeometryObject(geometry, { decimals: 2 })

/** The largest part of an area; none of anything else. */
export const largest = (shape: Geometry | undefined): Polygon | undefined =>
  shape instanceof MultiPolygon ? [...shape.getPolygons()].sort((a, b) => b.getArea() - a.getArea())[0] : shape instanceof Polygon ? shape : undefined
