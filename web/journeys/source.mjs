// A source file of the page that stands by itself, as a module of its own.
import { readFileSync } from 'node:fs'
import ts from 'typescript'

export function source(path) {
  const { outputText } = ts.transpileModule(readFileSync(new URL(`../src/${path}`, import.meta.url), 'utf8'), { compilerOptions: { module: ts.ModuleKind.ESNext, target: ts.ScriptTarget.ES2022 } })
  return import(`data:text/javascript,${encodeURIComponent(outputText)}`)
}
