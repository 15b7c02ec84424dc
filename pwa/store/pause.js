// Work that follows many of something: done once they pause, so that it holds none of them up, and not put off for ever.

export class AfterPause {
  /**
   * @param {() => void} work
   * @param {number} pauseMs how long nothing must have been asked
   * @param {number} mostMs it is done so long after it was first asked, whatever goes on
   */
  constructor(work, pauseMs, mostMs) {
    this.work = work;
    this.pauseMs = pauseMs;
    this.mostMs = mostMs;
    /** @type {ReturnType<typeof setTimeout> | null} */
    this.timer = null;
    /** When it is done at the latest. @type {number} */
    this.until = 0;
  }

  ask() {
    const now = performance.now();
    if (this.timer === null) this.until = now + this.mostMs;
    clearTimeout(this.timer ?? undefined);
    this.timer = setTimeout(() => this.#do(), Math.max(0, Math.min(this.pauseMs, this.until - now)));
  }

  #do() {
    this.timer = null;
    this.work();
  }

  cancel() {
    clearTimeout(this.timer ?? undefined);
    this.timer = null;
  }
}
