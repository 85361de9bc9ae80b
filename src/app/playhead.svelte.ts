import { type FrameRate, frameAt, frameStartSec } from '../base/frameRate.ts';

/** What the playhead must know of the shot; read anew at every step, so that edits while playing are heard. */
export interface PlayheadShot {
  readonly rate: FrameRate;
  readonly frameCount: number;
}

/** One pass of playing: frame `fromFrame` begins at `startMs` of `performance.now()`, and frame `toFrame` is its last. */
export interface PlayRun {
  readonly startMs: number;
  readonly fromFrame: number;
  readonly toFrame: number;
  readonly speed: number;
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
  /** The pass that is playing, for whatever must keep in step with it (sound); null when stopped. Another at each turn of a loop. */
  run = $state.raw<PlayRun | null>(null);
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
    this.run = null;
  }

  play(): void {
    const { from, to } = this.#span();
    const first = this.frame >= to || this.frame < from ? from : this.frame;
    this.playing = true;
    this.frame = first;
    this.run = { startMs: performance.now(), fromFrame: first, toFrame: to, speed: this.speed };
    const tick = (nowMs: number) => {
      const { run } = this;
      if (!this.playing || !run) return;
      const { rate } = this.shot();
      const span = this.#span();
      // From the clock, never by adding: a slow screen drops frames instead of playing slowly.
      const frame = run.fromFrame + frameAt(rate, Math.max(0, (nowMs - run.startMs) / 1000) * run.speed);
      if (frame > span.to) {
        const lengthSec = frameStartSec(rate, span.to + 1 - run.fromFrame);
        const startMs = run.startMs + (lengthSec / run.speed) * 1000;
        this.run = { startMs, fromFrame: span.from, toFrame: span.to, speed: this.speed };
        this.frame = span.from;
      } else {
        this.frame = frame;
        // Another speed goes on from here, not from where it would be had it always been so fast.
        if (run.speed !== this.speed || run.toFrame !== span.to) this.run = this.#goOn(run, nowMs, span.to);
      }
      this.#request = requestAnimationFrame(tick);
    };
    this.#request = requestAnimationFrame(tick);
  }

  /** The seconds of the shot that are on screen at a moment of `performance.now()`; the frame's beginning when stopped. */
  shotSecAt(ms: number): number {
    const { rate } = this.shot();
    if (!this.run) return frameStartSec(rate, this.frame);
    return frameStartSec(rate, this.run.fromFrame) + (Math.max(0, ms - this.run.startMs) / 1000) * this.run.speed;
  }

  #goOn(run: PlayRun, nowMs: number, toFrame: number): PlayRun {
    const { rate } = this.shot();
    // Begun at the frame that shows, as long ago as it has shown at the new speed.
    const sinceSec =
      Math.max(0, (nowMs - run.startMs) / 1000) * run.speed - frameStartSec(rate, this.frame - run.fromFrame);
    return { startMs: nowMs - (sinceSec / this.speed) * 1000, fromFrame: this.frame, toFrame, speed: this.speed };
  }

  #span(): { from: number; to: number } {
    const last = this.shot().frameCount - 1;
    return this.loop ? { from: this.loop.from, to: Math.min(last, this.loop.to) } : { from: 0, to: last };
  }
}
