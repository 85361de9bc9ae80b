import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import {
  allBackToOwn,
  anchorsOf,
  type Behind,
  backToOwn,
  deadTime,
  fitToFrames,
  layHold,
  moveAnchor,
  type Retimed,
  setSpanFrames,
  shotSpans,
  trimDeadTime,
} from '../../src/timing/retime.ts';
import type { Timing } from '../../src/timing/timing.ts';
import type { Tracks } from '../../src/track/motion.ts';
import { authoredMotion, tracksThrough } from './authored.ts';
import { choicesFor } from './choices.ts';

function performance(seed: number): { tracks: Tracks; timing: Timing } {
  const { places, bodyHeightPx, truth } = authoredMotion(seed);
  const tracks = tracksThrough(places(30), bodyHeightPx, 0);
  return { tracks, timing: computeTiming(tracks, choicesFor(truth.durationSec)) };
}
const performances = [1, 2, 3, 4, 5].map(performance);
// By number: a counterexample of whole performances would fill the screen.
const anyPerformance = fc.nat(performances.length - 1);
const again = (tracks: Tracks, timing: Timing, retimed: Retimed) =>
  computeTiming(tracks, { ...timing.choices, retiming: retimed.retiming });
const anyBehind = fc.constantFrom<Behind>('absorb', 'ripple');

describe('anchors', () => {
  it('tile the shot with moves and holds, each with the frames it has in the take', () => {
    for (const { timing } of performances) {
      const spans = shotSpans(timing);
      expect(spans[0]!.from.frame).toBe(0);
      expect(spans.at(-1)!.to.frame).toBe(timing.grid.frameCount);
      spans.forEach((s, i) => {
        expect(s.frames).toBeGreaterThan(0);
        if (i > 0) expect(s.from).toEqual(spans[i - 1]!.to);
        expect(s.ownFrames).toBe(s.frames);
      });
      const held = spans.filter((s) => s.kind === 'hold').reduce((n, s) => n + s.frames, 0);
      expect(held).toBe(timing.holds.reduce((n, h) => n + h.frames, 0));
    }
  });
});

