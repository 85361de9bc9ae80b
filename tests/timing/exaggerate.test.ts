import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bones, type Joint } from '../../src/base/joints.ts';
import { twoBones } from '../../src/base/twoBones.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { exaggerate, heldBack, neutralPose } from '../../src/timing/exaggerate.ts';
import { turnedFurther } from '../../src/timing/limbGeometry.ts';
import { constructJoints } from '../../src/track/constructed.ts';
import type { HandContact } from '../../src/track/handContact.ts';
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
  return {
    tracks,
    motion,
    bodyHeightPx: made.bodyHeightPx,
    durationSec,
    neutral: neutralPose(tracks, 0, durationSec, null),
  };
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
    const there = exaggerate(mirror(motion), neutralPose(turned, 0, durationSec, null), 1.5, bodyHeightPx, 1 / 24);
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
    const more = computeTiming(tracks, choicesFor(durationSec, { exaggeration: { amount: 1.4, neutralSec: null } }));
    expect(more.keys).toEqual(plain.keys);
    expect(more.takeTimeSec).toEqual(plain.takeTimeSec);
    expect(Math.max(...more.activity)).toBeGreaterThan(1.1 * Math.max(...plain.activity));
  });
});

describe('exaggerating away from a pose of the take', () => {
  const free = (m: Motion, k: number) => (j: Joint) => [column(m, j).xPx[k]!, column(m, j).yPx[k]!];

  it('leaves that pose as it was filmed, and pushes others from it', () => {
    for (const { tracks, motion, bodyHeightPx, durationSec } of performances) {
      const k0 = Math.round(motion.timesSec.length / 2);
      const neutral = neutralPose(tracks, 0, durationSec, motion.timesSec[k0]!);
      const more = exaggerate(motion, neutral, 1.6, bodyHeightPx, 1 / 24);
      let [there, most] = [0, 0];
      for (const joint of ['pelvis', 'neck', 'nose', 'leftElbow', 'leftWrist', 'rightWrist', 'leftKnee'] as const)
        for (let k = 0; k < motion.timesSec.length; k++) {
          const [[x, y], [u, v]] = [free(more, k)(joint), free(motion, k)(joint)] as [number[], number[]];
          const off = Math.hypot(x! - u!, y! - v!);
          most = Math.max(most, off);
          if (k === k0) there = Math.max(there, off);
        }
      expect(there).toBeLessThan(1e-6);
      expect(most).toBeGreaterThan(0.03 * bodyHeightPx);
    }
  });

  it('is another exaggeration than from standing, and by 1 none at all', () => {
    const { tracks, motion, bodyHeightPx, durationSec, neutral: standing } = performances[0]!;
    const neutral = neutralPose(tracks, 0, durationSec, motion.timesSec[30]!);
    expect(exaggerate(motion, neutral, 1, bodyHeightPx, 1 / 24)).toBe(motion);
    expect(exaggerate(motion, neutral, 1.5, bodyHeightPx, 1 / 24).paths.get('leftWrist')!.xPx).not.toEqual(
      exaggerate(motion, standing, 1.5, bodyHeightPx, 1 / 24).paths.get('leftWrist')!.xPx,
    );
  });
});

