// An invented desk for working on the page without one. Not part of the build. Nothing in it is a real place, figure or result.
import type { IncomingMessage, ServerResponse } from 'node:http'
import { crc32, deflateSync } from 'node:zlib'
import type { Plugin } from 'vite'
import { WebSocketServer, type WebSocket } from 'ws'
import * as made from './made.ts'

function png(width: number, height: number, rgba: (x: number, y: number) => [number, number, number, number]): Buffer {
  const raw = Buffer.alloc((width * 4 + 1) * height)
  for (let y = 0; y < height; y += 1)
    for (let x = 0; x < width; x += 1) raw.set(rgba(x, y), y * (width * 4 + 1) + 1 + x * 4)
  const chunk = (kind: string, body: Buffer) => {
    const typed = Buffer.concat([Buffer.from(kind), body])
    const out = Buffer.alloc(8)
    out.writeUInt32BE(body.length, 0)
    out.writeUInt32BE(crc32(typed) >>> 0, 4)
    return Buffer.concat([out.subarray(0, 4), typed, out.subarray(4)])
  }
  const head = Buffer.alloc(13)
  head.writeUInt32BE(width, 0)
  head.writeUInt32BE(height, 4)
  head.set([8, 6, 0, 0, 0], 8)
  return Buffer.concat([Buffer.from('89504e470d0a1a0a', 'hex'), chunk('IHDR', head), chunk('IDAT', deflateSync(raw)), chunk('IEND', Buffer.alloc(0))])
}

interface Told { method: string; at: string; query: URLSearchParams; body: any }

class Mock {
  version = 1
  measures: any[] = structuredClone(made.MEASURES)
  options: any[] = structuredClone(made.OPTIONS)
  visits: any[] = structuredClone(made.VISITS)
  undo: { label: string; measures: any[]; options: any[]; visits: any[] }[] = []
  redo: { label: string; measures: any[]; options: any[]; visits: any[] }[] = []
  jobs = new Map<number, any>()
  uploads: any[] = []
  open = !process.env.MOCK_EMPTY
  sockets = new Set<WebSocket>()

  plan() {
    const options = this.options.map((o) => {
      const mine = this.measures.filter((m) => m.option === o.number)
      return { ...o, measures: mine.length, gbp: [0, 1, 2].map((i) => mine.reduce((s, m) => s + m.gbp[i], 0)), faults: [] }
    })
    return { ...made.PLAN, version: this.version, options, undo: this.undo.at(-1)?.label ?? null, redo: this.redo.at(-1)?.label ?? null }
  }

  step(label: string, touched: string[], ids: string[], change: () => void) {
    this.undo.push({ label, measures: structuredClone(this.measures), options: structuredClone(this.options), visits: structuredClone(this.visits) })
    this.redo = []
    change()
    return this.told(label, touched, ids)
  }

  told(label: string, touched: string[], ids: string[]) {
    this.version += 1
    const edited = { version: this.version, label, ids, touched, others: 0, notes: [] }
    for (const s of this.sockets) s.send(JSON.stringify({ say: 'changed', ...edited }))
    return edited
  }

  turn(from: 'undo' | 'redo') {
    const held = this[from].pop()
    if (!held) return { status: 422, kind: 'refused', title: 'Nothing to take back', faults: [], version: null, theirs: [] }
    this[from === 'undo' ? 'redo' : 'undo'].push({ label: held.label, measures: this.measures, options: this.options, visits: this.visits })
    Object.assign(this, { measures: held.measures, options: held.options, visits: held.visits })
    return this.told(`${from === 'undo' ? 'Took back' : 'Did again'}: ${held.label}`, ['measures', 'options', 'birds'], [])
  }

  edit(request: any) {
    if (request.version < this.version - 5) return { status: 409, kind: 'changed', title: 'Changed meanwhile', faults: [], version: this.version, theirs: ['“Ragged native wood” was reshaped'] }
    const e = request.edits[0]
    if (e.do === 'put_measure') {
      const id = e.id ?? `M${String(this.measures.length + 1).padStart(2, '0')}`
      const state = made.measured({ ...e, id })
      return this.step(`${e.id ? 'Changed' : 'Laid'} “${state.title}”`, ['measures'], [id], () => { this.measures = [...this.measures.filter((m) => m.id !== id), state] })
    }
    if (e.do === 'drop_measures') return this.step('Took a measure out', ['measures'], e.ids, () => { this.measures = this.measures.filter((m) => !e.ids.includes(m.id)) })
    if (e.do === 'lay') return this.step('Laid what was put forward', ['measures'], [], () => { this.measures = [...this.measures, ...made.suggested(this.options.at(-1)?.number ?? 1, this.measures.length)] })
    if (e.do === 'add_option') {
      const number = Math.max(0, ...this.options.map((o) => o.number)) + 1
      return this.step(`Added option “${e.name}”`, ['options'], [String(number)], () => { this.options.push({ number, name: e.name, note: '' }) })
    }
    if (e.do === 'name_option') return this.step(`Named option ${e.number} anew`, ['options'], [], () => { this.options = this.options.map((o) => (o.number === e.number ? { ...o, name: e.name } : o)) })
    if (e.do === 'drop_option') return this.step('Took an option out', ['options', 'measures'], [], () => { this.options = this.options.filter((o) => o.number !== e.number); this.measures = this.measures.filter((m) => m.option !== e.number) })
    if (e.do === 'put_visit') return this.step('Entered a count', ['birds'], [], () => { this.visits = [...this.visits, { id: `K${this.visits.length + 1}`, start: null, hens: null, ...e, valid: true, why_not: '' }] })
    if (e.do === 'drop_visit') return this.step('Took a count out', ['birds'], [], () => { this.visits = this.visits.filter((v) => v.id !== e.id) })
    return { status: 422, kind: 'refused', title: 'Not in the mock', faults: [], version: null, theirs: [] }
  }

