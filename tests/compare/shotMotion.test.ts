import { describe, expect, it } from 'vitest';
import { type Joint, otherSide } from '../../src/base/joints.ts';
import { compareShot } from '../../src/compare/compareShot.ts';
import { usualRegistration } from '../../src/compare/registration.ts';
import { jointOfName, markedJoints, shotMotion } from '../../src/compare/shotMotion.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import type { JointPath, Tracks } from '../../src/track/motion.ts';
import type { SeenProp } from '../../src/track/propTracks.ts';
import { madePlan, madeShot } from './madeShots.ts';

const timesSec = Float64Array.of(0, 0.1, 0.2);

/** A marked point that was seen at these places, and not seen where they are NaN. */
function point(name: string, xPx: ArrayLike<number> = [10, Number.NaN, 30], yPx: ArrayLike<number> = xPx): SeenProp {
  return {
    prop: { id: `prop:${name}`, name, marks: [], absent: [] },
    timesSec,
    xPx: Float64Array.from(xPx),
    yPx: Float64Array.from(yPx),
    sdPx: Float64Array.from(xPx, (x) => (Number.isNaN(x) ? Number.NaN : 0)),
    gaps: [],
  };
}

/** Tracks of a detector that saw these paths, and errs by a pixel in every step of every joint. */
function tracksOf(paths: ReadonlyMap<Joint, JointPath>, times: Float64Array): Tracks {
  return {
    ...{ timesSec: times, bodyHeightPx: 100, torsoPx: 30, joints: [...paths.keys()], doubts: [] },
    at: () => ({ timesSec: times, paths, stepSdPx: (part) => (paths.has(part as Joint) ? 1 : Number.NaN) }),
    seen: () => null,
  };
}

function pathAt(xPx: number): JointPath {
  const column = (v: number) => timesSec.map(() => v);
  return {
    ...{ xPx: column(xPx), yPx: column(xPx), vxPx: column(0), vyPx: column(0), sdPx: column(2) },
    ...{ confidence: Float32Array.of(1, 1, 1), guessed: new Uint8Array(3) },
  };
}

