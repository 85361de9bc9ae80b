import { describe, expect, it } from 'vitest';
import type { Plan } from '../../src/plan/plan.ts';
import { leftWords, readTakenLog } from '../../src/plan/takenLog.ts';
import type { TakenExposure } from '../../src/project/shooting.ts';
import { madePlan } from './madeTiming.ts';

/** The plan's exposures `from` to before `until`, shot seven minutes apart. */
function shot({ timing }: Plan, from: number, until: number): TakenExposure[] {
  return timing.exposures.slice(from, until).map(({ firstFrame, frames }, i) => ({
    ...{ firstFrame, frames, takeSec: timing.takeTimeSec[firstFrame]!, isHeld: false },
    atMs: 1e12 + 420_000 * (from + i),
  }));
}

/** The plan with its time laid anew. */
function retimed(plan: Plan, change: Partial<Plan['timing']>): Plan {
  return { ...plan, timing: { ...plan.timing, ...change } };
}

describe('the log against the plan', () => {
  it('counts what is shot and what is left, in poses and in exposures', () => {
    const plan = madePlan();
    const none = readTakenLog(plan, []);
    expect([none.shotCount, none.exposuresLeft, none.posesLeft]).toEqual([
      0,
      plan.timing.exposures.length,
      plan.poses.length,
    ]);
    // As on the shot card.
    expect(none.minutesLeft).toBe(plan.timing.exposures.length * 10);
    expect(leftWords(none)).toBe(
      `${plan.timing.exposures.length / 6} h left: ${plan.timing.exposures.length} exposures at 10 min, as the shot card says`,
    );
    const log = readTakenLog(plan, shot(plan, 0, 5));
    expect(log.shotCount).toBe(5);
    expect([...log.shotAtMs.slice(0, 6)]).toEqual([1e12, 1e12 + 42e4, 1e12 + 84e4, 1e12 + 126e4, 1e12 + 168e4, NaN]);
    expect(log.pace).toEqual({ minutes: 7, intervals: 4 });
    expect(log.minutesLeft).toBe(7 * log.posesLeft);
    expect(log.posesLeft).toBe(plan.poses.length - 5);
    expect(log.differing).toEqual([]);
  });

  it('does not count what the plan has left behind, and says what is other now', () => {
    const plan = madePlan();
    const taken = shot(plan, 0, 8);
    const { exposures, takeTimeSec } = plan.timing;
    // From frame 8 on, everything comes half an exposure later in the take.
    const later = takeTimeSec.map((sec, k) => (k < 8 ? sec : sec + 1 / 24));
    const log = readTakenLog(retimed(plan, { takeTimeSec: later }), taken);
    expect(log.entries.map((e) => e.differs)).toEqual([
      ...['', '', '', ''],
      ...new Array<string>(4).fill('another pose stands here now'),
    ]);
    expect([log.shotCount, log.differing.length]).toEqual([4, 4]);

    const held = exposures.map((e, i) => (i === 3 ? { firstFrame: 6, frames: 3 } : e)).filter((_, i) => i !== 4);
    const other = readTakenLog(retimed(plan, { exposures: held }), taken);
    expect(other.entries.map((e) => e.differs)).toEqual([
      ...['', '', '', 'stays 3 frames now', 'no exposure begins at this frame now'],
      ...['', '', ''],
    ]);

    const shorter = retimed(plan, {
      exposures: exposures.slice(0, 6),
      grid: { ...plan.timing.grid, frameCount: 12 },
    });
    expect(readTakenLog(shorter, taken).differing.map((e) => e.differs)).toEqual([
      'behind the end of the shot now',
      'behind the end of the shot now',
    ]);
  });

  it('counts the later picture where frames were shot again', () => {
    const plan = madePlan();
    const [first, second, third] = shot(plan, 0, 3) as [TakenExposure, TakenExposure, TakenExposure];
    const wrong = { ...second, takeSec: 99 };
    const log = readTakenLog(plan, [first, wrong, third, second]);
    expect(log.entries.map((e) => [e.isReplaced, e.differs])).toEqual([
      [false, ''],
      [true, ''],
      [false, ''],
      [false, ''],
    ]);
    expect(log.shotCount).toBe(3);
    expect(log.differing).toEqual([]);
  });
});
