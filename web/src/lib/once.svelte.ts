// Work that is not begun again while it is under way, however often its button is pressed.
export class Once {
  busy = $state(false)

  async run(work: () => Promise<void>) {
    if (this.busy) return
    this.busy = true
    try {
      await work()
    } finally {
      this.busy = false
    }
  }
}
