import { describe, expect, it } from 'vitest';
import { layOutPuppetStage } from '../../src/draw/puppetStage.ts';
import { boxOf, type PathMark, type Scene } from '../../src/draw/scene.ts';
import type { PuppetMotion } from '../../src/puppet/puppetMotion.ts';
import { madePlan } from '../plan/madeTiming.ts';

const style = { width: 500, height: 600, frame: 10, onions: [], warnings: [] };
const drawn = (scene: Scene, id: string) => scene.marks.find((m): m is PathMark => m.kind === 'path' && m.id === id);
const leg = (scene: Scene, side: 'left' | 'right') =>
  ['Knee', 'Ankle', 'Foot'].map((part) => boxOf(drawn(scene, `puppet-${side}${part}`)!.d));

/** The same puppet, its right leg this much lower in the picture: it stands nearer to the lens. */
function nearer(puppet: PuppetMotion, byMm: number): PuppetMotion {
  const moved = [...puppet.paths].map(([joint, path]) =>
    /^right(Knee|Ankle|Heel|Toe)$/.test(joint)
      ? ([joint, { ...path, yMm: path.yMm.map((y) => y - byMm) }] as const)
      : ([joint, path] as const),
  );
  return { ...puppet, paths: new Map(moved) };
}

const { puppet } = madePlan();

describe('the floor under the puppet', () => {
  const scene = layOutPuppetStage(nearer(puppet, 40), style);

  it('is each standing foot’s own ground, right under it, so that it crosses no leg', () => {
    for (const side of ['left', 'right'] as const) {
      const ground = boxOf(drawn(scene, `ground-${side}`)!.d);
      const lowest = Math.max(...leg(scene, side).map((b) => b.bottom));
      expect(ground.top).toBe(ground.bottom);
      expect(ground.top).toBeCloseTo(lowest, 1);
      const foot = leg(scene, side).at(-1)!;
      expect(ground.left).toBeLessThan(foot.left - 5);
      expect(ground.right).toBeGreaterThan(foot.right + 5);
      // Short, beside a stage of 500.
      expect(ground.right - ground.left).toBeLessThan(100);
    }
    const heights = ['left', 'right'].map((side) => boxOf(drawn(scene, `ground-${side}`)!.d).top);
    expect(heights[1]! - heights[0]!).toBeGreaterThan(30);
  });

  it('has a faint line of the set behind everything, and no ground under a foot in the air', () => {
    expect(scene.marks[0]).toMatchObject({ role: 'floor', stroke: 'line' });
    const inTheAir = layOutPuppetStage({ ...puppet, planted: puppet.planted.filter((p) => p.side === 'left') }, style);
    expect(drawn(inTheAir, 'ground-left')).toBeDefined();
    expect(drawn(inTheAir, 'ground-right')).toBeUndefined();
  });
});
