import { describe, expect, it } from 'vitest';
import { listPopThrough } from '../../src/plan/popThrough.ts';
import { rehearsalClicks, rehearsedFrame } from '../../src/plan/rehearsal.ts';
import { madePlan } from './madeTiming.ts';

const plan = madePlan({ book: { sound: { nudgeSec: 0, beatsPerMinute: 120, firstBeatSec: 0 } } });
const poses = listPopThrough(plan);

describe('the rehearsal', () => {
  it('clicks at each key pose, on the beats or on every frame, never twice', () => {
    const at = poses.map((p) => p.firstFrame);
    expect(rehearsalClicks(plan, 'poses')).toEqual(at.map((frame) => ({ frame, isPose: true })));
    const beats = rehearsalClicks(plan, 'beats');
    // 120 a minute at 24 fps: every 12 frames.
    expect(beats.filter((c) => c.frame % 12 === 0).map((c) => c.frame)).toEqual(
      Array.from({ length: plan.timing.grid.frameCount / 12 }, (_, i) => 12 * i),
    );
    expect(beats.filter((c) => c.isPose).map((c) => c.frame)).toEqual(at);
    expect(rehearsalClicks(plan, 'frames').map((c) => c.frame)).toEqual([...Array(plan.timing.grid.frameCount).keys()]);
    // A book without a tempo has no beats.
    expect(rehearsalClicks(madePlan(), 'beats').every((c) => c.isPose)).toBe(true);
  });

  it('holds every key pose for its frames', () => {
    const shown = Array.from({ length: plan.timing.grid.frameCount }, (_, k) => rehearsedFrame(poses, k)!);
    for (const [i, pose] of poses.entries()) {
      const its = shown.filter((s) => s.pose === pose);
      expect(its.map((s) => s.framesLeft)).toEqual(Array.from({ length: pose.frames }, (_, k) => pose.frames - k));
      expect(its.every((s) => s.number === i + 1 && s.of === poses.length && s.next === (poses[i + 1] ?? null))).toBe(
        true,
      );
    }
    expect(rehearsedFrame(poses, plan.timing.grid.frameCount)).toBeNull();
  });
});
