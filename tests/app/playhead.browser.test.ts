import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { Playhead } from '../../src/app/playhead.svelte.ts';
import { Taps } from '../../src/app/timing/taps.svelte.ts';

/** The page's clock, turned by hand. */
let nowMs = 0;
let wanted: FrameRequestCallback | null = null;

/** Lets time pass, with a picture painted every 10 ms. */
function pass(ms: number): void {
  const until = nowMs + ms;
  while (nowMs < until) {
    nowMs = Math.min(until, nowMs + 10);
    const paint = wanted;
    wanted = null;
    paint?.(nowMs);
  }
}

beforeEach(() => {
  nowMs = 5000;
  wanted = null;
  vi.spyOn(performance, 'now').mockImplementation(() => nowMs);
  vi.stubGlobal('requestAnimationFrame', (callback: FrameRequestCallback) => {
    wanted = callback;
    return 1;
  });
  vi.stubGlobal('cancelAnimationFrame', () => {
    wanted = null;
  });
});

afterEach(() => {
  vi.unstubAllGlobals();
  vi.restoreAllMocks();
});

const shot = () => ({ rate: { frames: 24, seconds: 1 }, frameCount: 48 });

describe('Playhead', () => {
  it('says when each pass began, to the moment, so that sound can keep in step', () => {
    const playhead = new Playhead(shot);
    playhead.goTo(12);
    playhead.play();
    expect(playhead.run).toEqual({ startMs: 5000, fromFrame: 12, toFrame: 47, speed: 1 });
    pass(1000);
    expect(playhead.frame).toBe(36);
    expect(playhead.shotSecAt(nowMs)).toBeCloseTo(1.5, 9);
    // The next turn begins when the last frame ends, not when the page noticed it.
    pass(600);
    expect(playhead.run).toEqual({ startMs: 6500, fromFrame: 0, toFrame: 47, speed: 1 });
    expect(playhead.shotSecAt(nowMs)).toBeCloseTo(0.1, 9);
    playhead.pause();
    expect(playhead.run).toBeNull();
    expect(playhead.shotSecAt(nowMs)).toBeCloseTo(2 / 24, 9);
  });

  it('goes on from where it is when the speed is changed', () => {
    const playhead = new Playhead(shot);
    playhead.play();
    pass(500);
    expect(playhead.frame).toBe(12);
    playhead.speed = 0.25;
    pass(10);
    expect(playhead.run?.speed).toBe(0.25);
    expect(playhead.shotSecAt(nowMs)).toBeCloseTo(0.51, 6);
    pass(990);
    expect(playhead.shotSecAt(nowMs)).toBeCloseTo(0.51 + 0.99 / 4, 6);
    expect(playhead.frame).toBe(18);
  });
});

describe('Taps', () => {
  it('are beats of the shot: tapped at half speed the tempo is twice as fast, and falls where the shot was', () => {
    const playhead = new Playhead(shot);
    playhead.speed = 0.5;
    playhead.goTo(6);
    playhead.play();
    const taps = new Taps();
    pass(200);
    for (let i = 0; i < 5; i++) {
      taps.tap(nowMs, playhead);
      pass(600);
    }
    expect(taps.count).toBe(5);
    expect(taps.tempo?.beatsPerMinute).toBeCloseTo(200, 6);
    // 6 frames in, and 0.2 s at half speed.
    expect(taps.tempo?.firstBeatSec).toBeCloseTo(0.25 + 0.1, 6);
  });

  it('begin anew after a pause, at the frame that shows when the shot stands still', () => {
    const playhead = new Playhead(shot);
    const taps = new Taps();
    for (let i = 0; i < 3; i++) {
      taps.tap(nowMs, playhead);
      pass(500);
    }
    const before = taps.gesture;
    pass(3000);
    playhead.goTo(24);
    for (let i = 0; i < 3; i++) {
      taps.tap(nowMs, playhead);
      pass(400);
    }
    expect(taps.count).toBe(3);
    expect(taps.gesture).not.toBe(before);
    expect(taps.tempo?.beatsPerMinute).toBeCloseTo(150, 6);
    expect(taps.tempo?.firstBeatSec).toBeCloseTo(1, 6);
  });
});