describe('moving a key in time', () => {
  const keysButFirst = (timing: Timing) => timing.keys.filter((k) => k.frameIndex > 0);

  it('puts it on the frame asked for, and no other key or frame moves when its neighbours absorb it', () => {
    fc.assert(
      fc.property(anyPerformance, fc.nat(), fc.integer({ min: -4, max: 4 }), (number, which, by) => {
        const { tracks, timing } = performances[number]!;
        const keys = keysButFirst(timing);
        const key = keys[which % keys.length]!;
        const at = shotSpans(timing).findIndex((s) => s.to.id === `key ${key.id}`);
        const [before, after] = shotSpans(timing).slice(at, at + 2);
        const most = after!.to.frame - (after!.kind === 'hold' ? 2 : 1);
        const to = Math.max(before!.from.frame + 1, Math.min(most, key.frameIndex + by));
        const changed = again(tracks, timing, moveAnchor(timing, `key ${key.id}`, to, 'absorb'));
        expect(changed.grid.frameCount).toBe(timing.grid.frameCount);
        expect(changed.keys.map((k) => [k.id, k.frameIndex])).toEqual(
          timing.keys.map((k) => [k.id, k.id === key.id ? to : k.frameIndex]),
        );
        for (let k = 0; k < timing.grid.frameCount; k++) {
          // A hold may begin or end a tenth of a frame beside its first or last frame.
          if (k >= before!.from.frame - 1 && k <= after!.to.frame + 1) continue;
          expect(changed.takeTimeSec[k]).toBeCloseTo(timing.takeTimeSec[k]!, 9);
        }
      }),
    );
  });

  it('shifts all that follows by as many frames when it ripples, and the take’s movement there stays as it is', () => {
    fc.assert(
      fc.property(anyPerformance, fc.nat(), fc.integer({ min: -4, max: 12 }), (number, which, wanted) => {
        const { tracks, timing } = performances[number]!;
        const keys = keysButFirst(timing);
        const key = keys[which % keys.length]!;
        const span = shotSpans(timing).find((s) => s.to.id === `key ${key.id}`)!;
        const by = Math.max(wanted, 1 - span.frames);
        const retimed = moveAnchor(timing, `key ${key.id}`, key.frameIndex + by, 'ripple');
        const changed = again(tracks, timing, retimed);
        expect(changed.grid.frameCount).toBe(timing.grid.frameCount + by);
        expect(changed.keys.map((k) => k.frameIndex)).toEqual(
          timing.keys.map((k) => (k.frameIndex >= key.frameIndex ? k.frameIndex + by : k.frameIndex)),
        );
        expect(changed.holds.map((h) => h.frames).slice(-1)).toEqual(timing.holds.map((h) => h.frames).slice(-1));
        const shot = timing.grid.frameCount;
        // Beside a span that becomes three times as long its neighbours give a little, so that time never runs backwards.
        for (let k = key.frameIndex + 1; k < shot; k++) {
          if (span.frames + by > 3 * (span.frames - 1)) break;
          expect(changed.takeTimeSec[k + by]).toBeCloseTo(timing.takeTimeSec[k]!, 9);
        }
        if (by !== 0) expect(retimed.moves[1]).toEqual({ fromFrame: key.frameIndex, toFrame: key.frameIndex + by });
      }),
    );
  });

  it('there and back is the take’s own timing again; to a frame where two anchors had to make room', () => {
    fc.assert(
      fc.property(anyPerformance, fc.nat(), fc.integer({ min: -4, max: 8 }), anyBehind, (number, which, by, behind) => {
        const p = performances[number]!;
        const keys = keysButFirst(p.timing);
        const key = keys[which % keys.length]!;
        const there = again(p.tracks, p.timing, moveAnchor(p.timing, `key ${key.id}`, key.frameIndex + by, behind));
        const moved = there.keys.find((k) => k.id === key.id)!;
        if (moved.frameIndex !== key.frameIndex + by) return;
        const back = again(p.tracks, there, moveAnchor(there, `key ${key.id}`, key.frameIndex, behind));
        expect(back.grid.frameCount).toBe(p.timing.grid.frameCount);
        expect(back.keys.map((k) => k.frameIndex)).toEqual(p.timing.keys.map((k) => k.frameIndex));
        const went = there.map.shotAt(key.anchorSec) - p.timing.map.shotAt(key.anchorSec);
        const hadRoom = Math.abs(went - by / 24) < 1e-9;
        back.takeTimeSec.forEach((sec, k) => {
          expect(Math.abs(sec - p.timing.takeTimeSec[k]!)).toBeLessThan(hadRoom ? 1e-6 : 1 / 24);
        });
      }),
    );
  });

  it('never squeezes the hold behind it away', () => {
    for (const { tracks, timing } of performances) {
      for (const key of keysButFirst(timing)) {
        const changed = again(tracks, timing, moveAnchor(timing, `key ${key.id}`, key.frameIndex + 200, 'absorb'));
        expect(changed.holds.length).toBe(timing.holds.length);
        expect(changed.grid.frameCount).toBe(timing.grid.frameCount);
      }
    }
  });

  it('an unknown key, or one put where it is, changes nothing', () => {
    const { timing } = performances[0]!;
    expect(moveAnchor(timing, 'key nobody', 9, 'ripple')).toEqual({ retiming: timing.choices.retiming, moves: [] });
    const key = timing.keys[1]!;
    expect(moveAnchor(timing, `key ${key.id}`, key.frameIndex, 'absorb').moves).toEqual([]);
  });
});

describe('holds', () => {
  it('become as long as asked, and everything behind comes later', () => {
    for (const { tracks, timing } of performances) {
      for (const span of shotSpans(timing).filter((s) => s.kind === 'hold')) {
        const changed = again(tracks, timing, setSpanFrames(timing, span, span.frames + 9, 'ripple'));
        expect(changed.grid.frameCount).toBe(timing.grid.frameCount + 9);
        const hold = changed.holds.find((h) => Math.abs(h.fromSec - span.from.takeSec) < 0.2)!;
        expect(hold.firstFrame + hold.frames).toBe(span.to.frame + 9);
      }
    }
  });

  it('can be laid into a movement, show the very pose of that frame, and go away again', () => {
    fc.assert(
      fc.property(anyPerformance, fc.nat(), fc.integer({ min: 2, max: 30 }), (number, where, frames) => {
        const { tracks, timing } = performances[number]!;
        const frame = where % (timing.grid.frameCount - 2);
        const changed = again(tracks, timing, layHold(timing, frame, frames, 'ripple'));
        expect(changed.grid.frameCount).toBe(timing.grid.frameCount + frames);
        for (let k = frame; k <= frame + frames; k++)
          expect(changed.takeTimeSec[k]).toBeCloseTo(timing.takeTimeSec[frame]!, 9);
        for (let k = frame + 1; k < timing.grid.frameCount; k++)
          expect(changed.takeTimeSec[k + frames]).toBeCloseTo(timing.takeTimeSec[k]!, 9);
        expect(changed.holds.some((h) => h.firstFrame <= frame && h.firstFrame + h.frames > frame + frames)).toBe(true);
        const laid = shotSpans(changed).find((s) => s.isLaid);
        if (!laid) return; // Laid into a rest: it is a part of that hold.
        const gone = again(tracks, changed, backToOwn(changed, laid, 'ripple'));
        expect(gone.grid.frameCount).toBe(timing.grid.frameCount);
        gone.takeTimeSec.forEach((sec, k) => {
          expect(sec).toBeCloseTo(timing.takeTimeSec[k]!, 9);
        });
      }),
    );
  });

  it('take their frames from the movement behind when they are absorbed, never from later anchors', () => {
    const { tracks, timing } = performances[1]!;
    const span = shotSpans(timing).find((s) => s.kind === 'move' && s.frames > 8)!;
    const changed = again(tracks, timing, layHold(timing, span.from.frame + 2, 4, 'absorb'));
    expect(changed.grid.frameCount).toBe(timing.grid.frameCount);
    const later = timing.keys.filter((k) => k.frameIndex >= span.to.frame).map((k) => k.frameIndex);
    expect(changed.keys.slice(-later.length).map((k) => k.frameIndex)).toEqual(later);
  });
});

