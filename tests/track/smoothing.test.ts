import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { DetectedJoint } from '../../src/base/joints.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import type { Motion } from '../../src/track/motion.ts';
import { quantile } from '../../src/track/quantile.ts';
import { cell } from '../../src/track/sighting.ts';
import {
  carried,
  deadStop,
  editable,
  evenTimes,
  gaussian,
  hold,
  type MadeMovement,
  makeSightings,
  minimumJerk,
  pendulum,
  seeded,
  standing,
  straight,
  unevenTimes,
} from '../make.ts';

const joint: DetectedJoint = 'leftWrist';
const [wristX, wristY] = standing[joint];

/** Errors of one joint against its made movement, at the motion's times. */
function errors(motion: Motion, truth: MadeMovement, of: DetectedJoint = joint): number[] {
  const path = motion.paths.get(of)!;
  return Array.from(motion.timesSec, (t, k) => Math.hypot(path.xPx[k]! - truth(t).x, path.yPx[k]! - truth(t).y));
}

const speed = (motion: Motion, k: number): number =>
  Math.hypot(motion.paths.get(joint)!.vxPx[k]!, motion.paths.get(joint)!.vyPx[k]!);

describe('smoothing', () => {
  it('a straight line comes back, with its speed, at any time and any spacing of pictures', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: -200, max: 200 }),
        fc.integer({ min: -200, max: 200 }),
        fc.integer({ min: 1, max: 1000 }),
        (vx, vy, seed) => {
          const times = unevenTimes(45, 30, 0.6, seed);
          const body = straight(480, 280, vx, vy);
          const at = Float64Array.from({ length: 30 }, (_, k) => 0.01 + k * 0.045);
          const motion = fitTracks(makeSightings({ timesSec: times, body }), []).at(at);
          const truth = carried(hold(wristX, wristY), body);
          // Float32 sightings are right to 0.00003 px.
          expect(Math.max(...errors(motion, truth))).toBeLessThan(0.05);
          const path = motion.paths.get(joint)!;
          at.forEach((_, k) => {
            expect(path.vxPx[k]).toBeCloseTo(vx, -0.3);
            expect(path.vyPx[k]).toBeCloseTo(vy, -0.3);
          });
        },
      ),
      { numRuns: 15 },
    );
  });

  it('moving the picture moves the tracks and nothing else', () => {
    const moves = { [joint]: pendulum(560, 300, 60, 1.2) };
    const here = makeSightings({ joints: moves, noisePx: 2 });
    const there = editable(here);
    there.xPx.forEach((_, i) => {
      there.xPx[i]! += 64;
      there.yPx[i]! -= 32;
    });
    const at = evenTimes(46, 24);
    const a = fitTracks(here, []).at(at);
    const b = fitTracks(there, []).at(at);
    for (const [name, path] of a.paths) {
      const other = b.paths.get(name)!;
      at.forEach((_, k) => {
        expect(other.xPx[k]! - path.xPx[k]!).toBeCloseTo(64, 1);
        expect(other.yPx[k]! - path.yPx[k]!).toBeCloseTo(-32, 1);
        expect(other.sdPx[k]).toBeCloseTo(path.sdPx[k]!, 1);
      });
    }
  });

  it('making the picture twice as large makes the tracks twice as large', () => {
    const small = makeSightings({ joints: { [joint]: minimumJerk([520, 300], [620, 150], 0.6, 0.5) }, noisePx: 2 });
    const large = editable(small);
    large.xPx.forEach((_, i) => {
      large.xPx[i]! *= 2;
      large.yPx[i]! *= 2;
    });
    const at = evenTimes(46, 24);
    const a = fitTracks(small, []).at(at).paths.get(joint)!;
    const b = fitTracks({ ...large, widthPx: 1920, heightPx: 1080 }, [])
      .at(at)
      .paths.get(joint)!;
    at.forEach((_, k) => {
      expect(b.xPx[k]! / 2).toBeCloseTo(a.xPx[k]!, 0);
      expect(b.sdPx[k]! / 2).toBeCloseTo(a.sdPx[k]!, 0);
    });
  });

  it('a sighting without confidence never matters', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: 0, max: 59 }), { minLength: 1, maxLength: 20 }),
        fc.oneof(fc.double({ min: -5000, max: 5000, noNaN: true }), fc.constant(Number.NaN)),
        (pictures, wild) => {
          const clean = editable(makeSightings({ noisePx: 2 }));
          for (const i of pictures) clean.confidence[cell(i, 9)] = 0;
          const odd = editable(clean);
          for (const i of pictures) odd.xPx[cell(i, 9)] = wild;
          const at = evenTimes(46, 24);
          expect(fitTracks(odd, []).at(at).paths).toEqual(fitTracks(clean, []).at(at).paths);
        },
      ),
      { numRuns: 10 },
    );
  });

  it('a wild sighting is passed over', () => {
    const truth = pendulum(560, 300, 60, 1.2);
    const clean = makeSightings({ joints: { [joint]: truth }, noisePx: 1 });
    const wild = editable(clean);
    for (const i of [13, 14, 37]) wild.yPx[cell(i, 9)]! -= 150;
    const at = evenTimes(46, 24);
    expect(Math.max(...errors(fitTracks(wild, []).at(at), truth))).toBeLessThan(6);
    expect(Math.max(...errors(fitTracks(clean, []).at(at), truth))).toBeLessThan(4);
  });

  it('the stated spread has the size of the error, for the noise that it was made for', () => {
    // Quick noise of 1.4 % of the torso (115 px here) and a slow error of 2.75 %, as a wrist has.
    const torso = 400 * 0.288;
    const n = 600;
    const drawn = gaussian(seeded(5));
    const seen = editable(makeSightings({ timesSec: evenTimes(n, 30), confidence: 0.75 }));
    const truth = pendulum(wristX + 480, wristY + 280, 80, 1.7);
    const kept = Math.exp(-1 / 30 / 0.25);
    let [slowX, slowY] = [drawn(), drawn()];
    for (let i = 0; i < n; i++) {
      slowX = kept * slowX + Math.sqrt(1 - kept * kept) * drawn();
      slowY = kept * slowY + Math.sqrt(1 - kept * kept) * drawn();
      seen.xPx[cell(i, 9)] = truth(i / 30).x + torso * (0.0275 * slowX + 0.014 * drawn());
      seen.yPx[cell(i, 9)] = truth(i / 30).y + torso * (0.0275 * slowY + 0.014 * drawn());
    }
    const motion = fitTracks(seen, []).at(evenTimes(470, 24));
    const path = motion.paths.get(joint)!;
    const z = Array.from(motion.timesSec, (t, k) => Math.abs(path.xPx[k]! - truth(t).x) / path.sdPx[k]!);
    const inside = z.filter((v) => v < 1).length / z.length;
    expect(inside).toBeGreaterThan(0.6);
    expect(inside).toBeLessThan(0.9);
    expect(quantile(z, 0.95)).toBeLessThan(2.2);
  });
});

