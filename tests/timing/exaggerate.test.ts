import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bones, type Joint } from '../../src/base/joints.ts';
import { twoBones } from '../../src/base/twoBones.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { exaggerate, neutralPose } from '../../src/timing/exaggerate.ts';
import { turnedFurther } from '../../src/timing/limbGeometry.ts';
import { constructJoints } from '../../src/track/constructed.ts';
import type { Motion } from '../../src/track/motion.ts';
import { authoredMotion, tracksThrough } from './authored.ts';
import { choicesFor } from './choices.ts';

/** A made performance with the joints that follow from others, at the shot's frames. */
function performance(seed: number) {
  const made = authoredMotion(seed);
  const plain = tracksThrough(made.places(30), made.bodyHeightPx, 0);
  const tracks = {
    ...plain,
    at(timesSec: Float64Array): Motion {
      const motion = plain.at(timesSec);
      const paths = new Map(motion.paths) as Map<Joint, never>;
      constructJoints(paths, made.bodyHeightPx);
      return { ...motion, paths };
    },
  };
  const { durationSec } = made.truth;
  const motion = tracks.at(Float64Array.from({ length: Math.floor(durationSec * 24) }, (_, k) => k / 24));
  return { tracks, motion, bodyHeightPx: made.bodyHeightPx, durationSec, neutral: neutralPose(tracks, 0, durationSec) };
}
const performances = [11, 12, 13].map(performance);
const amounts = fc.constantFrom(0.5, 0.8, 1.1, 1.4, 2);
const column = (m: Motion, j: Joint) => m.paths.get(j)!;
const length = (m: Motion, a: Joint, b: Joint, k: number) =>
  Math.hypot(column(m, a).xPx[k]! - column(m, b).xPx[k]!, column(m, a).yPx[k]! - column(m, b).yPx[k]!);

