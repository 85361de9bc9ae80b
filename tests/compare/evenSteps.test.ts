import { describe, expect, it } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import { compareShot } from '../../src/compare/compareShot.ts';
import type { PlannedShot } from '../../src/compare/shot.ts';
import { longArmedPuppet, newPuppet } from '../../src/puppet/builtIn.ts';
import type { PuppetPath } from '../../src/puppet/puppetMotion.ts';
import { laidAt, madePlan, madeShot } from './madeShots.ts';

interface Way {
  readonly joint: Joint;
  readonly wayMm: number;
  /** Steps' standard deviation over their mean, each a frame of the plan. */
  readonly variation: number;
  /** The frame of the plan that a frame shows where the joint goes in equal steps. */
  readonly evenly: (frame: number) => number;
}

/** A joint's way from one frame of its plan to another, and how it would go in equal steps: by a table of its length. */
function wayOf(joint: Joint, { xMm, yMm }: PuppetPath, from: number, to: number): Way {
  const steps = Array.from({ length: to - from }, (_, k) =>
    Math.hypot(xMm[from + k + 1]! - xMm[from + k]!, yMm[from + k + 1]! - yMm[from + k]!),
  );
  const behind = [0];
  for (const step of steps) behind.push(behind.at(-1)! + step);
  const wayMm = behind.at(-1)!;
  const mean = wayMm / steps.length;
  const variation = Math.sqrt(steps.reduce((sum, s) => sum + (s - mean) ** 2, 0) / steps.length) / mean;
  const evenly = (frame: number) => {
    if (frame <= from || frame >= to) return frame;
    const k = behind.findIndex((mm) => mm >= (frame - from) * mean);
    return from + k - (behind[k]! - (frame - from) * mean) / steps[k - 1]!;
  };
  return { joint, wayMm, variation, evenly };
}

/** Moves from one stop to the next that ease, each by the part that goes furthest. */
function easedMoves(plan: PlannedShot) {
  const story = plan.keys.filter((k) => k.kind === 'key').map((k) => k.frameIndex);
  return story.slice(1).flatMap((to, k) => {
    const rest = plan.holds.find((h) => story[k]! >= h.firstFrame && story[k]! < h.firstFrame + h.frames);
    const from = rest ? Math.min(rest.firstFrame + rest.frames - 1, to) : story[k]!;
    if (to - from < 10) return [];
    const [furthest] = (['leftWrist', 'rightWrist', 'nose', 'pelvis'] as const)
      .map((joint) => wayOf(joint, plan.motion.paths.get(joint)!, from, to))
      .sort((a, b) => b.wayMm - a.wayMm);
    return furthest && furthest.wayMm > 12 && furthest.variation > 0.4 ? [{ from, to, ...furthest }] : [];
  });
}

/** The arm of a wrist, as far as it goes with it. */
const armOf = (wrist: Joint) => new RegExp(`^${wrist.replace('Wrist', '')}(Elbow|Wrist|Hand)$`);

function shotsOf(part: 'body' | 'arm') {
  return ['keeper', 'sideways25', 'uneven2997', 'same_large'].flatMap((take) =>
    [newPuppet, longArmedPuppet].flatMap((puppet) => {
      const plan = madePlan(take, puppet);
      return easedMoves(plan)
        .filter(({ joint }) => part === 'body' || joint.endsWith('Wrist'))
        .map((move, seed) => {
          const goes = part === 'body' ? /./ : armOf(move.joint);
          const laid = laidAt(plan, (frame, joint) => (goes.test(joint) ? move.evenly(frame) : frame));
          const { shot } = madeShot(laid, null, { seed: 7 * move.from + seed, noisePx: seed % 2 === 0 ? 0.5 : 1 });
          return { what: `${take}, ${move.joint} from ${move.from} to ${move.to}`, move, ...compareShot(plan, shot)! };
        });
    }),
  );
}

/** Even steps told in a move. */
const toldIn = ({ move, findings }: ReturnType<typeof shotsOf>[number]) =>
  findings.filter((f) => f.kind === 'evenSpacing' && f.firstFrame < move.to && f.firstFrame + f.frames > move.from);

describe('a move that the plan eases', () => {
  const body = shotsOf('body');
  const arm = shotsOf('arm');

  it('is told to go in even steps where the whole body went so, once', () => {
    expect(body.length).toBeGreaterThan(20);
    for (const shot of body) {
      const told = toldIn(shot);
      expect(told.length, shot.what).toBe(1);
      expect(told[0]!.sentence, shot.what).toMatch(/^The body moves in even steps/);
      expect(Math.abs(told[0]!.firstFrame - shot.move.from), shot.what).toBeLessThanOrEqual(2);
    }
  });

  it('is told to where one arm alone went so, by that arm', () => {
    expect(arm.length).toBeGreaterThan(15);
    for (const shot of arm) {
      const told = toldIn(shot);
      expect(told.length, shot.what).toBe(1);
      expect(armOf(shot.move.joint).test(told[0]!.joint!), shot.what).toBe(true);
      expect(told[0]!.sentence, shot.what).toMatch(/^The (left|right) (wrist|elbow) moves in even steps/);
    }
  });

  it('has its keys in time, whose ends are where they were planned', () => {
    const late = [...body, ...arm].flatMap(({ what, findings }) =>
      findings.filter((f) => f.kind === 'keyTiming').map((f) => `${what}: ${f.sentence}`),
    );
    expect(late).toEqual([]);
  });

  it('is hardly told besides', () => {
    const shots = [...body, ...arm];
    const others = shots.flatMap((shot) =>
      shot.findings.filter((f) => !toldIn(shot).includes(f)).map((f) => `${shot.what}: ${f.sentence}`),
    );
    expect(others.length / shots.length, others.join('\n')).toBeLessThan(0.1);
  });

  it('is spaced in tables as it was shot and as it was planned', () => {
    for (const { what, move, moves } of body) {
      const its = moves.find((m) => m.joint === move.joint && m.toKey.frameIndex === move.to);
      if (!its) continue;
      const largest = (of: readonly number[]) => Math.max(...of.slice(1).map((f, k) => f - of[k]!));
      expect(largest(its.shotFractions), what).toBeLessThan(largest(its.planFractions));
    }
  });
});