describe('sharp moves and holds', () => {
  const noisy = (movement: MadeMovement) => makeSightings({ joints: { [joint]: movement }, noisePx: 1.5, seed: 3 });

  it('a hand that stops dead is at rest two pictures later, without overshoot', () => {
    // Half a body height a second, from full speed to nothing.
    const truth = deadStop(400, 297, 240, 0, 1);
    const motion = fitTracks(noisy(truth), []).at(evenTimes(240, 120));
    const path = motion.paths.get(joint)!;
    const far = Math.max(...path.xPx);
    expect(far - 640).toBeLessThan(0.02 * 240);
    const after = motion.timesSec.findIndex((t) => t >= 1 + 2 / 30);
    const before = motion.timesSec.findIndex((t) => t >= 1 - 2 / 30) - 1;
    expect(speed(motion, before)).toBeGreaterThan(0.8 * 240);
    expect(speed(motion, after)).toBeLessThan(0.25 * 240);
  });

  it('a flick of five pictures keeps its top speed', () => {
    const truth = minimumJerk([520, 300], [640, 140], 0.9, 5 / 30);
    const motion = fitTracks(noisy(truth), []).at(evenTimes(240, 120));
    const top = Math.max(...Array.from(motion.timesSec, (_, k) => speed(motion, k)));
    // 1.875 × mean speed: the minimum-jerk profile's peak.
    const true_ = (1.875 * Math.hypot(120, 160)) / (5 / 30);
    expect(top / true_).toBeGreaterThan(0.85);
    expect(top / true_).toBeLessThan(1.1);
  });

  it('a hold stays still where the sightings jitter', () => {
    const seen = noisy(hold(530, 300));
    const motion = fitTracks(seen, []).at(evenTimes(46, 24));
    const steps = (x: ArrayLike<number>) => Array.from({ length: 40 }, (_, k) => Math.abs(x[k + 3]! - x[k + 2]!));
    const raw = Array.from({ length: 60 }, (_, i) => seen.xPx[cell(i, 9)]!);
    expect(quantile(steps(motion.paths.get(joint)!.xPx), 0.95)).toBeLessThan(0.15 * quantile(steps(raw), 0.95));
  });

  it.each([300, 60])('a picture that the camera repeated is not taken for a stop, at %i px a second', (vx) => {
    const body = straight(200, 280, vx, 0);
    const seen = editable(makeSightings({ timesSec: evenTimes(60, 30), body }));
    const clean = fitTracks(seen, []).at(evenTimes(230, 120));
    // Every fifth picture shows the one before it again, as 24 pictures a second do in a file of 30.
    for (let i = 5; i < 60; i += 5)
      for (let j = 0; j < 17; j++) {
        seen.xPx[cell(i, j)] = seen.xPx[cell(i - 1, j)]!;
        seen.yPx[cell(i, j)] = seen.yPx[cell(i - 1, j)]!;
      }
    const repeated = fitTracks(seen, []).at(evenTimes(230, 120));
    const truth = carried(hold(wristX, wristY), body);
    expect(Math.max(...errors(clean, truth))).toBeLessThan(0.05);
    expect(Math.max(...errors(repeated, truth))).toBeLessThan(0.05);
  });

  it('pictures shown twice are told by their stutter also where the detector saw them a little differently', () => {
    const body = straight(200, 280, 300, 0);
    const seen = editable(makeSightings({ timesSec: evenTimes(60, 30), body }));
    for (let i = 1; i < 60; i += 2)
      for (let j = 0; j < 17; j++) seen.xPx[cell(i, j)] = seen.xPx[cell(i - 1, j)]! + 0.2 * Math.sin(i + j);
    const at = Float64Array.from({ length: 200 }, (_, k) => 0.1 + k / 120);
    const truth = carried(hold(wristX, wristY), body);
    expect(Math.max(...errors(fitTracks(seen, []).at(at), truth))).toBeLessThan(0.5);
  });

  it('a performer who really stands still is seen to stop', () => {
    const body = deadStop(200, 280, 300, 0, 1);
    const motion = fitTracks(makeSightings({ timesSec: evenTimes(60, 30), body }), []).at(evenTimes(230, 120));
    expect(Math.max(...errors(motion, carried(hold(wristX, wristY), body)))).toBeLessThan(0.04 * 300);
    expect(speed(motion, 200)).toBeLessThan(3);
  });
});

