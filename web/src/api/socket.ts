// The socket to the desk: it comes back by itself, and says whether it is there.
import type { FromPage, ToPage } from './types'

export interface Listener {
  heard(message: ToPage): void
  joined(): void
  lost(): void
}

const LONGEST_WAIT_MS = 8000

export class Socket {
  #socket: WebSocket | null = null
  #wait = 400
  #closed = false

  constructor(private readonly listener: Listener) {
    this.#join()
  }

  #join() {
    if (this.#closed) return
    const at = new URL('/api/live', location.href)
    at.protocol = at.protocol === 'https:' ? 'wss:' : 'ws:'
    const socket = new WebSocket(at)
    this.#socket = socket
    socket.onopen = () => {
      this.#wait = 400
      this.listener.joined()
    }
    socket.onmessage = (event) => this.listener.heard(JSON.parse(String(event.data)) as ToPage)
    socket.onclose = () => {
      this.listener.lost()
      setTimeout(() => this.#join(), this.#wait)
      this.#wait = Math.min(this.#wait * 2, LONGEST_WAIT_MS)
    }
  }

  /** Say something; false where nobody hears it. */
  say(message: FromPage): boolean {
    if (this.#socket?.readyState !== WebSocket.OPEN) return false
    this.#socket.send(JSON.stringify(message))
    return true
  }

  close() {
    this.#closed = true
    this.#socket?.close()
  }
}
