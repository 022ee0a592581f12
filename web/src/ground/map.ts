// The one picture of the ground. Everything of the map library stays in this folder.
import Feature from 'ol/Feature'
import GeoJSON from 'ol/format/GeoJSON'
import { Circle as CircleShape, LineString, type Geometry } from 'ol/geom'
import { defaults as defaultInteractions } from 'ol/interaction/defaults'
import ImageLayer from 'ol/layer/Image'
import VectorLayer from 'ol/layer/Vector'
import Map from 'ol/Map'
import { getCenter } from 'ol/extent'
import { get as projectionOf } from 'ol/proj'
import { register } from 'ol/proj/proj4'
import ImageStatic from 'ol/source/ImageStatic'
import VectorSource from 'ol/source/Vector'
import View from 'ol/View'
import proj4 from 'proj4'
import type { FindingState, Ground, MeasureState, Picture, PlanState, SeasonGround, Stood } from '../api/types'
import { gridStep } from './gridref'
import * as looks from './looks'
import { Pen } from './pen'

export type Extent = [number, number, number, number]
export interface Pressed { layer: string; id: string }
export interface Edges { across: { at: number; value: number }[]; down: { at: number; value: number }[]; metresPerPixel: number; step: number }

const shapes = new GeoJSON()
export const shapeOf = (geometry: unknown): Geometry => shapes.readGeometry(geometry) as Geometry
export const jsonOf = (geometry: Geometry): unknown => shapes.writeGeometryObject(geometry, { decimals: 2 })

const ORDER = ['patches', 'parcels', 'woods', 'areas', 'watercourses', 'ditches', 'tracks', 'fences', 'services', 'buildings', 'sticks', 'probes', 'boundary']
const PRESSED_FIRST = ['findings', 'leks', 'measures', 'mend', 'woods', 'patches', 'fences', 'ditches', 'watercourses', 'areas', 'parcels']

export class GroundMap {
  readonly map: Map
  readonly pen: Pen
  #survey = new globalThis.Map<string, VectorLayer>()
  #relief = new ImageLayer<ImageStatic>({ zIndex: 15, opacity: 0.3 })
  #season = new ImageLayer<ImageStatic>({ zIndex: 30 })
  #over = new globalThis.Map<string, VectorLayer>()
  #projection

  constructor(target: HTMLElement, plan: PlanState, told: { press(at: Pressed): void; edges(edges: Edges): void; pointer(at: [number, number] | null): void }) {
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
    for (const [i, layer] of ['grid', 'reach', 'mend', 'measures', 'preview', 'findings', 'leks'].entries()) {
      const over = new VectorLayer({ source: new VectorSource(), zIndex: 40 + i, declutter: false })
      over.set('layer', layer)
      this.#over.set(layer, over)
      this.map.addLayer(over)
    }
    this.#over.get('grid')?.setStyle(looks.gridLine)
    this.#over.get('reach')?.setStyle(looks.reach)
    this.#over.get('preview')?.setStyle(looks.preview)
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
    this.map.on('postrender', () => told.edges(this.#edges()))
    this.map.on('moveend', () => this.#drawGrid())
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
    this.#fill('leks', plan.leks.map((l) => {
      const feature = new Feature(shapeOf({ type: 'Point', coordinates: l.at }))
      feature.setId(l.id)
      feature.setStyle(looks.lek(l.name, l.id === on))
      return feature
    }))
  }

  /** What a season finds there: the rest of the ground steps back. */
  season(season: SeasonGround | null, url: string, at: [number, number] | null, mendOn: string | null) {
    const faint = season ? 0.42 : 1
    for (const layer of ['patches', 'woods', 'areas']) this.#survey.get(layer)?.setOpacity(faint)
    this.#season.setSource(season ? this.#picture(url, season.picture) : null)
    this.#fill('reach', season && at ? [new Feature(new CircleShape(at, season.reach_m))] : [])
    this.#fill('mend', (season?.could_mend ?? []).flatMap((m, i) => {
      const geometry = this.#survey.get(m.layer)?.getSource()?.getFeatureById(m.id)
      if (!(geometry instanceof Feature)) return []
      const feature = new Feature(geometry.getGeometry()?.clone())
      feature.setId(`${m.layer}/${m.id}`)
      feature.setStyle(looks.mend(i + 1, mendOn === `${m.layer}/${m.id}`))
      return [feature]
    }))
  }

  measures(measures: MeasureState[], on: string | null, hidden: string | null, woods: Stood[]) {
    const then = new globalThis.Map(woods.map((w) => [w.id, w]))
    this.#fill('measures', measures.flatMap((m) => {
      if (!m.geometry || m.id === hidden) return []
      const feature = new Feature({ geometry: shapeOf(m.geometry), stood: then.get(m.id) })
      feature.setId(m.id)
      feature.setStyle(looks.measure(feature, m.id === on))
      return [feature]
    }))
  }

  /** Marks of findings; where the reader asks something else, only those that must be minded. */
  findings(findings: FindingState[], on: number | null, all: boolean) {
    this.#fill('findings', findings.flatMap((f, i) => {
      if (!f.geometry || !(all || f.severity === 'must' || on === i)) return []
      const feature = new Feature(shapeOf({ type: 'Point', coordinates: getCenter(shapeOf(f.geometry).getExtent()) }))
      feature.setId(String(i))
      feature.setStyle(looks.finding(i + 1, f.severity, on === i))
      return [feature]
    }))
  }

  preview(geometries: unknown[]) {
    this.#fill('preview', geometries.filter(Boolean).map((g) => new Feature(shapeOf(g))))
    if (geometries.some(Boolean)) this.look(this.#over.get('preview')?.getSource()?.getExtent() as Extent)
  }

  /** Bring an extent into the picture. */
  look(extent: Extent, close = false) {
    if (!extent.every(Number.isFinite)) return
    this.map.getView().fit(extent, { padding: [50, 50, 50, 60], maxZoom: 22, minResolution: close ? 1.2 : 2.5 })
  }

  /** The whole holding: its march, or the plan's extent where it has none. */
  lookAtWhole(extent: Extent) {
    const march = this.#survey.get('boundary')?.getSource()?.getExtent() as Extent | undefined
    this.look(march?.every(Number.isFinite) ? march : extent)
  }

  lookAt(geometry: unknown) {
    this.look(shapeOf(geometry).getExtent() as Extent)
  }

  feature({ layer, id }: Pressed): { name: string; words: string } | null {
    const feature = this.#survey.get(layer)?.getSource()?.getFeatureById(id)
    return feature instanceof Feature ? { name: String(feature.get('name')), words: String(feature.get('words')) } : null
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
