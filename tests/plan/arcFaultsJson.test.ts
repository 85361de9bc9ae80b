import { expect, test } from 'vitest';
import { planJson } from '../../src/plan/planJson.ts';
import { madePlan } from './madeTiming.ts';

test('a pose that leaves its arc stands in plan.json with its frame, size and reason', () => {
  const plan = madePlan();
  expect(planJson(plan).arcFaults.filter((f) => f.part === 'leftWrist' && f.kind === 'pop')).toEqual([]);
  const { firstFrame, frames } = plan.timing.exposures[20]!;
  const ball = plan.timing.motion.paths.get('leftWrist')!;
  const sure = { ...ball, sdPx: ball.sdPx.map(() => 0.01) };
  const off = 6 / plan.timing.mmPerPx;
  const popped = {
    ...sure,
    xPx: sure.xPx.map((x, k) => (k >= firstFrame && k < firstFrame + frames ? x + off : x)),
    yPx: sure.yPx.map((y, k) => (k >= firstFrame && k < firstFrame + frames ? y + off : y)),
  };
  const motion = { ...plan.timing.motion, paths: new Map([...plan.timing.motion.paths, ['prop:1' as const, popped]]) };
  const book = { ...plan.book, props: [{ id: 'prop:1' as const, name: 'red ball', marks: [], absent: [] }] };
  const json = planJson({ ...plan, book, timing: { ...plan.timing, motion } });
  const fault = json.arcFaults.find((f) => f.part === 'prop:1' && f.atFrame === firstFrame)!;
  expect(['pop', 'reversal']).toContain(fault.kind);
  expect(fault.frames).toBe(frames);
  expect(fault.sizeMm).toBeGreaterThan(2);
  expect(fault.sentence).toContain('red ball');
  expect(fault.sentence).toContain(`frame ${firstFrame + 1}`);
  expect(fault.why).not.toBe('');
});
