import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig } from 'vite'
import { mock } from './dev/mock.ts'

// `DESK=http://127.0.0.1:PORT npm run dev` works against a running desk, once the address that it printed has been opened in the same
// browser; without it an invented one answers. The desk is asked by its own name, or it would let nobody in.
const desk = process.env.DESK

export default defineConfig(({ command }) => ({
  plugins: [svelte(), ...(command === 'serve' && !desk ? [mock()] : [])],
  build: { target: 'es2022', assetsInlineLimit: 0, modulePreload: { polyfill: false }, chunkSizeWarningLimit: 900 },
  server: { host: '127.0.0.1', proxy: desk ? Object.fromEntries(['/api', '/features'].map((at) => [at, { target: desk, ws: at === '/api', changeOrigin: true, headers: { origin: desk } }])) : undefined },
}))
