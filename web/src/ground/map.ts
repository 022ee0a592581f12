// The one picture of the ground. Everything of the map library stays in this folder.
import Feature from 'ol/Feature'
import { Circle as CircleShape, LineString, MultiPolygon, Point, Polygon, type Geometry } from 'ol/geom'
import { defaults as defaultInteractions } from 'ol/interaction/defaults'
import ImageLayer from 'ol/layer/Image'
import VectorLayer from 'ol/layer/Vector'
import Map from 'ol/Map'
import { containsExtent, createEmpty, extend, getCenter, getHeight, getWidth } from 'ol/extent'
import { get as projectionOf } from 'ol/proj'
import { register } from 'ol/proj/proj4'
import ImageStatic from 'ol/source/ImageStatic'
import VectorSource from 'ol/source/Vector'
import View from 'ol/View'
import proj4 from 'proj4'
import type { CouldMend, Ground, MeasureState, Picture, PlanState, SeasonGround, Stood } from '../api/types'
import type { Numbered } from '../lib/numbers'
import type { Sight } from '../lib/place.svelte'
import { gridStep } from './gridref'
import * as looks from './looks'
import type { Box } from './gather'
import { marks, type Marked, type Seen } from './marks'
import { names } from './names'
import { Pen } from './pen'
import { strongest } from './sample'
import { largest, shapeOf } from './shapes'

export type Extent = [number, number, number, number]
/** Of what stands over the picture, pixels. */
export interface Size { wide: number; high: number }
export interface Pressed { layer: string; id: string }
export interface Edges { across: { at: number; value: number }[]; down: { at: number; value: number }[]; metresPerPixel: number; step: number }

/** A point of a shape that lies in it, where it is an area; else its middle. */
const insideOf = (shape: Geometry): [number, number] => {
  const inside = largest(shape)?.getInteriorPoint().getCoordinates().slice(0, 2) ?? getCenter(shape.getExtent())
  return inside as [number, number]
}

const ORDER = ['patches', 'parcels', 'woods', 'areas', 'watercourses', 'ditches', 'tracks', 'fences', 'services', 'buildings', 'sticks', 'probes', 'boundary']
/** At most so much of a low picture is kept free for what stands over it. */
const MOST_TOP = 0.28
const MOST_FOOT = 0.15
const UNDER_HEAD_PX = 8
const M2_IN_HA = 10_000
const PRESSED_FIRST = ['offered', 'findings', 'leks', 'numbers', 'preview', 'measures', 'mend', 'woods', 'patches', 'fences', 'ditches', 'watercourses', 'areas', 'parcels']

export class GroundMap {
  readonly map: Map
  readonly pen: Pen
  #survey = new globalThis.Map<string, VectorLayer>()
  #relief = new ImageLayer<ImageStatic>({ zIndex: 15, opacity: 0.3 })
  #season = new ImageLayer<ImageStatic>({ zIndex: 30, opacity: looks.SUPPLY_OPACITY })
  #over = new globalThis.Map<string, VectorLayer>()
  #projection
  /** The room that leks and marks take in the picture. */
  #taken: Box[] = []
  #marked: Marked = { leks: [], mends: [], findings: [], findingOn: null, offered: [] }
  #placedAt = ''
  #looked: { extent: Extent; closest_m: number; seen: string } | null = null