describe('length of the shot', () => {
  it('is what was asked for, with holds that still read as long as the movement can give', () => {
    fc.assert(
      fc.property(anyPerformance, fc.double({ min: 0.3, max: 2, noNaN: true }), (number, share) => {
        const { tracks, timing } = performances[number]!;
        const wanted = Math.round(timing.grid.frameCount * share);
        const retimed = fitToFrames(timing, wanted);
        const changed = again(tracks, timing, retimed);
        expect(changed.grid.frameCount).toBe(wanted);
        expect(retimed.moves.at(-1) ?? { toFrame: wanted }).toMatchObject({ toFrame: wanted });
        const lengths = retimed.moves.slice(1).map((m, i) => m.toFrame - retimed.moves[i]!.toFrame);
        const spans = shotSpans(timing);
        const least = spans.reduce((n, s) => n + (s.kind === 'hold' ? Math.min(6, s.frames) : 1), 0);
        if (lengths.length === 0 || wanted < least) return;
        spans.forEach((s, i) => {
          if (s.kind === 'hold') expect(lengths[i]).toBeGreaterThanOrEqual(Math.min(6, s.frames) - 1);
        });
      }),
    );
  });

  it('loses dead time from holds alone', () => {
    for (const { tracks, timing } of performances) {
      const dead = deadTime(timing, 8);
      expect(dead.every((d) => d.span.frames > 8)).toBe(true);
      const saved = dead.reduce((n, d) => n + d.span.frames - 8, 0);
      const changed = again(tracks, timing, trimDeadTime(timing, dead));
      expect(changed.grid.frameCount).toBe(timing.grid.frameCount - saved);
      const moves = (t: Timing) => shotSpans(t).flatMap((s) => (s.kind === 'move' ? [s.frames] : []));
      expect(moves(changed)).toEqual(moves(timing));
    }
  });

  it('comes back to the take’s own after any number of changes', () => {
    const act = fc.tuple(
      fc.constantFrom('move', 'stretch', 'hold', 'fit'),
      fc.nat(),
      fc.integer({ min: -5, max: 9 }),
      anyBehind,
    );
    fc.assert(
      fc.property(anyPerformance, fc.array(act, { maxLength: 6 }), (number, acts) => {
        const { tracks, timing } = performances[number]!;
        let now = timing;
        for (const [kind, which, by, behind] of acts) {
          const spans = shotSpans(now);
          const span = spans[which % spans.length]!;
          if (kind === 'move') now = again(tracks, now, moveAnchor(now, span.to.id, span.to.frame + by, behind));
          if (kind === 'stretch') now = again(tracks, now, setSpanFrames(now, span, span.frames + by, behind));
          if (kind === 'hold')
            now = again(tracks, now, layHold(now, which % now.grid.frameCount, Math.abs(by), behind));
          if (kind === 'fit') now = again(tracks, now, fitToFrames(now, now.grid.frameCount + by));
          for (let k = 1; k < now.takeTimeSec.length; k++)
            expect(now.takeTimeSec[k]).toBeGreaterThanOrEqual(now.takeTimeSec[k - 1]!);
          expect(anchorsOf(now).at(-1)!.frame).toBe(now.grid.frameCount);
        }
        const own = again(tracks, now, allBackToOwn(now));
        expect(own.takeTimeSec).toEqual(timing.takeTimeSec);
        expect(own.keys).toEqual(timing.keys);
      }),
      { numRuns: 60 },
    );
  });
});

describe('a hold that is absorbed', () => {
  it('leaves what is written at the next anchor and behind it where it is, however near that is', () => {
    let laid = 0;
    for (const { timing } of performances)
      for (let frame = 0; frame < timing.grid.frameCount - 1; frame++) {
        const { moves } = layHold(timing, frame, 1, 'absorb');
        const last = moves.at(-1);
        if (!last) continue;
        laid++;
        expect(last.toFrame, `hold at ${frame}`).toBe(last.fromFrame);
        for (const [i, m] of moves.entries()) if (i > 0) expect(m.fromFrame).toBeGreaterThan(moves[i - 1]!.fromFrame);
      }
    expect(laid).toBeGreaterThan(100);
  });
});
