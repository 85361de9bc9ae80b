import { describe, expect, it } from 'vitest';
import { buildPlan } from '../../src/plan/plan.ts';
import { choicesOf, newBook } from '../../src/project/book.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import { fall, makeSightings, unevenTimes } from '../make.ts';

/**
 * A performer of 1.50 m, 400 px tall, lets go at 0.5 s and falls freely; planned for a 1:6 puppet (250 mm) on ones at 24.
 * Steps from ½ g t² with g = 9.80665 m/s² (3rd CGPM 1901), in millimetres at 1:6: 1.42, 4.26, 7.09, 9.93, 12.77, 15.61;
 * they go as 1 : 3 : 5 : 7 (Galileo's odd numbers). Animators print the same fall at full size as 1/3, 1 1/3, 3, 5 1/3
 * inches after 1, 2, 3, 4 frames (A. L. Garcia, Physics of Timing & Spacing, 2011).
 */
const stepsMm = [1.42, 4.26, 7.09, 9.93, 12.77, 15.61];
const gravityPx = (9.80665 * 400) / 1.5;
const dropFrame = 12;

function plannedFall(noisePx: number) {
  const sightings = makeSightings({
    timesSec: unevenTimes(27, 30),
    body: fall(480, 280, dropFrame / 24, gravityPx),
    heightPx: 1400,
    noisePx,
  });
  const tracks = fitTracks(sightings, []);
  const endSec = sightings.timesSec.at(-1)!;
  const book = { ...newBook('fall'), onFrames: 1 as const };
  const timing = computeTiming(tracks, choicesOf(book, 0, endSec));
  const footage = {
    name: 'fall',
    widthPx: sightings.widthPx,
    heightPx: sightings.heightPx,
    timesSec: sightings.timesSec,
    endSec,
    firstStampSec: 0,
    medianFps: 30,
    variableFrameRate: true,
    codec: 'made',
    turnedDeg: 0,
    notes: [],
  } as const;
  return buildPlan({ book, footage, sightings, tracks, timing });
}

describe('a free fall, from uneven sightings to millimetres on the puppet', () => {
  it('falls by the table, straight down, for every joint that is printed', () => {
    const plan = plannedFall(0);
    // The performer's height is estimated from limb lengths: what the table is scaled by.
    const scale = 400 / plan.timing.bodyHeightPx;
    expect(scale).toBeGreaterThan(0.96);
    expect(scale).toBeLessThan(1.04);
    for (const joint of ['pelvis', 'nose', 'leftWrist'] as const) {
      // The first step has a corner in its speed, which any fit of noisy sightings rounds: the others are held to 3 %.
      for (const [n, mm] of stepsMm.entries()) {
        const move = plan.moves.find((m) => m.joint === joint && m.exposure === dropFrame + 1 + n);
        expect(move, `${joint} after ${n + 1} frames`).toBeDefined();
        const tolerance = n === 0 ? 0.6 : 0.03 * mm + 0.25;
        expect(Math.abs(move!.distanceMm - mm * scale), `${joint}, step ${n + 1}: ${move!.distanceMm}`).toBeLessThan(
          tolerance,
        );
        if (n > 0) expect(Math.abs(move!.directionDeg - 180)).toBeLessThan(1);
      }
    }
  });

  it('keeps the odd numbers within a tenth when the detector trembles by 1 px', () => {
    const plan = plannedFall(1);
    const steps = stepsMm.map(
      (_, n) => plan.moves.find((m) => m.joint === 'pelvis' && m.exposure === dropFrame + 1 + n)!,
    );
    const unit = steps[2]!.distanceMm / 5;
    expect(steps[3]!.distanceMm / unit).toBeCloseTo(7, 0);
    expect(steps[4]!.distanceMm / unit / 9).toBeGreaterThan(0.9);
    expect(steps[4]!.distanceMm / unit / 9).toBeLessThan(1.1);
  });
});
