// The pen: draws and reshapes one shape, and tells every move.
import Collection from 'ol/Collection'
import Feature from 'ol/Feature'
import { MultiLineString, Point, type Geometry, type LineString, type MultiPolygon, type Polygon } from 'ol/geom'
import Draw from 'ol/interaction/Draw'
import Modify from 'ol/interaction/Modify'
import Snap from 'ol/interaction/Snap'
import Translate from 'ol/interaction/Translate'
import VectorLayer from 'ol/layer/Vector'
import type Map from 'ol/Map'
import VectorSource from 'ol/source/Vector'
import type Interaction from 'ol/interaction/Interaction'
import type { At } from '../edits/corners'
import * as looks from './looks'

const SNAP_PIXELS = 9
/** As near as a pointer must come to a corner; a finger needs more room. */
const CATCH_PIXELS = matchMedia('(pointer: coarse)').matches ? 22 : 12

/** A shape was moved. */
type Moved = (shape: Geometry) => void
/** An outline was drawn on: what it would be if it ended where the pen is, if anything, and the corners set so far; ended, there are none. */
type Drawn = (shape: Geometry | null, corners: At[] | null) => void

export class Pen {
  #source = new VectorSource()
  #layer = new VectorLayer({ source: this.#source, zIndex: 60, style: looks.pen })
  #corners = new VectorLayer({ source: new VectorSource(), zIndex: 61 })
  #interactions: Interaction[] = []
  /** Ends what is listened to beside them. */
  #unheard = () => {}
  #snapSources: VectorSource[] = []
  #feature: Feature | null = null
  #quiet = false
  busy = false

