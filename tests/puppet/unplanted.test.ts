import { describe, expect, it } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import type { Stands } from '../../src/puppet/feet.ts';
import { findUnplanted } from '../../src/puppet/unplanted.ts';
import type { JointPath, Motion } from '../../src/track/motion.ts';

const [fps, heightPx, n] = [24, 425, 40];
const timesSec = Float64Array.from({ length: n }, (_, k) => k / fps);
/** Frames in which no foot stands. */
const [from, to] = [12, 24];
const standing = Array.from({ length: n }, (_, k) => (k >= from && k < to ? null : ('foot' as const)));
const stands: Stands = { left: standing, right: standing };

/** Hips and feet go up by what is asked, pixels, between the stands; ground may rise along the picture. */
function motionOf(rise: { hips: (sec: number) => number; feet: (sec: number) => number; ground?: number }): Motion {
  const path = (y: number, up: (sec: number) => number): JointPath => ({
    xPx: new Float64Array(n),
    yPx: timesSec.map((sec, k) => y - (k >= from && k < to ? up(sec - timesSec[from]!) : 0) - (rise.ground ?? 0) * k),
    vxPx: new Float64Array(n),
    vyPx: new Float64Array(n),
    sdPx: new Float64Array(n).fill(0.1),
    confidence: new Float32Array(n).fill(1),
    guessed: new Uint8Array(n),
  });
  const joints: readonly [Joint, number, (sec: number) => number][] = [
    ['pelvis', 300, rise.hips],
    ...(['left', 'right'] as const).flatMap((side): [Joint, number, (sec: number) => number][] => [
      [`${side}Ankle`, 508, rise.feet],
      [`${side}Heel`, 520, rise.feet],
      [`${side}Toe`, 522, rise.feet],
    ]),
  ];
  return { timesSec, paths: new Map(joints.map(([joint, y, up]) => [joint, path(y, up)])) };
}

const seconds = (to - from) / fps;
const perM = heightPx / 1.7;
/** A throw that lands where it left after `seconds`, with a share of gravity. */
const thrown = (share: number) => (sec: number) => ((share * 9.81 * perM) / 2) * sec * (seconds - sec);

describe('frames in which no foot stands', () => {
  it('are in the air where the lower foot is well over its ground', () => {
    const held = motionOf({ hips: () => 0, feet: () => 0.06 * heightPx });
    expect(findUnplanted(held, stands, heightPx)).toEqual([{ firstFrame: from, frames: to - from, how: 'air' }]);
  });

  it('are in the air where the hips fall freely, however low the feet stay', () => {
    const hop = motionOf({ hips: thrown(1), feet: () => 0.02 * heightPx });
    expect(findUnplanted(hop, stands, heightPx)[0]!.how).toBe('air');
  });

  it('are on the floor where a foot slides or turns, hips bobbing', () => {
    const turn = motionOf({ hips: thrown(0.4), feet: () => 0.03 * heightPx });
    expect(findUnplanted(turn, stands, heightPx)[0]!.how).toBe('sliding');
  });

  it('measures from the ground between the stands: going away from the lens is no rising', () => {
    const away = motionOf({ hips: () => 0, feet: () => 0, ground: 6 });
    expect(findUnplanted(away, stands, heightPx)[0]!.how).toBe('sliding');
  });

  it('are none where one foot stands throughout', () => {
    const always = standing.map(() => 'foot' as const);
    expect(findUnplanted(motionOf({ hips: thrown(1), feet: () => 0 }), { ...stands, left: always }, heightPx)).toEqual(
      [],
    );
  });
});
