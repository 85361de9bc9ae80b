import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { changedSince } from '../../src/plan/shotMoment.ts';
import { type Book, newBook, type ReplanChoice } from '../../src/project/book.ts';
import { applyEdit } from '../../src/project/edits.ts';
import { beginHistory, record, undo } from '../../src/project/history.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { type FrameMove, layHold, moveAnchor, type Retimed, shotSpans, trimDeadTime } from '../../src/timing/retime.ts';
import type { Timing } from '../../src/timing/timing.ts';
import { authoredMotion, tracksThrough } from '../timing/authored.ts';
import { choicesFor } from '../timing/choices.ts';

const pose = [{ joint: 'nose', xMm: 1, yMm: 2, sdMm: 0.1 }] as const;

/** Moves go on from a frame, on ones, one frame late. */
function replanAt(frame: number, takeSec = frame / 24): ReplanChoice {
  return {
    stance: {
      firstFrame: frame,
      frames: 1,
      planFrame: frame - 1,
      pose,
      before: frame > 0 ? { frames: 1, planFrame: frame - 2, pose } : null,
    },
    takeSec,
    heightMm: 100 + frame,
    keySec: takeSec + 0.2,
    keyAside: null,
  };
}

const bookWith = (frames: readonly number[]): Book => ({
  ...newBook(''),
  replans: frames.map((frame) => replanAt(frame)),
});
const retimed = (book: Book, ...pairs: [number, number][]) =>
  applyEdit(book, {
    kind: 'retime',
    retiming: { knots: [] },
    moves: pairs.map(([fromFrame, toFrame]): FrameMove => ({ fromFrame, toFrame })),
  });
const framesOf = ({ replans }: Book) => replans.map(({ stance }) => stance.firstFrame);

describe('re-plans of a shot that is retimed', () => {
  it('go along with poses that are shifted whole; the others stay at their frames', () => {
    // A hold is laid in at 10, the move from 11 to 20 is tightened by half, and all behind comes later.
    const longer = retimed(bookWith([4, 10, 15, 22]), [10, 10], [11, 17], [20, 23]);
    expect(framesOf(longer)).toEqual([4, 10, 15, 25]);
    const last = longer.replans[3]!;
    expect(last.stance).toMatchObject({ planFrame: 24, before: { planFrame: 23 } });
    expect([last.takeSec, last.keySec]).toEqual([22 / 24, replanAt(22).keySec]);
  });

  it('stay where the pose before them does not go along: how fast the puppet went would not be told by it', () => {
    expect(framesOf(retimed(bookWith([20, 21]), [0, 0], [20, 24]))).toEqual([20, 25]);
  });

  it('stay where they were shot by the log, and none is laid upon another', () => {
    const book = bookWith([12, 16, 20]);
    const exposure = { firstFrame: 16, frames: 1, takeSec: 16 / 24, isHeld: false, atMs: 1 };
    const shot: Book = { ...book, shooting: { ...book.shooting, taken: [exposure] } };
    // That at 12 would come to 16, where one has to stay.
    expect(framesOf(retimed(shot, [4, 8]))).toEqual([12, 16, 24]);
    expect(retimed(shot, [4, 8]).replans.map((r) => r.heightMm)).toEqual([112, 116, 120]);
    expect(framesOf(retimed(book, [4, 8]))).toEqual([16, 20, 24]);
  });

  it('are where they were after undoing, and come once for a key that is dragged to and fro', () => {
    const edit = (by: number) => ({
      kind: 'retime' as const,
      retiming: { knots: [] },
      moves: [{ fromFrame: 4, toFrame: 4 + by }],
    });
    const dragged = [1, 5, 3].reduce((h, by) => record(h, edit(by), 'drag'), beginHistory(bookWith([12])));
    expect(framesOf(dragged.book)).toEqual([15]);
    expect(framesOf(undo(dragged).book)).toEqual([12]);
  });
});

describe('re-plans on every frame of a performance', () => {
  const performances = [1, 2, 3].map((seed) => {
    const { places, bodyHeightPx, truth } = authoredMotion(seed);
    const tracks = tracksThrough(places(30), bodyHeightPx, 0);
    return { tracks, timing: computeTiming(tracks, choicesFor(truth.durationSec, { onFrames: 1 })) };
  });
  const behind = fc.constantFrom<'absorb' | 'ripple'>('absorb', 'ripple');
  const anyRetiming = fc.oneof(
    fc.tuple(fc.nat(), fc.integer({ min: -4, max: 6 }), behind).map(([which, by, how]) => (timing: Timing): Retimed => {
      const spans = shotSpans(timing);
      const { to } = spans[which % spans.length]!;
      return moveAnchor(timing, to.id, to.frame + by, how);
    }),
    fc.tuple(fc.nat(), fc.integer({ min: 1, max: 9 }), behind).map(
      ([at, frames, how]) =>
        (timing: Timing): Retimed =>
          layHold(timing, at % (timing.grid.frameCount - 1), frames, how),
    ),
    fc.constant(
      (timing: Timing): Retimed =>
        trimDeadTime(
          timing,
          shotSpans(timing)
            .filter((s) => s.kind === 'hold' && s.frames > 3)
            .map((span) => ({ span, keepFrames: 3 })),
        ),
    ),
  );

  it('are moved to where their pose stands, all of them are kept, and many do go along', () => {
    let [moved, elsewhere, outdated] = [0, 0, 0];
    fc.assert(
      fc.property(fc.nat(2), anyRetiming, (number, retime) => {
        const { tracks, timing } = performances[number]!;
        const { retiming, moves } = retime(timing);
        const replans = Array.from(timing.takeTimeSec, (sec, frame) => replanAt(frame, sec));
        const now = applyEdit({ ...newBook(''), replans }, { kind: 'retime', retiming, moves });
        const after = computeTiming(tracks, { ...timing.choices, retiming });
        expect(now.replans.map((r) => r.heightMm).sort((a, b) => a - b)).toEqual(replans.map((r) => r.heightMm));
        expect(framesOf(now)).toEqual([...new Set(framesOf(now))].sort((a, b) => a - b));
        for (const { stance, takeSec, heightMm } of now.replans) {
          if (stance.firstFrame === heightMm - 100) continue;
          moved++;
          if (changedSince(after, { firstFrame: stance.firstFrame, frames: 1, takeSec })) outdated++;
        }
        elsewhere += moves.length > 0 ? 1 : 0;
      }),
      { numRuns: 60 },
    );
    expect(moved).toBeGreaterThan(5 * elsewhere);
    // Behind a move of a frame or two that is drawn out to many, a few poses come a little later than whole frames, and are told as out of date:
    // in 9 of 2558 retimings, all that these performances have.
    expect(outdated / moved).toBeLessThan(0.05);
  });
});
