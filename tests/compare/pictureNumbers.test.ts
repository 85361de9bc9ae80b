import { describe, expect, it } from 'vitest';
import { compareShot } from '../../src/compare/compareShot.ts';
import { numbersWords, readNumbers } from '../../src/compare/pictureNumbers.ts';
import { exposurePlaces, type PlannedShot, type ShotPictures } from '../../src/compare/shot.ts';
import { framesOfPictures, type PlannedPictures, shotOnPlan } from '../../src/compare/shotFrames.ts';
import { stanceAt } from '../../src/compare/stance.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import type { Fault } from './madeFaults.ts';
import { madePlan, madeShot } from './madeShots.ts';

/** Exposures of these lengths, one after another. */
function planOf(lasts: readonly number[]): PlannedPictures {
  let frameCount = 0;
  const exposures = lasts.map((frames) => {
    frameCount += frames;
    return { firstFrame: frameCount - frames, frames };
  });
  return { frameCount, exposures, poseFrames: [0] };
}
const upTo = (n: number, from = 1, step = 1) => Array.from({ length: n }, (_, i) => from + step * i);
const without = (numbers: readonly number[], ...left: readonly number[]) => numbers.filter((n) => !left.includes(n));

describe('numbers of stills', () => {
  const onTwos = planOf(Array(20).fill(2));

  it('tell nothing where none is left out, whatever they count', () => {
    expect(readNumbers(upTo(20), onTwos)).toBeNull();
    expect(readNumbers(upTo(20, 101, 2), onTwos)).toBeNull();
    // The frames of a plan that is on twos, threes and ones.
    expect(readNumbers([1, 3, 5, 8, 11, 12, 13], planOf([2, 2, 3, 3, 1, 1, 1]))).toBeNull();
  });

  it('leave a place without a picture where one is missing', () => {
    const row = readNumbers(without(upTo(12, 41), 47), onTwos)!;
    expect(row.places).toEqual(without(upTo(12, 0), 6));
    expect(row.runs).toEqual([{ first: 47, last: 47, pictures: 1 }]);
    expect(row.likely).toBe('missing');
    const byTwos = readNumbers(without(upTo(12, 1, 2), 9, 11), onTwos)!;
    expect(byTwos.places).toEqual(without(upTo(12, 0), 4, 5));
    expect(byTwos.runs.map((r) => r.pictures)).toEqual([2]);
    const byFrames = readNumbers([1, 3, 8, 11, 12, 13], planOf([2, 2, 3, 3, 1, 1, 1]))!;
    expect(byFrames.places).toEqual([0, 1, 3, 4, 5, 6]);
  });

  it('jump where much is left out, or often, or where all exposures are there without', () => {
    expect(readNumbers([...upTo(8), ...upTo(4, 1001)], onTwos)!.likely).toBe('jumps');
    expect(readNumbers([1, 2, 4, 5, 7, 8, 10, 11, 13], onTwos)!.likely).toBe('jumps');
    expect(readNumbers(without(upTo(21), 9), onTwos)!.likely).toBe('jumps');
    expect(readNumbers(without(upTo(20), 9), onTwos)!.likely).toBe('missing');
    // As many pictures as frames, one of them taken anew; and more than the plan has room for.
    expect(readNumbers(without(upTo(41), 9), onTwos)!.likely).toBe('jumps');
    expect(readNumbers(without(upTo(60), 9), onTwos)!.likely).toBe('jumps');
  });

  it('are told in one sentence', () => {
    const row = readNumbers(without(upTo(20), 9), onTwos)!;
    expect(numbersWords(row, 'missing')).toBe(
      'No still has the number 9: a picture is missing there, and those after it stay on their own frames.',
    );
    const two = readNumbers(without(upTo(20), 5, 9, 10), onTwos)!;
    expect(numbersWords(two, 'jumps')).toBe(
      'No stills have the numbers 5, 9 to 10: the numbering jumps there, and pictures on both sides follow each other.',
    );
  });
});

