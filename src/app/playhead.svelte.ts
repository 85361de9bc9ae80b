import { type FrameRate, frameAt, frameStartSec } from '../base/frameRate.ts';

/** What the playhead must know of the shot; read anew at every step, so that edits while playing are heard. */
export interface PlayheadShot {
  readonly rate: FrameRate;
  readonly frameCount: number;
}

/**
 * Where we are in the shot. Apart from the book, since it changes at every frame and is neither saved nor undone.
 */
export class Playhead {
  /** The frame shown, from 0. */
  frame = $state(0);
  playing = $state(false);
  /** Play the frames from `loopFrom` to `loopTo` (inclusive) round and round; null = the whole shot. */
  loop = $state.raw<{ from: number; to: number } | null>(null);
  /** Speed as a share of real time. */
  speed = $state(1);
  #request = 0;

  constructor(private readonly shot: () => PlayheadShot) {}

  /** Shows this frame, clamped to the shot. */
  goTo(frame: number): void {
    this.frame = Math.max(0, Math.min(this.shot().frameCount - 1, Math.round(frame)));
  }

  /** Stops, and goes `frames` on (back when negative). */
  step(frames: number): void {
    this.pause();
    this.goTo(this.frame + frames);
  }

  /** Plays from here at the shot's rate (from the start when at the end), or stops. */
  toggle(): void {
    if (this.playing) this.pause();
    else this.play();
  }

  pause(): void {
    cancelAnimationFrame(this.#request);
    this.playing = false;
  }

  play(): void {
    const { from, to } = this.#span();
    const first = this.frame >= to || this.frame < from ? from : this.frame;
    this.playing = true;
    let startMs = performance.now();
    let startFrame = first;
    this.frame = first;
    const tick = (nowMs: number) => {
      if (!this.playing) return;
      const { rate } = this.shot();
      const span = this.#span();
      // From the clock, never by adding: a slow screen drops frames instead of playing slowly.
      const passedSec = Math.max(0, (nowMs - startMs) / 1000) * this.speed;
      const frame = startFrame + frameAt(rate, passedSec);
      if (frame > span.to) {
        const lengthSec = frameStartSec(rate, span.to + 1 - startFrame);
        startMs += (lengthSec / this.speed) * 1000;
        startFrame = span.from;
        this.frame = span.from;
      } else this.frame = frame;
      this.#request = requestAnimationFrame(tick);
    };
    this.#request = requestAnimationFrame(tick);
  }

  #span(): { from: number; to: number } {
    const last = this.shot().frameCount - 1;
    return this.loop ? { from: this.loop.from, to: Math.min(last, this.loop.to) } : { from: 0, to: last };
  }
}