  job(ask: any) {
    const id = this.jobs.size + 1
    const { answer, measures, files, takes } = made.answered(ask, this)
    this.jobs.set(id, { began: Date.now(), takes, job: { id, ask, state: 'working', now: 'Working it out', seconds: 0, version: this.version, faults: [], answer: null, measures: 0, files: [] }, answer, measures, files })
    return this.jobNow(id)
  }

  jobNow(id: number) {
    const held = this.jobs.get(id)
    if (!held) return { status: 404, kind: 'not_found', title: 'No such job', faults: [], version: null, theirs: [] }
    const seconds = (Date.now() - held.began) / 1000
    if (held.job.state === 'working') {
      held.job.seconds = seconds
      if (seconds > held.takes) Object.assign(held.job, { state: 'done', answer: held.answer, measures: held.measures, files: held.files })
    }
    return held.job
  }

  answer({ method, at, query, body }: Told): unknown {
    const option = query.has('option') ? Number(query.get('option')) : null
    const year = Number(query.get('year') ?? 0)
    const mine = this.measures.filter((m) => m.option === option)
    if (at === '/api/plans' && method === 'GET') return [{ file: 'demo.gpkg', name: made.PLAN.name, open: this.open, trouble: '' }, { file: 'old.gpkg', name: '', open: false, trouble: 'made by a newer greyhen' }]
    if (at.startsWith('/api/plans')) { this.open = true; return this.plan() }
    if (!this.open) return { status: 404, kind: 'not_found', title: 'No plan is open', faults: [], version: null, theirs: [] }
    if (at === '/api/plan') return this.plan()
    if (at === '/api/ground') return { version: this.version, layers: made.LAYERS }
    if (at === '/api/ground-ahead') return made.ahead(option, year, mine, this.version)
    if (at === '/api/relief') return { extent: made.PLAN.extent, size: [300, 250] }
    if (at === '/api/year-sheet') return made.sheet(option, year, mine, this.version)
    if (at === '/api/season') return made.season(query.get('lek')!, query.get('season')!)
    if (at === '/api/kinds') return made.KINDS
    if (at === '/api/measures') return mine
    if (at === '/api/findings') return made.findings(mine)
    if (at === '/api/visits') return this.visits
    if (at === '/api/field') return { on: false, addresses: [], authority: '', fingerprint: '', pairing: null, devices: [], entries: [] }
    if (at.startsWith('/features/')) return { type: 'Feature', properties: { name: 'invented', height_cm: 20, heather_pct: 40 } }
    if (at === '/api/search') return made.search(query.get('q') ?? '', this.measures)
    if (at === '/api/edits') return this.edit(body)
    if (at === '/api/undo') return this.turn('undo')
    if (at === '/api/redo') return this.turn('redo')
    if (at === '/api/jobs') return method === 'GET' ? [...this.jobs.values()].reverse().map(({ job }) => ({ ...job, answer: null })) : this.job(body)
    if (at === '/api/uploads') { const u = { id: this.uploads.length + 1, name: query.get('name'), bytes: 2048, format: 'GeoJSON', layers: [] }; this.uploads.push(u); return u }
    if (at === '/api/imports') return made.imported(body, this.version)
    const job = at.match(/^\/api\/jobs\/(\d+)(\/keep)?$/)
    if (job) {
      const held = this.jobs.get(Number(job[1]))
      if (method === 'DELETE' && held) held.job.state = 'stopped'
      return this.jobNow(Number(job[1]))
    }
    return { status: 404, kind: 'not_found', title: `Nothing at ${at}`, faults: [], version: null, theirs: [] }
  }
}

export function mock(): Plugin {
  const desk = new Mock()
  return {
    name: 'invented-desk',
    configureServer(server) {
      const sockets = new WebSocketServer({ noServer: true })
      server.httpServer?.on('upgrade', (request, socket, head) => {
        if (request.url !== '/api/live') return
        sockets.handleUpgrade(request, socket, head, (ws) => {
          desk.sockets.add(ws)
          ws.on('close', () => desk.sockets.delete(ws))
          ws.on('message', (text) => {
            const said = JSON.parse(String(text))
            if (said.say === 'stroke') ws.send(JSON.stringify(made.stroked(said, desk.measures)))
          })
        })
      })
      server.middlewares.use((request: IncomingMessage, response: ServerResponse, next: () => void) => {
        const url = new URL(request.url ?? '/', 'http://desk')
        if (!/^\/(api|features)\//.test(url.pathname)) return next()
        if (url.pathname.endsWith('.png')) {
          response.setHeader('content-type', 'image/png')
          response.end(url.pathname.includes('relief') ? png(300, 250, made.reliefPixel) : png(300, 250, made.seasonPixel(url.searchParams.get('lek') ?? '', url.searchParams.get('season') ?? '')))
          return
        }
        const parts: Buffer[] = []
        request.on('data', (part: Buffer) => parts.push(part))
        request.on('end', () => {
          const text = Buffer.concat(parts).toString()
          let body: unknown
          try { body = text ? JSON.parse(text) : {} } catch { body = text }
          const answer = desk.answer({ method: request.method ?? 'GET', at: url.pathname, query: url.searchParams, body }) as { status?: number }
          response.statusCode = typeof answer === 'object' && answer && 'status' in answer && 'title' in answer ? (answer.status ?? 200) : 200
          response.setHeader('content-type', response.statusCode >= 400 ? 'application/problem+json' : 'application/json')
          response.end(JSON.stringify(answer))
        })
      })
    },
  }
}
