import { expect, test } from 'vitest';
import { lagsJson, phasesJson } from '../../src/plan/phasesJson.ts';
import { madePlan } from './madeTiming.ts';

test('phases lie in the shot, each with an id of its own; names are the animator’s', () => {
  const [first] = phasesJson(madePlan());
  const plan = madePlan({ book: { phaseNames: new Map([[first!.id, 'the breath before']]) } });
  const phases = phasesJson(plan);
  expect(phases.length).toBeGreaterThan(3);
  expect(new Set(phases.map((p) => p.id)).size).toBe(phases.length);
  for (const p of phases) {
    expect(p.firstFrame).toBeGreaterThanOrEqual(0);
    expect(p.frames).toBeGreaterThanOrEqual(1);
    expect(p.firstFrame + p.frames).toBeLessThanOrEqual(plan.timing.grid.frameCount);
    expect(p.sentence).not.toBe('');
  }
  expect(phases[0]!.name).toBe('the breath before');
  expect(new Set(phases.map((p) => p.of))).toEqual(new Set(['body', 'part']));
});

test('lags tell a number with its doubt and reason, or only why not', () => {
  const lags = lagsJson(madePlan());
  expect(lags.length).toBeGreaterThan(3);
  for (const l of lags) {
    expect(l.why).not.toBe('');
    expect(l.lagFrames === null).toBe(l.sdFrames === null);
    expect(l.lagFrames === null).toBe(l.lagSec === null);
    if (l.lagFrames === null) expect(l.confidence).toBe(0);
  }
});

test('chains that the animator picked are told under their ids', () => {
  const chains = [{ id: 'sway', name: 'sway', parts: ['pelvis', 'neck', 'nose'] as const }];
  const lags = lagsJson(madePlan({ book: { chains } })).filter((l) => l.chain === 'sway');
  expect(new Set(lags.map((l) => l.measure))).toEqual(new Set(['turning', 'going']));
});