  constructor(private readonly map: Map) {
    map.addLayer(this.#layer)
    map.addLayer(this.#corners)
  }

  snapTo(sources: VectorSource[]) {
    this.#snapSources = sources
  }

  /** Draw a new shape, or go on from the corners set so far. */
  draw(type: 'Polygon' | 'LineString', corners: At[], drawn: Drawn) {
    this.lift()
    this.busy = true
    const draw = new Draw({ source: this.#source, type, style: looks.pen, stopClick: true })
    let sketch: Polygon | LineString | null = null
    const leave = () => {
      if (sketch) rest(sketch)
    }
    const picture = this.map.getTargetElement()
    picture?.addEventListener('pointerleave', leave)
    this.#unheard = () => picture?.removeEventListener('pointerleave', leave)
    draw.on('drawstart', (event) => {
      snap.setActive(true)
      sketch = event.feature.getGeometry() as Polygon | LineString
      event.feature.getGeometry()?.on('change', (change) => {
        const shape = change.target as Polygon | LineString
        if (!this.#quiet) drawn(enough(shape) ? shape : null, cornersSet(shape))
      })
    })
    draw.on('drawend', (event) => {
      const shape = event.feature.getGeometry()
      if (!shape) return
      // The shape is reshaped from here on.
      queueMicrotask(() => this.reshape(shape.clone(), (shape) => drawn(shape, null)))
      drawn(shape, null)
    })
    draw.on('drawabort', () => snap.setActive(false))
    this.#add(draw)
    // The first corner stands where it is pressed; those after it go to what is near.
    const snap = this.#snap()
    snap.setActive(false)
    const [first] = corners
    const goOn = () => {
      // Corners stand in a picture that has been drawn.
      if (first && !this.map.getPixelFromCoordinate(first)) this.map.once('postrender', goOn)
      else if (first) {
        this.#quiet = true
        draw.appendCoordinates(corners.map((at) => [...at]))
        this.#quiet = false
      }
    }
    goOn()
  }

  /** Reshape a shape: drag corners, or the whole of it. */
  reshape(shape: Geometry, moved: Moved) {
    this.lift()
    this.busy = true
    const feature = (this.#feature = new Feature(shape))
    this.#source.addFeature(feature)
    const features = new Collection([feature])
    const modify = new Modify({ features, style: looks.pen, pixelTolerance: CATCH_PIXELS })
    const translate = new Translate({ features, hitTolerance: 2, condition: (event) => !nearCorner(this.map, feature, event.pixel) })
    feature.getGeometry()?.on('change', () => {
      if (!this.#quiet) moved(shape)
    })
    modify.on('modifyend', () => moved(shape))
    translate.on('translateend', () => moved(shape))
    this.#add(translate)
    this.#add(modify)
    this.#snap()
  }

  /** Whether a shape is held for reshaping. */
  get holds(): boolean {
    return this.#feature !== null
  }

  /** Put the shape elsewhere by numbers. */
  put(shape: Geometry, corner: [number, number] | null) {
    const held = this.#feature?.getGeometry()
    this.#quiet = true
    if (held && held.getType() === shape.getType()) (held as Polygon).setCoordinates((shape as Polygon).getCoordinates())
    this.#quiet = false
    this.corner(corner)
  }

  /** Mark a corner. */
  corner(at: [number, number] | null) {
    const source = this.#corners.getSource()
    source?.clear(true)
    if (!at) return
    const feature = new Feature(new Point(at))
    feature.setStyle(looks.corner(true))
    source?.addFeature(feature)
  }

  lift() {
    this.#unheard()
    for (const interaction of this.#interactions) this.map.removeInteraction(interaction)
    this.#interactions = []
    this.#source.clear(true)
    this.#corners.getSource()?.clear(true)
    this.#feature = null
    this.busy = false
  }

  #add(interaction: Interaction) {
    this.#interactions.push(interaction)
    this.map.addInteraction(interaction)
  }

  /** One for all there is: one after another they would lead on from thing to thing, farther than each may reach. */
  #snap(): Snap {
    const snap = new Snap({ features: new Collection([this.#source, ...this.#snapSources].flatMap((s) => s.getFeatures())), pixelTolerance: SNAP_PIXELS })
    this.#add(snap)
    return snap
  }
}

function enough(shape: Polygon | LineString): boolean {
  const type = shape.getType()
  return type === 'Polygon' ? ((shape as Polygon).getCoordinates()[0]?.length ?? 0) >= 4 && (shape as Polygon).getArea() > 1 : (shape as LineString).getLength() > 1
}

/** The corners of an outline that were set: the last goes with the pen, and an area ends where it begins. */
function cornersSet(shape: Polygon | LineString): At[] {
  const corners = shape.getType() === 'Polygon' ? (shape as Polygon).getCoordinates()[0]?.slice(0, -1) : (shape as LineString).getCoordinates()
  return (corners ?? []).slice(0, -1) as At[]
}

/** The pen has left the ground: what is told of the outline is what its corners come to, until the pen is there again. */
function rest(shape: Polygon | LineString) {
  const corners = cornersSet(shape)
  const last = corners.at(-1)
  if (!last) return
  if (shape.getType() === 'Polygon') (shape as Polygon).setCoordinates([[...corners, last, corners[0] ?? last]])
  else (shape as LineString).setCoordinates([...corners, last])
}

/** Near a corner or an edge the corner is dragged, elsewhere the whole. */
function nearCorner(map: Map, feature: Feature, pixel: number[]): boolean {
  const shape = feature.getGeometry()
  const at = map.getCoordinateFromPixel(pixel)
  const closest = shape && outline(shape).getClosestPoint(at)
  const there = closest && map.getPixelFromCoordinate(closest)
  return there ? Math.hypot((there[0] ?? 0) - (pixel[0] ?? 0), (there[1] ?? 0) - (pixel[1] ?? 0)) < CATCH_PIXELS : false
}

const outline = (shape: Geometry): Geometry =>
  shape.getType() === 'Polygon' ? new MultiLineString((shape as Polygon).getCoordinates()) : shape.getType() === 'MultiPolygon' ? new MultiLineString((shape as MultiPolygon).getCoordinates().flat()) : shape