  constructor(target: HTMLElement, plan: PlanState, private readonly told: { press(at: Pressed): void; edges(edges: Edges): void; supply(colour: string): void; pointer(at: [number, number] | null): void; head(): Size; stands(sight: Sight): void }) {
    const code = `EPSG:${plan.epsg}`
    proj4.defs(code, plan.projection)
    register(proj4)
    this.#projection = projectionOf(code)
    const extent = plan.extent as Extent
    const room = Math.max(extent[2] - extent[0], extent[3] - extent[1])
    this.map = new Map({
      target,
      controls: [],
      interactions: defaultInteractions({ altShiftDragRotate: false, pinchRotate: false }),
      layers: [this.#relief, this.#season],
      view: new View({
        ...(this.#projection ? { projection: this.#projection } : {}),
        center: getCenter(extent), resolution: room / 700, minResolution: 0.25, enableRotation: false,
        extent: [extent[0] - room, extent[1] - room, extent[2] + room, extent[3] + room], showFullExtent: true,
      }),
    })
    for (const [i, layer] of ['grid', 'reach', 'mend', 'names', 'measures', 'preview', 'offered', 'leaders', 'numbers', 'findings', 'leks'].entries()) {
      const over = new VectorLayer({ source: new VectorSource(), zIndex: 40 + i, declutter: layer === 'names' })
      over.set('layer', layer)
      this.#over.set(layer, over)
      this.map.addLayer(over)
    }
    this.#over.get('grid')?.setStyle(looks.gridLine)
    this.#over.get('reach')?.setStyle(looks.reach)
    this.#over.get('preview')?.setStyle(looks.preview)
    this.#over.get('leaders')?.setStyle(looks.leader)
    this.pen = new Pen(this.map)
    this.map.on('singleclick', (event) => {
      if (this.pen.busy) return
      const at = this.#at(event.pixel)
      if (at) told.press(at)
    })
    this.map.on('pointermove', (event) => {
      if (event.dragging) return
      told.pointer(event.coordinate as [number, number])
      target.classList.toggle('can-press', !this.pen.busy && this.#at(event.pixel) !== null)
    })
    target.addEventListener('pointerleave', () => told.pointer(null))
    this.map.on('change:size', () => this.#resized())
    this.map.on('postrender', () => told.edges(this.#edges()))
    this.map.on('moveend', () => {
      this.#drawGrid()
      const [east, north] = this.middle
      this.told.stands({ east, north, metresPerPixel: this.map.getView().getResolution() ?? 1 })
      if (this.#stands !== this.#placedAt) this.#placeMarks()
    })
  }

  #at(pixel: number[]): Pressed | null {
    const hits: Pressed[] = []
    this.map.forEachFeatureAtPixel(pixel, (feature, layer) => {
      const name = layer?.get('layer') as string | undefined
      if (name && feature.getId() !== undefined) hits.push({ layer: name, id: String(feature.getId()) })
    }, { hitTolerance: 5 })
    return hits.filter((h) => PRESSED_FIRST.includes(h.layer)).sort((a, b) => PRESSED_FIRST.indexOf(a.layer) - PRESSED_FIRST.indexOf(b.layer))[0] ?? null
  }

  #edges(): Edges {
    const size = this.map.getSize() ?? [0, 0]
    const view = this.map.getView()
    const metresPerPixel = view.getResolution() ?? 1
    const centre = view.getCenter() ?? [0, 0]
    const [width = 0, height = 0] = size
    const west = (centre[0] ?? 0) - (width / 2) * metresPerPixel
    const north = (centre[1] ?? 0) + (height / 2) * metresPerPixel
    const step = gridStep(width * metresPerPixel)
    const across = []
    for (let e = Math.ceil(west / step) * step; e < west + width * metresPerPixel; e += step) across.push({ at: (e - west) / metresPerPixel, value: e })
    const down = []
    for (let n = Math.floor(north / step) * step; n > north - height * metresPerPixel; n -= step) down.push({ at: (north - n) / metresPerPixel, value: n })
    return { across, down, metresPerPixel, step }
  }

  #drawGrid() {
    const { across, down } = this.#edges()
    const source = this.#over.get('grid')?.getSource()
    const extent = this.map.getView().calculateExtent(this.map.getSize()) as Extent
    source?.clear(true)
    source?.addFeatures([
      ...across.map((a) => new Feature(new LineString([[a.value, extent[1]], [a.value, extent[3]]]))),
      ...down.map((d) => new Feature(new LineString([[extent[0], d.value], [extent[2], d.value]]))),
    ])
  }

  #drawNames() {
    this.#fill('names', names(this.#survey.get('parcels')?.getSource()?.getFeatures() ?? [], this.#seen, this.#taken))
  }

  #fill(layer: string, features: Feature[]) {
    const source = this.#over.get(layer)?.getSource()
    source?.clear(true)
    source?.addFeatures(features)
  }

  /** The ground as surveyed. */
  ground(ground: Ground) {
    for (const { layer, features } of ground.layers) {
      if (layer === 'leks') continue
      let held = this.#survey.get(layer)
      if (!held) {
        held = new VectorLayer({ source: new VectorSource(), zIndex: ORDER.indexOf(layer) + 1 + (layer === 'patches' ? 0 : 16), style: looks.surveyed(layer, new globalThis.Map()) })
        held.set('layer', layer)
        this.#survey.set(layer, held)
        this.map.addLayer(held)
      }
      const source = held.getSource()
      source?.clear(true)
      source?.addFeatures(features.map((f) => {
        const feature = new Feature({ geometry: shapeOf(f.geometry), look: f.look, name: f.name, words: f.words })
        feature.setId(f.id)
        return feature
      }))
    }
    this.#drawNames()
    this.pen.snapTo([...this.#survey].filter(([l]) => ['patches', 'boundary', 'parcels', 'woods', 'fences', 'ditches', 'watercourses'].includes(l)).flatMap(([, v]) => v.getSource() ?? []))
  }

  relief(picture: Picture | null) {
    this.#relief.setSource(picture ? this.#picture('/api/relief.png', picture) : null)
  }

  #picture(url: string, picture: Picture) {
    return new ImageStatic({ url, imageExtent: picture.extent, interpolate: true, ...(this.#projection ? { projection: this.#projection } : {}) })
  }

  /** How things stand in the year shown. */
  stands(woods: Stood[], patches: Stood[]) {
    for (const [layer, stood] of [['woods', woods], ['patches', patches]] as const)
      this.#survey.get(layer)?.setStyle(looks.surveyed(layer, new globalThis.Map(stood.map((s) => [s.id, s]))))
  }

  leks(plan: PlanState, on: string | null) {
    this.#marked.leks = plan.leks.map((l) => ({ name: l.name, at: l.at as [number, number] }))
    this.#placeMarks()
    this.#fill('leks', plan.leks.map((l) => {
      const feature = new Feature(shapeOf({ type: 'Point', coordinates: l.at }))
      feature.setId(l.id)
      feature.setStyle(looks.lek(l.name, l.id === on))
      return feature
    }))
  }

  /** What a season finds there: the rest of the ground steps back. */
  season(season: SeasonGround | null, mends: CouldMend[], url: string, at: [number, number] | null, mendOn: string | null) {
    const faint = season ? 0.42 : 1
    for (const layer of ['patches', 'woods', 'areas']) this.#survey.get(layer)?.setOpacity(faint)
    const picture = season ? this.#picture(url, season.picture) : null
    picture?.once('imageloadend', ({ image }) => this.told.supply(strongest(image.getImage() as HTMLImageElement)))
    this.#season.setSource(picture)
    this.#fill('reach', season && at ? [new Feature(new CircleShape(at, season.reach_m))] : [])
    this.#marked.mends = []
    this.#fill('mend', (season ? mends : []).flatMap((m, i) => {
      const id = `${m.layer}/${m.id}`
      const geometry = this.#survey.get(m.layer)?.getSource()?.getFeatureById(m.id)
      const shape = geometry instanceof Feature ? geometry.getGeometry() : null
      if (!shape) return []
      this.#marked.mends.push({ at: insideOf(shape), id, number: i + 1, outside: m.march === 'outside' })
      const feature = new Feature(shape.clone())
      feature.setId(id)
      feature.setStyle(looks.mend(mendOn === id, m.march === 'outside'))
      return [feature]
    }))
    this.#placeMarks()
  }

