import { describe, expect, it } from 'vitest';
import { findingsOf } from '../../src/plan/hitchesJson.ts';
import { leastArcMm, setArcs } from '../../src/plan/setArcs.ts';
import { hoursWords, shotFacts } from '../../src/plan/shotFacts.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { puppetOfHeight } from '../../src/puppet/profile.ts';
import { madePlan, withHitches } from './madeTiming.ts';

describe('arcs on the set', () => {
  const plan = madePlan({ book: { sheetJoints: ['rightWrist', 'nose', 'leftHeel'] } });
  const arcs = setArcs(plan);

  it('lie where the puppet’s joint is at each exposure, in millimetres', () => {
    expect(arcs.length).toBeGreaterThan(3);
    const exposed = new Set(plan.timing.exposures.map((e) => e.firstFrame));
    for (const arc of arcs) {
      const path = plan.puppet.paths.get(arc.joint)!;
      for (const tick of arc.ticks) {
        expect(exposed.has(tick.frame)).toBe(true);
        expect([tick.xMm, tick.yMm]).toEqual([path.xMm[tick.frame], path.yMm[tick.frame]]);
      }
      expect(arc.ticks[0]!.frame).toBe(arc.frames.firstFrame);
      expect(arc.ticks.at(-1)!.frame).toBe(arc.frames.lastFrame);
    }
  });

  it('are as long as the moves of the sheet add up to, before rounding', () => {
    for (const arc of arcs) {
      const moved = plan.moves
        .filter((m) => m.joint === arc.joint)
        .filter((m) => {
          const frame = plan.timing.exposures[m.exposure]!.firstFrame;
          return frame > arc.frames.firstFrame && frame <= arc.frames.lastFrame;
        })
        .reduce((sum, m) => sum + m.distanceMm, 0);
      expect(arc.lengthMm).toBeCloseTo(moved, 6);
    }
  });

  it('grow with the puppet, and leave out what hardly moves', () => {
    const twice = setArcs(madePlan({ book: { puppet: puppetOfHeight(newPuppet, 500), sheetJoints: ['rightWrist'] } }));
    for (const arc of arcs.filter((a) => a.joint === 'rightWrist')) {
      const larger = twice.find((a) => a.frames.firstFrame === arc.frames.firstFrame)!;
      expect(larger.lengthMm / arc.lengthMm).toBeCloseTo(2, 6);
    }
    for (const { ticks } of [...arcs, ...twice])
      expect(Math.max(...ticks.map((t) => Math.hypot(t.xMm - ticks[0]!.xMm, t.yMm - ticks[0]!.yMm)))).toBeGreaterThan(
        leastArcMm - 1e-9,
      );
  });

  it('are parted where the joint is not known', () => {
    const gap = { ...plan.puppet.paths.get('rightWrist')! };
    gap.xMm = gap.xMm.map((x, k) => (k >= 38 && k <= 41 ? Number.NaN : x));
    const paths = new Map([...plan.puppet.paths, ['rightWrist', gap] as const]);
    const arc = setArcs({ ...plan, puppet: { ...plan.puppet, paths } }).find(
      (a) => a.joint === 'rightWrist' && a.frames.firstFrame < 38 && a.frames.lastFrame > 41,
    )!;
    expect(arc.runs.map((run) => [run[0]!.frame, run.at(-1)!.frame])).toEqual([
      [arc.frames.firstFrame, 37],
      [42, arc.frames.lastFrame],
    ]);
    expect(arc.ticks.some((t) => t.frame >= 38 && t.frame <= 41)).toBe(false);
  });
});

describe('a shot in numbers', () => {
  it('counts exposures by length and reckons their hours', () => {
    const plan = madePlan({ frameCount: 97, on: 3, book: { minutesPerExposure: 12.5 } });
    const facts = shotFacts(plan);
    expect(facts).toMatchObject({ frames: 97, exposures: 33, minutes: 412.5 });
    expect(facts.lengths).toEqual([
      { frames: 1, exposures: 1 },
      { frames: 3, exposures: 32 },
    ]);
    expect(facts.poses).toBe(plan.poses.length);
    expect(facts.longestHold!.frames).toBe(Math.max(...plan.poses.map((p) => p.frames)));
    expect([hoursWords(412.5), hoursWords(60), hoursWords(0.2), hoursWords(59.7)]).toEqual([
      '6 h 53 min',
      '1 h',
      '0 min',
      '1 h',
    ]);
  });

  it('never leaves out what has to be prepared, however much else there is', () => {
    const plan = madePlan({ frameCount: 40 });
    const found = Array.from({ length: 30 }, (_, k) => ({
      firstFrame: k,
      support: k === 29 || k === 3 ? ('rig' as const) : null,
    }));
    const told = findingsOf(withHitches(plan, found));
    expect(told.map((f) => f.firstFrame).slice(0, -1)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 29]);
    expect(told.at(-1)!.sentence).toBe('And 18 more, on the Puppet screen.');
  });
});
