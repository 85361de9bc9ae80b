import { describe, expect, it } from 'vitest';
import type { Part } from '../../src/base/joints.ts';
import { exposureOf, mostMoves, type StepCard, stepCard } from '../../src/plan/onSet.ts';
import type { Plan } from '../../src/plan/plan.ts';
import { spokenStep } from '../../src/plan/spokenStep.ts';
import { madePlan, twelveParts, withHitches } from './madeTiming.ts';

const cardsOf = (plan: Plan): StepCard[] => plan.timing.exposures.map((_, i) => stepCard(plan, i)!);

describe('the card of an exposure', () => {
  it('numbers exposures, frames and poses as the sheet does, and there is none behind the last', () => {
    const plan = madePlan();
    const cards = cardsOf(plan);
    expect(cards.map((c) => [c.firstFrame, c.frames])).toEqual(
      plan.timing.exposures.map((e) => [e.firstFrame, e.frames]),
    );
    expect(cards.every((c, i) => c.exposure === i && c.exposures === cards.length)).toBe(true);
    expect(new Set(cards.map((c) => c.pose.number)).size).toBe(plan.poses.length);
    expect([stepCard(plan, cards.length), stepCard(plan, -1)]).toEqual([null, null]);
    expect(exposureOf(plan, cards[5]!.firstFrame + 1)).toBe(5);
    expect(exposureOf(plan, plan.timing.grid.frameCount)).toBe(cards.length);
  });

  it('tells the biggest moves of the parts on the sheet first, and says how many smaller ones it leaves out', () => {
    const plan = madePlan({ book: { sheetJoints: twelveParts } });
    let leftOut = 0;
    for (const card of cardsOf(plan)) {
      const its = plan.moves.filter(
        (m) => m.exposure === card.exposure && m.roundedMm > 0 && (twelveParts as readonly Part[]).includes(m.joint),
      );
      const told = new Set(card.moves.map((m) => m.joint));
      const rest = its.filter((m) => !told.has(m.joint));
      const biggest = card.moves[0]?.mm ?? 0;
      expect(card.moves.length).toBeLessThanOrEqual(mostMoves);
      expect(card.moves.length).toBeGreaterThanOrEqual(Math.min(3, its.length));
      expect(card.smallerMoves).toBe(rest.length);
      for (const m of rest) expect(m.roundedMm).toBeLessThanOrEqual(card.moves.at(-1)!.mm);
      // What is left out though there were room is small beside the biggest.
      if (card.moves.length < mostMoves) for (const m of rest) expect(m.roundedMm).toBeLessThan(biggest / 4);
      expect(card.moves.map((m) => m.mm)).toEqual(card.moves.map((m) => m.mm).sort((a, b) => b - a));
      for (const m of card.moves) expect(its.find((i) => i.joint === m.joint)!.nudgeDeg).toBe(m.directionDeg);
      leftOut += rest.length;
    }
    expect(leftOut).toBeGreaterThan(0);
    // Parts that are not on the sheet are not told.
    const few = cardsOf(madePlan({ book: { sheetJoints: ['nose'] } })).flatMap((c) => c.moves);
    expect(few.length).toBeGreaterThan(5);
    expect(few.every((m) => m.joint === 'nose')).toBe(true);
  });

  it('gives the hinge that turns most to carry a part, with its degrees', () => {
    const plan = madePlan({ book: { sheetJoints: twelveParts } });
    const turned = cardsOf(plan).flatMap((c) => c.moves.map((m) => ({ ...m, exposure: c.exposure })));
    const wrists = turned.filter((m) => m.joint === 'rightWrist' && m.turn);
    expect(wrists.some((m) => m.turn!.words === 'elbow')).toBe(true);
    expect(wrists.some((m) => m.turn!.words === 'shoulder')).toBe(true);
    for (const { exposure, turn } of wrists) {
      const of = (hinge: string) =>
        plan.angles.find((a) => a.exposure === exposure && a.hinge === hinge)?.roundedDeg ?? 0;
      const [elbow, shoulder] = [of('rightElbow'), of('rightShoulder')];
      const most = Math.abs(shoulder) > Math.abs(elbow) ? shoulder : elbow;
      expect([turn!.deg, turn!.opens]).toEqual([Math.abs(most), most > 0]);
    }
    expect(turned.filter((m) => m.joint === 'nose' || m.joint === 'pelvis').every((m) => m.turn === null)).toBe(true);
  });

  it('counts a hold through, in which nothing is touched', () => {
    const plan = madePlan();
    const hold = plan.timing.holds.find((h) => h.kind === 'hold')!;
    const held = cardsOf(plan).filter((c) => c.firstFrame >= hold.firstFrame && c.firstFrame < hold.firstFrame + 12);
    expect(held.map((c) => [c.heldAt, c.heldOf, c.isHeld])).toEqual([1, 2, 3, 4, 5, 6].map((at) => [at, 6, at > 1]));
    expect(held.slice(1).flatMap((c) => c.moves)).toEqual([]);
    expect(new Set(held.map((c) => c.pose.number)).size).toBe(1);
    expect(cardsOf(plan).some((c) => c.isMovingHold)).toBe(true);
    expect(held.some((c) => c.isMovingHold)).toBe(false);
  });

  it('says which key comes next, in how many exposures; breakdowns are passed over', () => {
    const plan = madePlan();
    const cards = cardsOf(plan);
    const keys = plan.timing.keys.filter((k) => k.kind === 'key');
    expect(plan.timing.keys.length).toBeGreaterThan(keys.length);
    for (const card of cards) {
      const next = keys.find((k) => k.frameIndex >= card.firstFrame + card.frames);
      expect(card.ahead?.firstFrame).toBe(next?.frameIndex);
      if (!next || !card.ahead) continue;
      expect(cards[card.exposure + card.ahead.inExposures]!.firstFrame).toBe(next.frameIndex);
      expect(card.ahead.name).toBe(next.name || next.reasons[0]);
    }
    expect(cards.at(-1)!.ahead).toBeNull();
    expect(cards[0]!.poseName).toBe('stands');
  });

  it('tells what it stands on where that changes, hands that hold on, and what the animator wrote', () => {
    const plan = madePlan({
      book: {
        frameNotes: new Map([
          [10, { action: 'listens', dialogue: '', camera: '' }],
          [11, { action: '', dialogue: 'oh', camera: 'pan' }],
        ]),
      },
    });
    const planted = (side: 'left' | 'right', firstFrame: number, frames: number) => ({
      ...{ side, firstFrame, frames, on: 'foot' as const, xMm: 0, yMm: 0 },
    });
    const cards = cardsOf({
      ...plan,
      puppet: {
        ...plan.puppet,
        feetSeen: true,
        planted: [planted('left', 0, 200), planted('right', 0, 8)],
        held: [{ side: 'right', firstFrame: 4, frames: 6, xMm: 0, yMm: 0 }],
      },
    });
    expect(cards.slice(0, 6).map((c) => [c.standing, c.stoodBefore])).toEqual([
      ['stands on both feet', ''],
      ['stands on both feet', ''],
      ['stands on both feet', ''],
      ['stands on both feet', ''],
      ['stands on left foot', 'stands on both feet'],
      ['stands on left foot', ''],
    ]);
    expect(cards.slice(1, 7).map((c) => c.hands)).toEqual([
      [],
      ['right hand takes hold'],
      ['right hand keeps its place'],
      ['right hand keeps its place'],
      ['right hand lets go'],
      [],
    ]);
    expect(cards.slice(4, 7).map((c) => c.note)).toEqual(['', 'listens · oh · pan', '']);
  });

  it('names rigs and tie-downs while they are needed, and the next one ahead', () => {
    const plan = withHitches(madePlan(), [
      { kind: 'airborne', support: 'rig', firstFrame: 12, frames: 6, sentence: 'In the air.' },
      { kind: 'offBalance', support: 'tie-down', firstFrame: 5, frames: 4, sentence: 'Leans.' },
      { kind: 'jointLimit', support: null, firstFrame: 0, frames: 90 },
      { kind: 'airborne', support: 'rig', firstFrame: 40, frames: 6 },
    ]);
    const cards = cardsOf(plan);
    const told = cards
      .slice(0, 10)
      .map((c) => [
        c.prepared.map((p) => p.support).join(),
        c.toPrepare ? `${c.toPrepare.support} in ${c.toPrepare.inExposures}` : '',
      ]);
    // The one at exposure 20 is told from ten before on.
    expect(cards.map((c) => c.toPrepare?.inExposures ?? 0).slice(9, 21)).toEqual([0, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1, 0]);
    expect(told).toEqual([
      ['', 'tie-down in 2'],
      ['', 'tie-down in 1'],
      ['tie-down', 'rig in 4'],
      ['tie-down', 'rig in 3'],
      ['tie-down', 'rig in 2'],
      ['', 'rig in 1'],
      ['rig', ''],
      ['rig', ''],
      ['rig', ''],
      ['', ''],
    ]);
  });

  it('says of which parts nothing is known', () => {
    const plan = madePlan();
    const moves = plan.moves.map((m) =>
      m.exposure === 7 && m.joint === 'leftWrist' ? { ...m, roundedMm: Number.NaN, nudgeDeg: Number.NaN } : m,
    );
    const card = stepCard({ ...plan, moves }, 7)!;
    expect(card.unknown).toEqual(['left wrist']);
    expect(card.moves.some((m) => m.joint === 'leftWrist')).toBe(false);
  });
});