describe('where the puppet is', () => {
  it('is told by marks that are named after joints', () => {
    expect(['left wrist', 'Left Wrist', 'leftWrist', 'left-wrist', 'lamp'].map(jointOfName)).toEqual([
      'leftWrist',
      'leftWrist',
      'leftWrist',
      'leftWrist',
      null,
    ]);
    const motion = shotMotion(null, [point('nose'), point('lamp')], timesSec)!;
    expect([...motion.paths.keys()]).toEqual(['nose']);
    const { xPx, sdPx } = motion.paths.get('nose')!;
    expect([...xPx]).toEqual([10, Number.NaN, 30]);
    expect(sdPx[0]).toBeCloseTo(0.7, 9);
    expect(sdPx[1]).toBeNaN();
    expect(shotMotion(null, [point('lamp')], timesSec)).toBeNull();
  });

  it('is less sure of a point that was flung on its way from its marks and looks otherwise since', () => {
    const times = Float64Array.from({ length: 7 }, (_, i) => i / 10);
    const wrist = (sdPx: readonly number[]): SeenProp => ({
      ...point('left wrist'),
      timesSec: times,
      xPx: Float64Array.of(0, 4, 8, 78, 82, 86, 90),
      yPx: new Float64Array(7),
      sdPx: Float64Array.from(sdPx),
    });
    const still = ['nose', 'right ankle'].map((name, i) => ({
      ...point(name),
      timesSec: times,
      xPx: new Float64Array(7),
      yPx: new Float64Array(7).fill(500 * i),
      sdPx: new Float64Array(7),
    }));
    const sds = (sdPx: readonly number[]) => [
      ...shotMotion(null, [wrist(sdPx), ...still], times)!.paths.get('leftWrist')!.sdPx,
    ];
    const usual = sds([0, 1, 1, 1, 1, 1, 0]);
    const flung = sds([0, 1, 1, 1, 1, 1, 1]);
    // Up to the step it was followed from the first mark, behind it from the last one, if there is one.
    expect(flung.slice(0, 3)).toEqual(usual.slice(0, 3));
    for (const i of [3, 4, 5]) expect(flung[i]!).toBeGreaterThan(1.5 * usual[i]!);
    // It still looks as it was marked.
    const alike = sds([0, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1]);
    for (const i of [3, 4, 5, 6]) expect(alike[i]!).toBeLessThan(usual[1]!);
  });

  it('has the pelvis between marked hips, whatever a detector saw there', () => {
    const hips = [point('left hip', [10, 10, 10]), point('right hip', [20, Number.NaN, 40])];
    expect([...shotMotion(null, hips, timesSec)!.paths.get('pelvis')!.xPx]).toEqual([15, Number.NaN, 25]);
    expect(shotMotion(null, hips.slice(1), timesSec)!.paths.has('pelvis')).toBe(false);
    const seen = new Map<Joint, JointPath>([
      ['leftHip', pathAt(0)],
      ['rightHip', pathAt(2)],
      ['pelvis', pathAt(1)],
      ['neck', pathAt(7)],
    ]);
    const motion = shotMotion(tracksOf(seen, timesSec), hips.slice(1), timesSec)!;
    expect([...motion.paths.get('pelvis')!.xPx]).toEqual([10, Number.NaN, 20]);
    // What nobody marked is as it was seen, and what the detector knows of its steps stays.
    expect(motion.paths.get('neck')).toBe(seen.get('neck'));
    expect(['neck', 'leftHip', 'rightHip', 'pelvis'].map((part) => motion.stepSdPx!(part as Joint, 0, 1))).toEqual([
      1,
      1,
      Number.NaN,
      Number.NaN,
    ]);
  });

  it('lies between marks alone where all of them are marked, which is as good as marked', () => {
    expect([...markedJoints([point('left hip'), point('lamp')])]).toEqual(['leftHip']);
    expect([...markedJoints([point('left hip'), point('right hip')])]).toEqual(['leftHip', 'rightHip', 'pelvis']);
    // A point that was marked on the pelvis itself is where it was marked.
    const marks = [point('left hip'), point('right hip'), point('pelvis', [1, 2, 3])];
    expect([...shotMotion(null, marks, timesSec)!.paths.get('pelvis')!.xPx]).toEqual([1, 2, 3]);
  });

  it('has its sides exchanged where the camera saw it mirrored, but not those of marks', () => {
    const seen = new Map<Joint, JointPath>([
      ['leftWrist', pathAt(1)],
      ['rightWrist', pathAt(2)],
      ['rightElbow', pathAt(3)],
      ['nose', pathAt(4)],
    ]);
    const motion = shotMotion(tracksOf(seen, timesSec), [point('left wrist', [9, 9, 9])], timesSec, true)!;
    const places = [...motion.paths].map(([joint, { xPx }]) => `${joint} ${xPx[0]}`).sort();
    expect(places).toEqual(['leftElbow 3', 'leftWrist 9', 'nose 4', 'rightWrist 1']);
    expect(motion.stepSdPx!('leftElbow', 0, 1)).toBe(1);
    expect(motion.stepSdPx!('rightElbow', 0, 1)).toBeNaN();
  });

  it('is compared as before through a mirror, by joints that a detector names the other way round and by marks', () => {
    const plan = madePlan('sideways25', newPuppet);
    const { shot } = madeShot(plan, 'offPose', { seed: 4, noisePx: 0.2 });
    const { timesSec: times } = shot.motion;
    const told = (motion: typeof shot.motion, mirror: boolean, marked = new Set<Joint>()) => {
      const { findings } = compareShot(plan, { ...shot, motion, marked }, { ...usualRegistration, mirror })!;
      return findings.map((f) => `${f.kind} ${f.joint} ${f.atFrame}`);
    };
    const asShot = [...shot.motion.paths] as [Joint, JointPath][];
    const inMirror = asShot.map(([joint, path]) => [joint, { ...path, xPx: path.xPx.map((x) => 1000 - x) }] as const);
    const asDetected = new Map(inMirror.map(([joint, path]) => [otherSide(joint), path]));
    const motion = shotMotion(tracksOf(asDetected, times), [], times, true)!;
    const usual = told(shotMotion(tracksOf(new Map(asShot), times), [], times)!, false);
    expect(usual.length).toBeGreaterThan(0);
    expect(told(motion, true)).toEqual(usual);

    const wrist = inMirror.find(([joint]) => joint === 'leftWrist')![1];
    const mark: SeenProp = { ...point('left wrist', wrist.xPx, wrist.yPx), timesSec: times };
    const withMark = told(shotMotion(tracksOf(asDetected, times), [mark], times, true)!, true, new Set(['leftWrist']));
    const straight = asShot.find(([joint]) => joint === 'leftWrist')![1];
    const markAsShot: SeenProp = { ...point('left wrist', straight.xPx, straight.yPx), timesSec: times };
    const marked = shotMotion(tracksOf(new Map(asShot), times), [markAsShot], times)!;
    expect(withMark).toEqual(told(marked, false, new Set(['leftWrist'])));
  });
});
