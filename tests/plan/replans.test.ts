import { csvParse } from 'd3-dsv';
import { describe, expect, it } from 'vitest';
import { stepCard } from '../../src/plan/onSet.ts';
import type { Plan } from '../../src/plan/plan.ts';
import { stanceIn } from '../../src/plan/replans.ts';
import { writeSheet } from '../../src/plan/sheet.ts';
import { sheetCsv } from '../../src/plan/sheetCsv.ts';
import type { Book, ReplanChoice } from '../../src/project/book.ts';
import { newBook } from '../../src/project/book.ts';
import { applyEdit } from '../../src/project/edits.ts';
import { beginHistory, record, redo, undo } from '../../src/project/history.ts';
import { readBook, writeBook } from '../../src/project/schema.ts';
import { puppetOfHeight, standingHeightMm } from '../../src/puppet/profile.ts';
import type { PuppetJoint } from '../../src/puppet/puppetMotion.ts';
import { madePlan, twelveParts } from './madeTiming.ts';

const book = { sheetJoints: twelveParts } satisfies Partial<Book>;
const planned = madePlan({ book });
const atFrame = (plan: Plan, k: number, joint: PuppetJoint) => {
  const path = plan.puppet.paths.get(joint)!;
  return [path.xMm[k]!, path.yMm[k]!] as const;
};
const way = (a: readonly [number, number], b: readonly [number, number]) => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** The puppet as planned at an exposure, its right arm turned about the shoulder, degrees anticlockwise. */
function choiceAt(plan: Plan, exposure: number, deg: number, keyFrame?: number): ReplanChoice {
  const { timing } = plan;
  const { firstFrame, frames } = timing.exposures[exposure]!;
  const key = timing.keys.find((k) => (keyFrame ? k.frameIndex === keyFrame : k.frameIndex > firstFrame + frames))!;
  const [sx, sy] = atFrame(plan, firstFrame, 'rightShoulder');
  const [c, s] = [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
  const pose = [...plan.asked.paths.keys()].flatMap((joint) => {
    if (joint.startsWith('tail')) return [];
    const [x, y] = atFrame(plan, firstFrame, joint);
    if (Number.isNaN(x + y)) return [];
    const isTurned = /^right(Elbow|Wrist|Hand)$/.test(joint);
    const [u, v] = isTurned ? [c * (x - sx) - s * (y - sy), s * (x - sx) + c * (y - sy)] : [x - sx, y - sy];
    return [{ joint: joint as ReplanChoice['stance']['pose'][number]['joint'], xMm: sx + u, yMm: sy + v, sdMm: 0.05 }];
  });
  return {
    stance: { firstFrame, frames, planFrame: firstFrame, pose, before: null },
    takeSec: timing.takeTimeSec[firstFrame]!,
    heightMm: standingHeightMm(plan.puppet.profile),
    keySec: key.takeSec,
    keyAside: null,
  };
}

/** In the middle of the move to the key at frame 98. */
const exposure = planned.timing.exposures.findIndex((e) => e.firstFrame === 78);
const choice = choiceAt(planned, exposure, 12);
const anew = madePlan({ book: { ...book, replans: [choice] } });

describe('moves laid anew in the plan', () => {
  it('are told in the sheet’s table, frame by frame', () => {
    const column = (plan: Plan) => csvParse(sheetCsv(plan)).map((row) => row['laid anew after exposure']);
    expect(column(planned).every((cell) => cell === '')).toBe(true);
    const { replan } = anew.replans[0]!;
    const told = column(anew);
    expect(told.map((cell, k) => (cell ? k : -1)).filter((k) => k >= 0)).toEqual(
      Array.from({ length: replan!.lastFrame - replan!.firstFrame + 1 }, (_, i) => replan!.firstFrame + i),
    );
    expect(new Set(told)).toEqual(new Set(['', String(exposure + 1)]));
    // One that is out of date changes nothing, here either.
    const outdated = madePlan({ book: { ...book, replans: [{ ...choice, heightMm: choice.heightMm + 5 }] } });
    expect(column(outdated).every((cell) => cell === '')).toBe(true);
  });

  it('lead from where the puppet was found: what the set is told is the way from there', () => {
    expect(anew.replans.map((r) => r.outdated)).toEqual(['']);
    const [from, to] = [exposure, exposure + 1].map((i) => planned.timing.exposures[i]!.firstFrame) as [number, number];
    const wrist = choice.stance.pose.find((p) => p.joint === 'rightWrist')!;
    const off = way([wrist.xMm, wrist.yMm], atFrame(planned, from, 'rightWrist'));
    expect(off).toBeGreaterThan(5);
    for (const { joint, xMm, yMm } of choice.stance.pose) {
      const move = anew.moves.find((m) => m.exposure === exposure + 1 && m.joint === joint);
      if (!move) continue;
      expect(move.distanceMm, joint).toBeCloseTo(way([xMm, yMm], atFrame(anew, to, joint)), 1);
    }
    const card = stepCard(anew, exposure + 1)!;
    expect(card.laidFrom).toBe(exposure);
    const found = new Map(choice.stance.pose.map((p) => [p.joint as string, [p.xMm, p.yMm] as const]));
    expect(card.moves.length).toBeGreaterThan(2);
    for (const { joint, mm } of card.moves)
      expect(mm, joint).toBeCloseTo(
        Math.round(way(found.get(joint)!, atFrame(anew, to, joint as PuppetJoint)) / 0.5) * 0.5,
        9,
      );
    expect(card.moves.map((m) => m.mm)).not.toEqual(stepCard(planned, exposure + 1)!.moves.map((m) => m.mm));
    // The hinge is told from where it stands, too.
    const elbow = (plan: Plan, i: number, hinge: string) =>
      plan.angles.find((a) => a.exposure === i && a.hinge === hinge)!;
    expect(elbow(anew, exposure + 1, 'rightShoulder').changeDeg).not.toBeCloseTo(
      elbow(planned, exposure + 1, 'rightShoulder').changeDeg,
      1,
    );
  });

  it('leave what was shot and what lies behind the key as it was', () => {
    const key = anew.replans[0]!.replan!.key.frameIndex;
    const frameOf = (i: number) => planned.timing.exposures[i]!.firstFrame;
    const unchanged = (m: { exposure: number }) => m.exposure <= exposure || frameOf(m.exposure - 1) >= key;
    const plain = (plan: Plan) => plan.moves.filter(unchanged).map((m) => [m.exposure, m.joint, m.distanceMm]);
    expect(plain(anew).length).toBeGreaterThan(50);
    expect(plain(anew)).toEqual(plain(planned));
    expect(anew.asked.paths.get('rightWrist')!.xMm[frameOf(exposure)]).toBe(
      planned.asked.paths.get('rightWrist')!.xMm[frameOf(exposure)],
    );
    expect(stepCard(anew, exposure)).toEqual(stepCard(planned, exposure));
  });

  it('meet the key on its frame within what can be placed, saved and opened again', () => {
    const read = readBook(writeBook({ ...newBook('x'), ...book, replans: [choice] }));
    const opened = madePlan({ book: { ...book, replans: read.ok ? read.value.replans : [] } });
    const { key } = opened.replans[0]!.replan!;
    expect(key.frameIndex).toBe(98);
    for (const joint of opened.puppet.paths.keys()) {
      const off = way(atFrame(opened, key.frameIndex, joint), atFrame(planned, key.frameIndex, joint));
      if (!Number.isNaN(off)) expect(off, joint).toBeLessThan(opened.puppet.profile.smallestStepMm);
    }
    expect(opened.moves).toEqual(anew.moves);
  });

  it('add up to the way from there to the key within half a step', () => {
    const key = anew.replans[0]!.replan!.key.frameIndex;
    for (const joint of twelveParts) {
      const its = anew.moves.filter((m) => {
        const { firstFrame } = anew.timing.exposures[m.exposure]!;
        return m.joint === joint && m.exposure > exposure && firstFrame <= key;
      });
      const sum = (of: 'roundedMm' | 'distanceMm') => its.reduce((all, m) => all + m[of], 0);
      expect(Math.abs(sum('roundedMm') - sum('distanceMm')), joint).toBeLessThanOrEqual(0.5 + 1e-9);
    }
  });

  it('are marked on the sheet', () => {
    const rows = writeSheet(anew).rows.filter((r) => r.isLaidAnew);
    const { firstFrame, lastFrame } = anew.replans[0]!.replan!;
    expect(rows.map((r) => r.frameIndex)).toEqual(
      Array.from({ length: lastFrame - firstFrame + 1 }, (_, i) => firstFrame + i),
    );
    expect(writeSheet(planned).rows.some((r) => r.isLaidAnew)).toBe(false);
  });

  it('are laid anew once more from a later exposure, upon those before', () => {
    const later = exposure + 2;
    const second = choiceAt(anew, later, -8);
    const twice = madePlan({ book: { ...book, replans: [choice, second] } });
    const frame = (i: number) => twice.timing.exposures[i]!.firstFrame;
    expect(twice.replans.map((r) => r.outdated)).toEqual(['', '']);
    const at = (plan: Plan, i: number) => plan.asked.paths.get('rightWrist')!.xMm[frame(i)];
    expect(at(twice, exposure + 1)).toBe(at(anew, exposure + 1));
    expect(at(twice, later)).toBe(at(anew, later));
    expect(at(twice, later + 1)).not.toBeCloseTo(at(anew, later + 1)!, 2);
    expect([exposure, exposure + 1, later, later + 1].map((i) => stepCard(twice, i)!.laidFrom)).toEqual([
      null,
      exposure,
      exposure,
      later,
    ]);
  });

  it('are told as out of date, and change nothing, where the pose does not stand there any more', () => {
    const moved = { ...choice, takeSec: choice.takeSec + 0.04 };
    const longer = { ...choice, stance: { ...choice.stance, frames: choice.stance.frames + 1 } };
    const taller = { ...book, puppet: puppetOfHeight(newBook('').puppet, 260) };
    for (const [own, why] of [
      [{ ...book, replans: [moved] }, 'another pose stands here now'],
      [{ ...book, replans: [longer] }, 'stays 2 frames now'],
      [{ ...taller, replans: [choice] }, 'the puppet has another height now'],
    ] as const) {
      const plan = madePlan({ book: own });
      expect(plan.replans.map((r) => [r.replan, r.outdated])).toEqual([[null, why]]);
      expect(plan.moves).toEqual(madePlan({ book: { ...own, replans: [] } }).moves);
    }
  });

  it('follow their key when it falls elsewhere, and take the next where it is gone', () => {
    const keys = planned.timing.keys.filter((k) => k.frameIndex > choice.stance.firstFrame);
    const toSecond = madePlan({ book: { ...book, replans: [choiceAt(planned, exposure, 12, keys[1]!.frameIndex)] } });
    expect(toSecond.replans[0]!.replan!.key.frameIndex).toBe(keys[1]!.frameIndex);
    const gone = madePlan({ book: { ...book, replans: [{ ...choice, keySec: choice.keySec + 0.05 }] } });
    expect(gone.replans[0]!.replan!.key.kind).toBe('key');
  });
});

describe('how fast the puppet goes', () => {
  const pose = choice.stance.pose;
  const stance = { ...choice.stance, firstFrame: 10, planFrame: 8, before: { frames: 2, planFrame: 6, pose } };

  it('is told by the pose that was shot before, unless a cut lies between them or it was shot before the shot begins', () => {
    expect(stanceIn({ cutFrames: [] }, stance)).toEqual(stance);
    expect(stanceIn({ cutFrames: [8, 11] }, stance)).toEqual(stance);
    for (const cut of [9, 10]) expect(stanceIn({ cutFrames: [cut] }, stance).before).toBeNull();
    const first = { ...stance, firstFrame: 1, planFrame: -1, before: { ...stance.before, planFrame: -3 } };
    expect(stanceIn({ cutFrames: [] }, first)).toMatchObject({ planFrame: 0, before: null });
  });
});

describe('re-plans in the book', () => {
  it('come back from its file as they were; books of before have none', () => {
    const own: Book = { ...newBook('x'), replans: [choice] };
    expect(readBook(writeBook(own))).toEqual({ ok: true, value: own });
    const { replans: _, ...before } = JSON.parse(writeBook(own));
    const read = readBook(JSON.stringify(before));
    expect(read.ok && read.value.replans).toEqual([]);
    // One joint in two places, and two re-plans from one frame, are no book.
    const doubled = { ...choice, stance: { ...choice.stance, pose: [...choice.stance.pose, choice.stance.pose[0]!] } };
    expect(readBook(writeBook({ ...own, replans: [doubled] })).ok).toBe(false);
    expect(readBook(writeBook({ ...own, replans: [choice, choice] })).ok).toBe(false);
  });

  it('are one for each frame, in their order, and undone and done again', () => {
    const other = choiceAt(planned, exposure + 2, 3);
    const again = choiceAt(planned, exposure, 5);
    let history = beginHistory(newBook('x'));
    for (const replan of [other, choice, again]) history = record(history, { kind: 'setReplan', replan });
    expect(history.book.replans).toEqual([again, other]);
    expect(undo(history).book.replans).toEqual([choice, other]);
    expect(redo(undo(history)).book.replans).toEqual([again, other]);
    expect(applyEdit(history.book, { kind: 'removeReplan', firstFrame: again.stance.firstFrame }).replans).toEqual([
      other,
    ]);
  });
});
