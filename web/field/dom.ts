// Making elements. Text goes in as text alone: what somebody named a lek never becomes markup.

type Child = Node | string | null | undefined | false

/** An element with attributes, listeners (`onclick`) and children. */
export function el<K extends keyof HTMLElementTagNameMap>(tag: K, about: Record<string, unknown> = {}, ...children: Child[]): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag)
  for (const [name, value] of Object.entries(about)) {
    if (value === null || value === undefined || value === false) continue
    if (name.startsWith('on')) made.addEventListener(name.slice(2), value as EventListener)
    else made.setAttribute(name, value === true ? '' : String(value))
  }
  made.append(...children.filter((child): child is Node | string => typeof child === 'string' || child instanceof Node))
  return made
}

/** Text somebody else wrote, kept from turning what stands round it. */
export const own = (text: string): HTMLElement => el('bdi', {}, text)

/** A labelled field. */
export function field(label: string, input: HTMLElement, hint = ''): HTMLElement {
  const id = input.id || `f${Math.random().toString(36).slice(2)}`
  input.id = id
  if (hint) input.setAttribute('aria-describedby', `${id}-hint`)
  return el('div', {}, el('label', { for: id }, label), input, hint && el('p', { class: 'hint', id: `${id}-hint` }, hint))
}

/** A number with a button on either side. */
export function count(name: string, label: string, value = '', hint = ''): HTMLElement {
  const input = el('input', { name, type: 'number', inputmode: 'numeric', min: 0, max: 999, step: 1, value })
  const step = (by: number) => () => {
    input.value = String(Math.max(0, (input.value === '' ? (by > 0 ? 0 : 1) : Number(input.value)) + by))
    input.dispatchEvent(new Event('input', { bubbles: true }))
  }
  const button = (text: string, by: number, words: string) => el('button', { type: 'button', 'aria-label': words, onclick: step(by) }, text)
  const box = el('div', { class: 'count' }, button('−', -1, `one fewer: ${label.toLowerCase()}`), input, button('+', 1, `one more: ${label.toLowerCase()}`))
  const id = `n-${name}`
  input.id = id
  if (hint) input.setAttribute('aria-describedby', `${id}-hint`)
  return el('div', {}, el('label', { for: id }, label), box, hint && el('p', { class: 'hint', id: `${id}-hint` }, hint))
}
