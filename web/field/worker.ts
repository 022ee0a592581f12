/// <reference lib="webworker" />
// Keeps the page on the phone, so that it opens without a network. What is sent and fetched of the plan is never kept here.

const self_ = globalThis as unknown as ServiceWorkerGlobalScope
declare const BUILT: string

const NAME = `field-${BUILT}`
const FILES = ['/field/', '/field/page.js', '/field/look.css', '/field/field.webmanifest', '/field/mark.svg', '/field/how']

self_.addEventListener('install', (event) => {
  const fill = caches.open(NAME).then((cache) => cache.addAll(FILES.map((file) => new Request(file, { cache: 'reload' }))))
  event.waitUntil(fill.then(() => self_.skipWaiting()))
})

self_.addEventListener('activate', (event) => {
  const old = caches.keys().then((names) => Promise.all(names.filter((name) => name !== NAME).map((name) => caches.delete(name))))
  event.waitUntil(old.then(() => self_.clients.claim()))
})

self_.addEventListener('fetch', (event) => {
  const path = new URL(event.request.url).pathname
  if (event.request.method !== 'GET' || !FILES.includes(path)) return
  event.respondWith(caches.open(NAME).then((cache) => cache.match(path)).then((kept) => kept ?? fetch(event.request)))
})