  measures(measures: MeasureState[], on: string | null, hidden: string | null, woods: Stood[]) {
    const then = new globalThis.Map(woods.map((w) => [w.id, w]))
    this.#fill('measures', measures.flatMap((m) => {
      if (!m.geometry || m.id === hidden) return []
      const feature = new Feature(shapeOf(m.geometry))
      feature.setId(m.id)
      feature.setStyle(looks.measure(then.get(m.id), m.id === on))
      return [feature]
    }))
    this.#placeMarks()
  }

  /** Marks of findings; where the reader asks something else, only those that must be minded. */
  findings(findings: Numbered[], on: number | null, all: boolean) {
    this.#marked.findingOn = on
    this.#marked.findings = findings.flatMap((f) => (f.geometry && (all || f.severity === 'must' || on === f.number) ? [{ at: getCenter(shapeOf(f.geometry).getExtent()) as [number, number], number: f.number, severity: f.severity }] : []))
    this.#placeMarks()
  }

  /** What stands over the picture is larger or smaller than it was: names and marks keep clear of it. */
  titled() {
    this.#placeMarks()
  }

  /** Place numbers and findings anew, and names beside them. */
  #placeMarks() {
    this.#placedAt = this.#stands
    const laid = this.#over.get('measures')?.getSource()?.getFeatures().flatMap((f) => f.getGeometry()?.getExtent() ?? []) ?? []
    const placed = marks(this.#marked, laid, this.#seen)
    for (const layer of ['offered', 'numbers', 'findings', 'leaders'] as const) this.#fill(layer, placed[layer])
    this.#taken = placed.taken
    this.#drawNames()
  }

  /** What is put forward; numbered where a list tells of each, and one of them looked at. */
  preview(geometries: unknown[], { numbered = false, on = null }: { numbered?: boolean; on?: number | null } = {}) {
    const shapes = geometries.map((g) => (g ? shapeOf(g) : null))
    this.#fill('preview', shapes.flatMap((shape, i) => {
      if (!shape) return []
      const feature = new Feature(shape)
      if (numbered) feature.setId(`offered/${i + 1}`)
      return [feature]
    }))
    this.#marked.offered = numbered ? shapes.flatMap((shape, i) => (shape ? [{ at: insideOf(shape), number: i + 1, on: i === on }] : [])) : []
    this.#placeMarks()
    const looked = on === null ? this.#over.get('preview')?.getSource()?.getExtent() : shapes[on]?.getExtent()
    if (looked && shapes.some(Boolean)) this.look(looked as Extent)
  }

  /** Where the picture stands, to tell whether it has moved. */
  get #stands(): string {
    return [...this.middle, this.map.getView().getResolution()].join()
  }

  get #seen(): Seen {
    return { resolution: this.map.getView().getResolution() ?? 1, middle: this.middle, size: this.map.getSize() ?? [0, 0], head: this.told.head() }
  }

  /** Bring an extent into the picture, under its title. */
  look(extent: Extent, closest_m = 2.5) {
    if (!extent.every(Number.isFinite)) return
    const view = this.map.getView()
    const high = this.map.getSize()?.[1] ?? 0
    view.fit(extent, { padding: [Math.min(this.told.head().high + UNDER_HEAD_PX, high * MOST_TOP), 34, Math.min(60, high * MOST_FOOT), 28], minResolution: closest_m })
    this.#looked = { extent, closest_m, seen: this.#stands }
  }

  /** Go to where the reader was. */
  goTo({ east, north, metresPerPixel }: Sight) {
    this.map.getView().setCenter([east, north])
    this.map.getView().setResolution(metresPerPixel)
  }

  /** The window changed: what was brought into the picture stays in it, unless the reader has moved on. */
  #resized() {
    if (this.#looked?.seen === this.#stands) this.look(this.#looked.extent, this.#looked.closest_m)
  }

  /** The whole holding: its march, or the plan's extent where it has none. */
  lookAtWhole(extent: Extent) {
    const march = this.#survey.get('boundary')?.getSource()?.getExtent() as Extent | undefined
    this.look(march?.every(Number.isFinite) ? march : extent)
  }

  /** As far as the birds go: moved only where some of it is out of sight, or it is lost in the picture. */
  lookAtReach() {
    const reach = this.#over.get('reach')?.getSource()?.getExtent() as Extent | undefined
    if (!reach?.every(Number.isFinite)) return
    const view = this.map.getView()
    const seen = view.calculateExtent(this.map.getSize())
    seen[3] = (seen[3] ?? 0) - this.told.head().high * (view.getResolution() ?? 0)
    if (!containsExtent(seen, reach) || getHeight(reach) < 0.45 * getHeight(seen)) this.look(reach)
  }

  /** Where some findings lie, near enough to be told apart. */
  lookAtFindings(numbers: number[]) {
    const extent = createEmpty()
    for (const f of this.#marked.findings) if (numbers.includes(f.number)) extend(extent, [...f.at, ...f.at])
    if (Math.max(getWidth(extent), getHeight(extent)) > 1) this.look(extent as Extent, 0.8)
  }

  lookAt(geometry: unknown) {
    this.look(shapeOf(geometry).getExtent() as Extent)
  }

  feature({ layer, id }: Pressed): { name: string; words: string } | null {
    const feature = this.#survey.get(layer)?.getSource()?.getFeatureById(id)
    return feature instanceof Feature ? { name: String(feature.get('name')), words: String(feature.get('words')) } : null
  }

  /** How large an area or how long a line is; neither of a point. */
  sizeOf(geometry: unknown): { area_ha?: number; length_m?: number } {
    const shape = shapeOf(geometry)
    if (shape instanceof Polygon || shape instanceof MultiPolygon) return { area_ha: shape.getArea() / M2_IN_HA }
    return shape instanceof LineString ? { length_m: shape.getLength() } : {}
  }

  /** Where the middle of the picture is. */
  get middle(): [number, number] {
    return (this.map.getView().getCenter() ?? [0, 0]) as [number, number]
  }

  close() {
    this.map.setTarget(undefined)
    this.map.dispose()
  }
}
