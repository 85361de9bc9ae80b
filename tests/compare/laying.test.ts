import { describe, expect, it } from 'vitest';
import { compareShot } from '../../src/compare/compareShot.ts';
import { jointScale, notablyLarger } from '../../src/compare/jointScale.ts';
import { type LayingChoice, registrationOf } from '../../src/compare/laying.ts';
import { readRuler, rulerFault } from '../../src/compare/ruler.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { madePlan, madeShot } from './madeShots.ts';

const ruler = { fromPx: [100, 100], toPx: [400, 500], lengthMm: 150 } as const;
const laying: LayingChoice = { laid: 'joints', ruler, mirrored: true, joints: ['nose', 'neck'], frames: null };
const by = { joints: ['nose', 'neck'], frames: null, mirror: true };

describe('how a shot is laid over its plan', () => {
  it('goes by its joints, by a ruler where one can be read, or not at all', () => {
    expect(registrationOf(laying)).toEqual({ kind: 'similarity', ...by });
    expect(registrationOf({ ...laying, laid: 'ruler' })).toEqual({ kind: 'ruler', mmPerPx: 0.3, ...by });
    expect(registrationOf({ ...laying, laid: 'ruler', ruler: null })).toEqual({ kind: 'similarity', ...by });
    const short = { ...ruler, toPx: [110, 110] } as const;
    expect(registrationOf({ ...laying, laid: 'ruler', ruler: short })).toEqual({ kind: 'similarity', ...by });
    expect(registrationOf({ ...laying, laid: 'angles' })).toEqual({ kind: 'none' });
  });

  it('is told what is wrong with a ruler', () => {
    expect(rulerFault(ruler)).toBeNull();
    expect(rulerFault({ ...ruler, toPx: [100, 127.9] })).toBe('short');
    expect(rulerFault({ ...ruler, toPx: [100, 128] })).toBeNull();
    expect(rulerFault({ ...ruler, toPx: [Number.NaN, 0] })).toBe('short');
    expect(rulerFault({ ...ruler, lengthMm: 0 })).toBe('noLength');
    expect(rulerFault({ ...ruler, lengthMm: Number.NaN })).toBe('noLength');
    expect(readRuler({ ...ruler, lengthMm: -1 })).toBeNull();
  });
});

describe('a ruler beside the joints', () => {
  const plan = madePlan('keeper', newPuppet);
  const { shot, camera } = madeShot(plan, null, { seed: 3, noisePx: 0.5 });
  const through = (share: number) => {
    const mmPerPx = share / camera.scale;
    const choice = { kind: 'ruler', mmPerPx, joints: null, frames: null, mirror: false } as const;
    return { mmPerPx, byJoints: jointScale(compareShot(plan, shot, choice)!, choice)! };
  };

  it('leaves them saying how large a pixel is, whatever it says itself', () => {
    for (const share of [1, 1.03, 0.97]) {
      const { byJoints } = through(share);
      expect(byJoints.mmPerPx * camera.scale).toBeGreaterThan(0.995);
      expect(byJoints.mmPerPx * camera.scale).toBeLessThan(1.005);
      expect(byJoints.sdShare).toBeLessThan(0.003);
    }
    expect(jointScale(compareShot(plan, shot, { kind: 'none' })!, { kind: 'none' })).toBeNull();
  });

  it('is told to differ where that is surely more than both err by', () => {
    const { mmPerPx, byJoints } = through(1.03);
    expect(notablyLarger({ mmPerPx, sdShare: 0.002 }, byJoints)).toBeCloseTo(0.03, 2);
    expect(notablyLarger({ mmPerPx: 0.97 * byJoints.mmPerPx, sdShare: 0.002 }, byJoints)).toBeCloseTo(-0.03, 9);
    expect(notablyLarger({ mmPerPx, sdShare: 0.02 }, byJoints)).toBeNull();
    expect(notablyLarger({ mmPerPx: 1.009 * byJoints.mmPerPx, sdShare: 0 }, { ...byJoints, sdShare: 0 })).toBeNull();
  });
});