describe('exaggerating', () => {
  it('by 1 gives the motion itself', () => {
    const { motion, neutral, bodyHeightPx } = performances[0]!;
    expect(exaggerate(motion, neutral, 1, bodyHeightPx, 1 / 24)).toBe(motion);
  });

  it('keeps the length that every limb has in every frame', () => {
    fc.assert(
      fc.property(fc.nat(2), amounts, (which, amount) => {
        const { motion, neutral, bodyHeightPx } = performances[which]!;
        const more = exaggerate(motion, neutral, amount, bodyHeightPx, 1 / 24);
        for (const { from, to } of bones) {
          if (!motion.paths.has(from) || !motion.paths.has(to)) continue;
          for (let k = 0; k < motion.timesSec.length; k += 3)
            expect(Math.abs(length(more, from, to, k) - length(motion, from, to, k))).toBeLessThan(1e-6);
        }
      }),
      { numRuns: 12 },
    );
  });

  it('leaves standing feet where they stand', () => {
    for (const { motion, neutral, bodyHeightPx } of performances) {
      const more = exaggerate(motion, neutral, 1.5, bodyHeightPx, 1 / 24);
      for (const foot of ['leftAnkle', 'rightAnkle'] as const) {
        const [now, before] = [column(more, foot), column(motion, foot)];
        let standing = 0;
        for (let k = 1; k + 1 < motion.timesSec.length; k++) {
          const speed =
            Math.hypot(before.xPx[k + 1]! - before.xPx[k - 1]!, before.yPx[k + 1]! - before.yPx[k - 1]!) * 12;
          if (speed > 0.12 * bodyHeightPx) continue;
          standing++;
          expect(now.xPx[k]).toBeCloseTo(before.xPx[k]!, 6);
          expect(now.yPx[k]).toBeCloseTo(before.yPx[k]!, 6);
        }
        expect(standing).toBeGreaterThan(20);
      }
    }
  });

  it('takes a limb the further from neutral the larger the amount', () => {
    const { motion, neutral, bodyHeightPx } = performances[1]!;
    const away = (amount: number, k: number) => {
      const m = exaggerate(motion, neutral, amount, bodyHeightPx, 1 / 24);
      const [x, y] = [
        column(m, 'leftWrist').xPx[k]! - column(m, 'leftElbow').xPx[k]!,
        column(m, 'leftWrist').yPx[k]! - column(m, 'leftElbow').yPx[k]!,
      ];
      const [nx, ny] = neutral.directions.get('leftWrist')!;
      return Math.abs(Math.atan2(nx * y - ny * x, nx * x + ny * y));
    };
    for (let k = 0; k < motion.timesSec.length; k += 7) {
      const turns = [0.5, 0.8, 1, 1.2, 1.6, 2].map((amount) => away(amount, k));
      for (let i = 1; i < turns.length; i++) expect(turns[i]).toBeGreaterThanOrEqual(turns[i - 1]! - 1e-9);
      if (turns[2]! > 0.1 && turns[2]! < 3) expect(turns[5]!).toBeGreaterThan(turns[2]! * 1.02);
    }
  });

  it('leaves what it cannot say as filmed: without feet in the picture nothing becomes unknown', () => {
    const { motion, neutral, bodyHeightPx } = performances[0]!;
    const nothing = (n: number) => new Float64Array(n).fill(Number.NaN);
    const paths = new Map(motion.paths);
    for (const joint of ['leftAnkle', 'rightAnkle', 'leftElbow'] as const) {
      const path = paths.get(joint)!;
      paths.set(joint, { ...path, xPx: nothing(path.xPx.length), yPx: nothing(path.xPx.length) });
    }
    const more = exaggerate({ ...motion, paths }, neutral, 1.5, bodyHeightPx, 1 / 24);
    for (const joint of ['leftKnee', 'leftWrist', 'rightWrist', 'nose'] as const)
      expect(column(more, joint).xPx.every((x) => !Number.isNaN(x))).toBe(true);
  });

  it('mirrors with the picture', () => {
    const { motion, neutral, tracks, bodyHeightPx, durationSec } = performances[2]!;
    const mirror = (m: Motion): Motion => ({
      ...m,
      paths: new Map([...m.paths].map(([p, c]) => [p, { ...c, xPx: c.xPx.map((x) => 640 - x) }])),
    });
    const turned = { ...tracks, at: (t: Float64Array) => mirror(tracks.at(t)) };
    const there = exaggerate(mirror(motion), neutralPose(turned, 0, durationSec), 1.5, bodyHeightPx, 1 / 24);
    const back = mirror(exaggerate(motion, neutral, 1.5, bodyHeightPx, 1 / 24));
    for (const [part, path] of there.paths)
      for (let k = 0; k < motion.timesSec.length; k += 5) {
        expect(path.xPx[k]).toBeCloseTo(back.paths.get(part)!.xPx[k]!, 6);
        expect(path.yPx[k]).toBeCloseTo(back.paths.get(part)!.yPx[k]!, 6);
      }
  });

  it('changes neither keys nor length of the shot', () => {
    const { tracks, durationSec } = performances[0]!;
    const plain = computeTiming(tracks, choicesFor(durationSec));
    const more = computeTiming(tracks, choicesFor(durationSec, { exaggeration: { amount: 1.4 } }));
    expect(more.keys).toEqual(plain.keys);
    expect(more.takeTimeSec).toEqual(plain.takeTimeSec);
    expect(Math.max(...more.activity)).toBeGreaterThan(1.1 * Math.max(...plain.activity));
  });
});

describe('limb geometry', () => {
  it('two bones meet their target, bend to the side asked for, and stretch when it is too far', () => {
    const a = twoBones([0, 0], [60, 80], 70, 50, 1);
    expect(a.end).toEqual([60, 80]);
    expect(Math.hypot(...a.middle)).toBeCloseTo(70, 9);
    expect(Math.hypot(60 - a.middle[0], 80 - a.middle[1])).toBeCloseTo(50, 9);
    const bend = (side: number) => {
      const { middle, end } = twoBones([0, 0], [60, 80], 70, 50, side);
      return middle[0] * (end[1] - middle[1]) - middle[1] * (end[0] - middle[0]);
    };
    expect(bend(1)).toBeGreaterThan(0);
    expect(bend(-1)).toBeLessThan(0);
    const far = twoBones([0, 0], [300, 0], 70, 50, 1);
    expect(far.end[0]).toBeCloseTo(120, 9);
    expect(far.middle[1]).toBeCloseTo(0, 6);
  });

  it('nothing flips over: turning on keeps the side and stays below half a turn', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -3.14, max: 3.14, noNaN: true }),
        fc.double({ min: -0.5, max: 1, noNaN: true }),
        (away, extra) => {
          const turn = turnedFurther([Math.cos(away), Math.sin(away)], [1, 0], extra);
          expect(Math.abs(away + turn)).toBeLessThanOrEqual(Math.PI + 1e-9);
          if (Math.abs(away) > 1e-6) expect(Math.sign(away + turn)).toBe(Math.sign(away));
        },
      ),
    );
  });
});
