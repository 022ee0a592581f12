// The works of the option shown, kept while the reader goes from room to room.
import { desk } from '../lib/desk.svelte'
import { Question } from '../lib/jobs.svelte'
import { place } from '../lib/place.svelte'
import type { WorksDocument } from './document'

class Works {
  question = new Question<WorksDocument>()
  from = $state('')
  #asked = ''

  ask(again = false) {
    const key = `${desk.plan?.file}|${desk.plan?.version}|${place.option}|${this.from}`
    if (place.option === null || (key === this.#asked && !again)) return
    this.#asked = key
    void this.question.ask({ ask: 'works', option: place.option, ...(this.from ? { from: this.from } : {}) })
  }
}

export const works = new Works()
