/** Keeps the screen from going dark by itself while the puppet is being moved. */
export class StaysAwake {
  /** The browser keeps it on now. */
  isAwake = $state(false);
  #lock: WakeLockSentinel | null = null;
  #wanted = false;

  /** From now on. */
  begin(): void {
    this.#wanted = true;
    document.addEventListener('visibilitychange', this.#askAgain);
    void this.#ask();
  }

  /** No more. */
  end(): void {
    this.#wanted = false;
    document.removeEventListener('visibilitychange', this.#askAgain);
    void this.#lock?.release();
    this.#lock = null;
    this.isAwake = false;
  }

  /** A lock ends whenever the page is hidden, and does not come back by itself. */
  #askAgain = (): void => {
    if (document.visibilityState === 'visible') void this.#ask();
  };

  async #ask(): Promise<void> {
    if (this.#lock || !navigator.wakeLock) return;
    try {
      const lock = await navigator.wakeLock.request('screen');
      if (!this.#wanted || this.#lock) return void lock.release();
      this.#lock = lock;
      this.isAwake = true;
      lock.addEventListener('release', () => {
        if (this.#lock !== lock) return;
        this.#lock = null;
        this.isAwake = false;
      });
    } catch {
      // An empty battery, or the browser's word: what is on the screen says so.
    }
  }
}
