import { describe, expect, it } from 'vitest';
import type { JointPlaces } from '../../src/compare/places.ts';
import { againstRests } from '../../src/compare/rests.ts';
import type { Hold } from '../../src/timing/timing.ts';

const count = 40;
const frames = Float64Array.from({ length: count }, (_, i) => i);
const column = (of: (i: number) => number) => Float64Array.from(frames, of);
const places = (x: (i: number) => number, sd: number): JointPlaces => ({
  count,
  at: new Map([['leftWrist', { x: column(x), y: column(() => 0), sd: column(() => sd) }]]),
});
const hold = (firstFrame: number, length: number): Hold => ({ firstFrame, frames: length, kind: 'hold' }) as Hold;

/** Held, moved by 50 from frame 15 to 25, and held. */
const plan = (i: number) => 5 * Math.min(10, Math.max(0, i - 15));
const holds = [hold(0, 15), hold(25, 15)];
/** Seen 4 beside its place in the first pose, 3 to the other side in the second. */
const seen = (i: number) => plan(i) + (i < 20 ? 4 : -3);
const steps = (lost: readonly number[]) =>
  new Map([['leftWrist', column((i) => (i === 0 ? Number.NaN : lost.includes(i) ? 30 : 0.1))]] as const);
const rested = (lost: readonly number[]) =>
  againstRests(places(seen, 3), places(plan, 0), frames, holds, steps(lost), 250).at.get('leftWrist')!;

describe('places as against where a joint rests', () => {
  it('are those of the plan on both sides of a step that was not followed, and far surer', () => {
    const { x, sd } = rested([20]);
    for (let i = 0; i < count; i++) expect(Math.abs(x[i]! - plan(i)), `${i}`).toBeLessThan(0.01);
    expect(Math.max(...sd)).toBeLessThan(0.6);
    // The further from a rest, the less sure.
    expect(sd[19]!).toBeGreaterThan(sd[16]!);
  });

  it('are left where no step leads from a rest', () => {
    const { x, sd } = rested([17, 24]);
    expect([x[20], sd[20]]).toEqual([seen(20), 3]);
    expect(x[16]).toBeCloseTo(plan(16), 2);
  });

  it('of a hold that drifts are as against its nearer end', () => {
    const drifting = (i: number) => (i < 15 ? i / 3 : seen(i));
    const { x } = againstRests(places(drifting, 3), places(plan, 0), frames, holds, steps([20]), 250).at.get(
      'leftWrist',
    )!;
    // At its end it lies 4.7 beside its place, on its way 4.
    expect(Math.abs(x[17]! - plan(17))).toBeLessThan(0.5);
  });

  it('are as they were where nobody knows what steps err by, or nothing is held', () => {
    const none = againstRests(places(seen, 3), places(plan, 0), frames, holds, new Map(), 250).at.get('leftWrist')!;
    expect(none.x).toEqual(column(seen));
    const moved = againstRests(places(seen, 3), places(plan, 0), frames, [], steps([]), 250).at.get('leftWrist')!;
    expect(moved.x).toEqual(column(seen));
  });
});