describe('gaps', () => {
  it('a short loss is bridged, a long one is marked as guessed, and both say that they are less sure', () => {
    const truth = pendulum(560, 300, 60, 1.6);
    const seen = editable(makeSightings({ joints: { [joint]: truth }, noisePx: 1 }));
    for (let i = 10; i < 12; i++) seen.confidence[cell(i, 9)] = 0;
    for (let i = 30; i < 42; i++) seen.confidence[cell(i, 9)] = 0;
    const times = evenTimes(60, 30);
    const path = fitTracks(seen, []).at(times).paths.get(joint)!;
    expect(Array.from(path.guessed.subarray(0, 29)).some((g) => g === 1)).toBe(false);
    expect(path.guessed[36]).toBe(1);
    expect(path.confidence[36]).toBe(0);
    expect(path.sdPx[36]!).toBeGreaterThan(1.5 * path.sdPx[20]!);
    const off = Math.hypot(path.xPx[36]! - truth(36 / 30).x, path.yPx[36]! - truth(36 / 30).y);
    expect(off).toBeLessThan(3 * path.sdPx[36]!);
  });

  it('before and after the take the ends are held', () => {
    const tracks = fitTracks(makeSightings({ body: straight(200, 280, 200, 0) }), []);
    const path = tracks.at(Float64Array.of(-1, 0, 59 / 30, 5)).paths.get(joint)!;
    expect(path.xPx[0]).toBe(path.xPx[1]);
    expect(path.xPx[3]).toBe(path.xPx[2]);
    expect(path.vxPx[0]).toBe(0);
    expect(path.vxPx[3]).toBe(0);
  });

  it('a joint that is never seen has no track, and nobody has none at all', () => {
    const seen = editable(makeSightings());
    for (let i = 0; i < 60; i++) seen.confidence[cell(i, 9)] = 0;
    expect(fitTracks(seen, []).joints).not.toContain('leftWrist');
    seen.confidence.fill(0);
    const nobody = fitTracks(seen, []);
    expect(nobody.joints).toEqual([]);
    expect(nobody.bodyHeightPx).toBeNaN();
    expect(nobody.at(evenTimes(3, 24)).paths.size).toBe(0);
  });

  it('no picture, one picture or two give tracks without failing', () => {
    for (const count of [0, 1, 2]) {
      const tracks = fitTracks(makeSightings({ timesSec: evenTimes(count, 30) }), []);
      expect(tracks.at(Float64Array.of(0, 0.5)).timesSec.length).toBe(2);
    }
  });
});