describe('a shot of which pictures are missing', () => {
  const plan = madePlan('keeper', newPuppet);
  const planned: PlannedPictures = {
    frameCount: plan.exposures.at(-1)!.firstFrame + 2,
    exposures: plan.exposures,
    poseFrames: [],
  };
  /** What is left of a shot: stills with these exposures lost, others that cannot be opened. */
  function leftOf(
    { motion, pictures }: ShotPictures,
    lost: readonly number[],
    damaged: readonly number[],
  ): ShotPictures {
    const left = without([...plan.exposures.keys()], ...lost);
    const paths = new Map(
      [...motion.paths].map(([part, path]) => {
        const pick = (column: Float64Array) => Float64Array.from(left, (i) => column[i]!);
        return [part, { ...path, xPx: pick(path.xPx), yPx: pick(path.yPx), sdPx: pick(path.sdPx) }] as const;
      }),
    );
    const none = { shiftXPx: Number.NaN, shiftYPx: Number.NaN, brightness: Number.NaN };
    const steps = left.map((i) => (damaged.includes(i) ? none : pictures![i]!));
    const { places } = readNumbers(left, planned)!;
    const frames = framesOfPictures(places.at(-1)! + 1, 'exposures', planned);
    const there = { timesSec: Float64Array.from(left, (i) => motion.timesSec[i]!), paths };
    return shotOnPlan('exposures', frames, planned, there, steps, places)!;
  }
  const told = (of: PlannedShot, shot: ShotPictures) =>
    compareShot(of, shot)!.findings.map(({ kind, joint, atFrame }) => `${kind} ${joint} ${atFrame}`);

  it('has those that are there on their own frames, and nothing known of the rest', () => {
    const { shot } = madeShot(plan, null, { seed: 3, noisePx: 0.5 });
    const left = leftOf(shot, [10, 30, 31], [50]);
    expect(left.exposures).toEqual(shot.exposures);
    const [now, was] = [left.motion.paths.get('leftWrist')!, shot.motion.paths.get('leftWrist')!];
    for (const i of was.xPx.keys()) expect(now.xPx[i]).toBe([10, 30, 31, 50].includes(i) ? Number.NaN : was.xPx[i]);
    expect([...left.pictures!.keys()].filter((i) => Number.isNaN(left.pictures![i]!.brightness))).toEqual([
      10, 30, 31, 50,
    ]);
  });

  for (const fault of [
    null,
    'offPose',
    'lateKey',
    'holdDrift',
    'footSlide',
    'cameraBump',
    'flicker',
  ] satisfies (Fault | null)[])
    it(`tells what it told with all of them: ${fault ?? 'nothing'}`, () => {
      const { shot, made } = madeShot(plan, fault, { seed: 21, noisePx: 0.5 });
      const whole = told(plan, shot);
      // Two stills beside the fault and one elsewhere; none of what tells it.
      const within = (i: number) => {
        const { firstFrame, frames } = plan.exposures[i]!;
        return made !== null && firstFrame + frames > made.firstFrame - 4 && firstFrame <= made.lastFrame + 4;
      };
      const free = [...plan.exposures.keys()].filter((i) => i > 3 && i < plan.exposures.length - 4 && !within(i));
      const left = leftOf(shot, [free[2]!, free[Math.floor(free.length / 2)]!], [free.at(-2)!]);
      expect(told(plan, left)).toEqual(whole);
    });

  it('knows no stance where there is no picture, and how fast it goes from a picture alone', () => {
    const { shot } = madeShot(plan, null, { seed: 3, noisePx: 0.5 });
    const comparison = compareShot(plan, leftOf(shot, [10], []))!;
    expect(stanceAt(comparison, 10)).toBeNull();
    expect(stanceAt(comparison, 11)!.before).toBeNull();
    expect(stanceAt(comparison, 9)!.before).not.toBeNull();
  });
});

describe('a picture for each frame', () => {
  it('is told by the pictures of its exposure that are there', () => {
    const plan = planOf([2, 2, 2]);
    const column = Float64Array.of(10, 12, 20, 31, 33);
    const still = new Float64Array(5);
    const path = { xPx: column, yPx: column, vxPx: still, vyPx: still, sdPx: still.map(() => 1) };
    const motion = {
      timesSec: column,
      paths: new Map([['nose', { ...path, confidence: new Float32Array(5), guessed: new Uint8Array(5) }] as const]),
    };
    const steps = [1, 2, 3, 5, 6].map((n) => ({ shiftXPx: n, shiftYPx: 0, brightness: 90 }));
    // The second exposure has its first picture alone, the third both.
    const { places } = readNumbers([1, 2, 3, 5, 6], plan)!;
    const shot = shotOnPlan('frames', framesOfPictures(6, 'frames', plan), plan, motion, steps, places)!;
    expect([...shot.motion.paths.get('nose')!.xPx]).toEqual([10, 12, 20, Number.NaN, 31, 33]);
    expect([...exposurePlaces(shot).at.get('nose')!.x]).toEqual([11, 20, 32]);
    expect(shot.pictures!.map((p) => p.shiftXPx)).toEqual([1, 3, 5]);
    const late = shotOnPlan('frames', framesOfPictures(6, 'frames', plan), plan, motion, steps, [0, 1, 3, 4, 5])!;
    expect([...exposurePlaces(late).at.get('nose')!.x]).toEqual([11, 20, 32]);
    expect(late.pictures!.map((p) => p.shiftXPx)).toEqual([1, 3, 5]);
  });
});