describe('the spoken step', () => {
  const plan = madePlan();
  const card = stepCard(plan, 20)!;
  const move = {
    ...{ joint: 'leftWrist' as const, words: 'left wrist', mm: 6, directionDeg: 118, hour: 4 },
    ...{ turn: null, outOfPlane: false, guessed: false },
  };

  it('is three moves at most, with hinge and doubt', () => {
    const inBetween = { ...card, pose: { ...card.pose, key: null }, stoodBefore: '', hands: [], toPrepare: null };
    expect(
      spokenStep({
        ...inBetween,
        exposure: 22,
        isHeld: false,
        moves: [
          { ...move, turn: { words: 'elbow', deg: 12, opens: true } },
          { ...move, words: 'nose', mm: 1, hour: 12, outOfPlane: true },
          { ...move, words: 'pelvis', mm: 0.5, hour: 3, guessed: true, turn: { words: 'hip', deg: 1, opens: false } },
          { ...move, words: 'right wrist' },
        ],
      }),
    ).toBe(
      "Exposure 23. Left wrist, 6 millimetres to 4 o'clock, elbow opens 12 degrees. Nose, 1 millimetre to 12 o'clock, also in depth. Pelvis, 0.5 millimetres to 3 o'clock, hip closes 1 degree, guessed.",
    );
  });

  it('says what not to touch, what it stands on now, and what to have ready', () => {
    const held = { ...card, exposure: 23, isHeld: true, stoodBefore: '', hands: ['left hand keeps its place'] };
    expect(spokenStep({ ...held, toPrepare: null })).toBe('Exposure 24. Touch nothing. Shoot again.');
    const support = { support: 'rig' as const, sentence: '', firstFrame: 50, frames: 2, inExposures: 1 };
    const changed = { ...held, standing: 'in the air', stoodBefore: 'stands on both feet', toPrepare: support };
    expect(spokenStep({ ...changed, hands: ['left hand lets go'] })).toBe(
      'Exposure 24. Touch nothing. Shoot again. Now in the air. Left hand lets go. The next exposure needs a rig.',
    );
    expect(spokenStep(stepCard(plan, 0)!)).toBe('Exposure 1. The first pose.');
  });
});
