import { describe, expect, it } from 'vitest';
import { comparedArc, intoPicture } from '../../src/compare/comparedArc.ts';
import { type Comparison, compareShot } from '../../src/compare/compareShot.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import type { Fault } from './madeFaults.ts';
import { madePlan, madeShot } from './madeShots.ts';

const plan = madePlan('keeper', newPuppet);
const held = (fault: Fault | null, seed: number, kind: 'similarity' | 'none' = 'similarity') => {
  const { shot, made, camera, truth } = madeShot(plan, fault, { seed, noisePx: 0.5 });
  const choice = kind === 'none' ? ({ kind } as const) : ({ kind, joints: null, frames: null, mirror: false } as const);
  return { comparison: compareShot(plan, shot, choice)!, shot, made, camera, truth };
};
const apart = ([a, b]: readonly [number, number], [c, d]: readonly [number, number]) => Math.hypot(c - a, d - b);
const firstOf = ({ findings }: Comparison, kind: string) => findings.find((f) => f.kind === kind)!;

describe('both ways around a finding', () => {
  it('lie apart at its frame by what it says', () => {
    const { comparison, made } = held('offPose', 4);
    const finding = comparison.findings.find((f) => f.unit === 'mm' && f.atFrame === made!.firstFrame)!;
    const arc = comparedArc(comparison, finding)!;
    expect(arc.joint).toBe(finding.joint);
    expect(arc.against).toBe('pose');
    expect(arc.frames[arc.at]).toBe(finding.atFrame);
    expect(apart(arc.plan[arc.at]!, arc.shot[arc.at]!)).toBeCloseTo(finding.size, 6);
    // Beside it the shot is on its way.
    expect(apart(arc.plan[arc.at - 2]!, arc.shot[arc.at - 2]!)).toBeLessThan(finding.size / 3);
    expect(arc.planCurve[4 * arc.at]).toEqual(arc.plan[arc.at]);
    expect(arc.shotCurve[4 * arc.at]).toEqual(arc.shot[arc.at]);
  });

  it('of a key that is late are those of the joint that goes furthest, against the frames themselves', () => {
    const { comparison } = held('lateKey', 3);
    const arc = comparedArc(comparison, firstOf(comparison, 'keyTiming'))!;
    expect(arc.against).toBe('frame');
    const { x, y } = plan.motion.paths.has(arc.joint)
      ? { x: plan.motion.paths.get(arc.joint)!.xMm, y: plan.motion.paths.get(arc.joint)!.yMm }
      : { x: [], y: [] };
    arc.frames.forEach((frame, k) => {
      expect(apart(arc.plan[k]!, [x[frame]!, -y[frame]!])).toBeLessThan(3);
    });
  });

  it('are not there for camera and light', () => {
    const { comparison } = held('flicker', 2);
    expect(comparedArc(comparison, firstOf(comparison, 'flicker'))).toBeNull();
  });

  it('lie on the joints in the picture, also of a camera that was pushed and of bodies each on their hips', () => {
    for (const kind of ['similarity', 'none'] as const) {
      const { comparison, shot } = held('cameraBump', 5, kind);
      const { places } = comparison.registration;
      for (const i of [0, 10, places.count - 1]) {
        const { place } = intoPicture(comparison, i);
        for (const joint of ['leftWrist', 'rightAnkle', 'nose'] as const) {
          const [seen, px] = [places.at.get(joint)!, shot.motion.paths.get(joint)!];
          expect(apart(place(seen.x[i]!, seen.y[i]!), [px.xPx[i]!, px.yPx[i]!]), `${kind} ${joint} ${i}`).toBeLessThan(
            1e-6,
          );
        }
      }
    }
  });

  it('has a millimetre as large as the camera saw it', () => {
    const { comparison, camera } = held(null, 6);
    expect(intoPicture(comparison, 3).perMm / camera.scale).toBeCloseTo(1, 2);
  });
});