describe('hands that keep their place', () => {
  const spans = fc.array(
    fc.record({
      id: fc.uuid(),
      hand: fc.constantFrom('leftWrist' as const, 'rightWrist' as const),
      startSec: fc.double({ min: 0, max: 1.5, noNaN: true }),
      lengthSec: fc.double({ min: 0.3, max: 1.5, noNaN: true }),
    }),
    { minLength: 1, maxLength: 3 },
  );

  it('are exactly where they were filmed, limbs keep their lengths and standing feet their places, however far poses go', () => {
    let checked = 0;
    fc.assert(
      fc.property(fc.nat(2), amounts, spans, fc.boolean(), (which, amount, marked, isOwn) => {
        const { tracks, motion, bodyHeightPx, durationSec } = performances[which]!;
        const neutral = neutralPose(tracks, 0, durationSec, isOwn ? 0.7 : null);
        const contacts = marked.map(({ lengthSec, ...c }): HandContact => ({ ...c, endSec: c.startSec + lengthSec }));
        const more = exaggerate(motion, neutral, amount, bodyHeightPx, 1 / 24, contacts);
        expect(more.timesSec).toEqual(motion.timesSec);
        for (let k = 0; k < motion.timesSec.length; k++) {
          const sec = motion.timesSec[k]!;
          for (const { hand, startSec, endSec } of contacts) {
            if (sec < startSec || sec > endSec) continue;
            checked++;
            const [now, before] = [column(more, hand), column(motion, hand)];
            expect(Math.hypot(now.xPx[k]! - before.xPx[k]!, now.yPx[k]! - before.yPx[k]!)).toBeLessThan(1e-6);
          }
          if (k % 3 > 0) continue;
          for (const { from, to } of bones)
            if (motion.paths.has(from) && motion.paths.has(to))
              expect(Math.abs(length(more, from, to, k) - length(motion, from, to, k))).toBeLessThan(1e-6);
        }
        for (const foot of ['leftAnkle', 'rightAnkle'] as const) {
          const [now, before, plain] = [more, motion, exaggerate(motion, neutral, amount, bodyHeightPx, 1 / 24)].map(
            (m) => column(m, foot),
          ) as [never, never, never] as ReturnType<typeof column>[];
          for (let k = 0; k < motion.timesSec.length; k += 2) {
            const stands = Math.hypot(plain!.xPx[k]! - before!.xPx[k]!, plain!.yPx[k]! - before!.yPx[k]!) < 1e-6;
            if (stands)
              expect(Math.hypot(now!.xPx[k]! - before!.xPx[k]!, now!.yPx[k]! - before!.yPx[k]!)).toBeLessThan(1e-6);
          }
        }
      }),
      { numRuns: 30 },
    );
    expect(checked).toBeGreaterThan(300);
  });

  it('come to their place and leave it without a jump', () => {
    for (const { motion, neutral, bodyHeightPx } of performances) {
      const contact: HandContact = { id: 'h', hand: 'leftWrist', startSec: 1, endSec: 1.8 };
      const step = (m: Motion, k: number) => {
        const { xPx, yPx } = column(m, 'leftWrist');
        return Math.hypot(xPx[k]! - xPx[k - 1]!, yPx[k]! - yPx[k - 1]!);
      };
      const plain = exaggerate(motion, neutral, 1.4, bodyHeightPx, 1 / 24);
      const kept = exaggerate(motion, neutral, 1.4, bodyHeightPx, 1 / 24, [contact]);
      const pull = motion.timesSec.map((_, k) =>
        Math.hypot(
          column(plain, 'leftWrist').xPx[k]! - column(motion, 'leftWrist').xPx[k]!,
          column(plain, 'leftWrist').yPx[k]! - column(motion, 'leftWrist').yPx[k]!,
        ),
      );
      for (let k = 1; k < motion.timesSec.length; k++) {
        // Over 0.2 s the wrist goes at most as far as it would have been pulled off, at 1.5 times the mean speed.
        const eased = (1.5 / (0.2 * 24)) * Math.max(pull[k]!, pull[k - 1]!);
        expect(step(kept, k)).toBeLessThan(
          Math.max(step(plain, k), step(motion, k)) + 1.5 * eased + 0.01 * bodyHeightPx,
        );
      }
      // Away from the contact nothing is otherwise.
      const away = motion.timesSec.findIndex((t) => t > 2.05);
      expect(column(kept, 'rightWrist').xPx[away]).toBe(column(plain, 'rightWrist').xPx[away]);
      expect(column(kept, 'leftWrist').xPx[away]).toBe(column(plain, 'leftWrist').xPx[away]);
    }
  });

  /** A body bent forward with one arm straight out on a rail: any further and the arm is too short. */
  function leaning(reachPx: number): Motion {
    const places: Partial<Record<Joint, readonly [number, number]>> = {
      pelvis: [200, 300],
      chest: [220, 230],
      neck: [240, 180],
      nose: [255, 160],
      leftShoulder: [245, 185],
      leftElbow: [245 + reachPx / 2, reachPx < 100 ? 205 : 185],
      leftWrist: [245 + reachPx, 185],
      leftHip: [200, 300],
      leftKnee: [205, 360],
      leftAnkle: [200, 420],
      rightHip: [200, 300],
      rightKnee: [205, 360],
      rightAnkle: [200, 420],
    };
    const even = (value: number) => new Float64Array(24).fill(value);
    return {
      timesSec: Float64Array.from({ length: 24 }, (_, k) => k / 24),
      paths: new Map(
        Object.entries(places).map(([joint, [x, y]]) => [
          joint as Joint,
          {
            xPx: even(x),
            yPx: even(y),
            vxPx: even(0),
            vyPx: even(0),
            sdPx: even(0),
            confidence: new Float32Array(24).fill(1),
            guessed: new Uint8Array(24),
          },
        ]),
      ),
    };
  }

  it('hold the body back where the arm is too short, and this is told with its frames', () => {
    const upright = { directions: new Map([['neck', [0, -1]]]) as never, stance: null };
    // It leans back when the amount is below 1: away from the rail.
    const contact: HandContact = { id: 'h', hand: 'leftWrist', startSec: 6 / 24, endSec: 11 / 24 };
    const straight = leaning(110);
    const told = heldBack(straight, upright, 0.6, 260, [contact]);
    expect(told).toHaveLength(1);
    // With the frames in which the hand comes to its place and leaves it, 4.8 either side.
    expect(told[0]!.firstFrame).toBeGreaterThan(1);
    expect(told[0]!.firstFrame).toBeLessThanOrEqual(6);
    expect(told[0]!.firstFrame + told[0]!.frames).toBeGreaterThanOrEqual(12);
    expect(told[0]!.firstFrame + told[0]!.frames).toBeLessThan(17);
    expect(told[0]!.share).toBeLessThan(0.01);
    // A bent arm has room, and so has a straight one that the body leans towards.
    expect(heldBack(leaning(60), upright, 0.9, 260, [contact])).toEqual([]);
    expect(heldBack(straight, upright, 1.2, 260, [contact])).toEqual([]);
    expect(heldBack(straight, upright, 0.6, 260, [])).toEqual([]);
    expect(heldBack(straight, upright, 1, 260, [contact])).toEqual([]);
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
