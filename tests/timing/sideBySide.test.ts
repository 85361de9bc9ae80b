import { describe, expect, it } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import { layOutDrops } from '../../src/draw/dropChart.ts';
import { centreOfMass } from '../../src/timing/centreOfMass.ts';
import { besideEachOther, idealDrop } from '../../src/timing/sideBySide.ts';
import type { JointPath } from '../../src/track/motion.ts';

describe('drops side by side', () => {
  const heavy = idealDrop('iron', { dropHeightM: 1.8, restitution: 0.3 }, 30, 24, 1000 / 6);
  const light = idealDrop('beach ball', { dropHeightM: 1.8, restitution: 0.75 }, 24, 24, 1000 / 6);

  it('steps down by odd numbers on the puppet, alike for both until the first bounce', () => {
    const rows = besideEachOther(heavy, light);
    expect(rows.length).toBe(24);
    // Free fall at 24 fps and a scale of 1:6: 1.42, 4.26, 7.09, 9.93 mm (½ g t² with g = 9.80665 m/s², computed).
    for (const [k, mm] of [1.42, 4.26, 7.09, 9.93].entries()) expect(rows[k + 1]!.aStepMm).toBeCloseTo(mm, 2);
    for (const row of rows.slice(0, 15)) expect(row.bMm).toBeCloseTo(row.aMm, 9);
    // 1.8 m takes 14.54 frames; after that the lighter one is higher.
    expect(rows[18]!.bMm).toBeGreaterThan(rows[18]!.aMm + 20);
    expect(rows[0]!.aStepMm).toBeNaN();
  });

  it('may be let go between two frames', () => {
    const late = idealDrop('ball', { dropHeightM: 1, restitution: 0.5 }, 4, 24, 1000, 0.5);
    expect(late.heightMm[0]).toBe(1000);
    expect(late.heightMm[1]).toBeCloseTo(1000 - 8.51 / 4, 2);
  });

  it('are drawn with a rung for each frame of the first fall, and heights that can be read out', () => {
    const scene = layOutDrops(besideEachOther(heavy, light), ['iron', 'beach ball'], 3, { width: 340, height: 210 });
    const rungs = scene.marks.filter((m) => m.id.startsWith('a-rung-') && !m.id.endsWith('number'));
    expect(rungs.length).toBe(15);
    expect(scene.marks.some((m) => m.id === 'now')).toBe(true);
    const read = scene.marks.find((m) => m.id === 'b-3')!;
    expect(read.label).toBe('beach ball, 3 frames after the release: 287.2 mm');
    expect(scene.summary).toContain('iron and beach ball');
    for (const mark of scene.marks) if (mark.kind === 'path') expect(mark.d).not.toContain('NaN');
  });
});

describe('centreOfMass', () => {
  const path = (x: number, y: number, guessed = 0): JointPath => ({
    xPx: Float64Array.of(x),
    yPx: Float64Array.of(y),
    vxPx: Float64Array.of(0),
    vyPx: Float64Array.of(0),
    sdPx: Float64Array.of(1),
    confidence: Float32Array.of(1),
    guessed: Uint8Array.of(guessed),
  });
  const standing: [Joint, JointPath][] = (['left', 'right'] as const).flatMap((side): [Joint, JointPath][] => {
    const x = side === 'left' ? 110 : 90;
    return [
      [`${side}Ear`, path(x, 20)],
      [`${side}Shoulder`, path(x, 60)],
      [`${side}Elbow`, path(x, 110)],
      [`${side}Wrist`, path(x, 150)],
      [`${side}Hip`, path(x, 150)],
      [`${side}Knee`, path(x, 220)],
      [`${side}Ankle`, path(x, 290)],
    ];
  });

  it('lies in the middle of somebody who stands upright, near the hips', () => {
    const { xPx, yPx, sdPx } = centreOfMass({ timesSec: Float64Array.of(0), paths: new Map(standing) });
    expect(xPx[0]).toBeCloseTo(100, 9);
    // By hand from the table's fractions: Σ m y / Σ m.
    expect(yPx[0]).toBeCloseTo(130, -1);
    expect(sdPx[0]).toBeLessThan(1);
    expect(sdPx[0]).toBeGreaterThan(0.1);
  });

  it('is not known where a part of the body is not seen', () => {
    const hidden = new Map(standing).set('leftKnee', path(110, 220, 1));
    expect(centreOfMass({ timesSec: Float64Array.of(0), paths: hidden }).yPx[0]).toBeNaN();
    const missing = new Map(standing);
    missing.delete('rightAnkle');
    expect(centreOfMass({ timesSec: Float64Array.of(0), paths: missing }).xPx[0]).toBeNaN();
  });
});
