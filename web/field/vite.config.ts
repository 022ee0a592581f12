import { createHash } from 'node:crypto'
import { readdirSync, readFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vite'

const here = dirname(fileURLToPath(import.meta.url))

/** A mark of everything the field page is made of: another mark, and phones fetch it anew. */
function built(): string {
  const mark = createHash('sha256')
  for (const folder of [here, join(here, 'public')]) {
    for (const name of readdirSync(folder).sort()) if (/\.(ts|css|html|svg|webmanifest)$/.test(name)) mark.update(readFileSync(join(folder, name)))
  }
  return mark.digest('hex').slice(0, 12)
}

export default defineConfig({
  root: here,
  base: '/field/',
  publicDir: join(here, 'public'),
  define: { BUILT: JSON.stringify(built()) },
  build: {
    target: 'es2022',
    outDir: join(here, '../dist/field'),
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: false,
    rollupOptions: {
      input: { page: join(here, 'index.html'), worker: join(here, 'worker.ts') },
      output: { entryFileNames: '[name].js', chunkFileNames: '[name].js', assetFileNames: (asset) => (asset.names.some((name) => name.endsWith('.css')) ? 'look.css' : '[name][extname]') },
    },
  },
})
