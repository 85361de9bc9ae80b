import { assert, present } from '../base/assert.ts';
import { fpsOf, framesIn } from '../base/frameRate.ts';
import { firstHeldFrame, lastHeldFrame, registersFrames } from './holds.ts';
import { ownTiming, type Retiming, type TimeKnot, type TimeMap } from './timeMap.ts';
import type { Timing } from './timing.ts';

/** What stood at one frame stands at another now. Between two of a list frames go along evenly, behind the last they are shifted with it. */
export interface FrameMove {
  readonly fromFrame: number;
  readonly toFrame: number;
}

/** What comes of one change to the shot's time. */
export interface Retimed {
  readonly retiming: Retiming;
  /** Where poses went, rising; empty when nothing changed. */
  readonly moves: readonly FrameMove[];
}

/** What happens behind a change: the next span gives or takes the frames (absorb), or all that follows shifts (ripple). */
export type Behind = 'absorb' | 'ripple';

/** A place in the shot that a change of time can move: where a key stands, a hold ends, or the shot does. */
export interface Anchor {
  /** "start", "end", "key " or "leave " with the id or the take's milliseconds. Stable while the same pose is meant. */
  readonly id: string;
  readonly frame: number;
  /** Where it stands in the take's own timing, frames from the shot's start. */
  readonly ownFrame: number;
  readonly takeSec: number;
  /** Exactly, seconds from the shot's start: up to a frame beside `frame`. */
  readonly shotSec: number;
}

/** What lies between two anchors that follow each other. */
export interface ShotSpan {
  readonly from: Anchor;
  readonly to: Anchor;
  readonly kind: 'move' | 'hold';
  readonly frames: number;
  /** As the take has it, frames; 1 for a hold that the animator laid in: the frame whose pose it holds. */
  readonly ownFrames: number;
  /** A hold that the take does not have at all. */
  readonly isLaid: boolean;
}

/** The anchors of a shot, rising by frame, no two on one. First the shot's start, last its end. */
export function anchorsOf(timing: Timing): Anchor[] {
  const { map, choices, grid, holds } = timing;
  const fps = fpsOf(choices.rate);
  const own = (takeSec: number) => (takeSec - choices.startSec) * fps;
  const start: Anchor = { id: 'start', frame: 0, ownFrame: 0, takeSec: choices.startSec, shotSec: 0 };
  const end: Anchor = {
    id: 'end',
    frame: grid.frameCount,
    ownFrame: framesIn(choices.rate, choices.endSec - choices.startSec),
    takeSec: choices.endSec,
    shotSec: map.lengthSec,
  };
  const found: Anchor[] = timing.keys.map((key) => {
    const settles =
      key.anchorSec !== key.takeSec ||
      holds.some((h) => h.firstFrame === key.frameIndex && h.fromSec === key.anchorSec);
    return {
      id: `key ${key.id}`,
      frame: key.frameIndex,
      ownFrame: settles ? firstHeldFrame(own(key.anchorSec)) : Math.round(own(key.anchorSec)),
      takeSec: key.anchorSec,
      shotSec: map.shotAt(key.anchorSec),
    };
  });
  for (const hold of holds) {
    const id = Math.round(hold.toSec * 1000);
    found.push(
      {
        id: `hold ${id}`,
        frame: hold.firstFrame,
        ownFrame: firstHeldFrame(own(hold.fromSec)),
        takeSec: hold.fromSec,
        shotSec: map.shotAt(hold.fromSec),
      },
      {
        id: `leave ${id}`,
        frame: hold.firstFrame + hold.frames,
        ownFrame: lastHeldFrame(own(hold.toSec)) + 1,
        takeSec: hold.toSec,
        shotSec: map.lastShotAt(hold.toSec),
      },
    );
  }
  // A key says more than the start of its hold: it comes first in the list, and sorting keeps the order of equals.
  found.sort((a, b) => a.frame - b.frame);
  const anchors = [start];
  for (const anchor of found) {
    const last = present(anchors.at(-1), 'anchor');
    const isApart = anchor.frame > last.frame && anchor.shotSec > last.shotSec - 1e-9 && anchor.takeSec >= last.takeSec;
    if (isApart && anchor.frame < end.frame) anchors.push(anchor);
  }
  return [...anchors, end];
}

/** The spans between a shot's anchors; they tile it. */
export function shotSpans(timing: Timing): ShotSpan[] {
  const anchors = anchorsOf(timing);
  return anchors.slice(1).map((to, i) => {
    const from = present(anchors[i], 'anchor');
    const isHold = timing.holds.some((h) => from.frame >= h.firstFrame && to.frame <= h.firstFrame + h.frames);
    const isLaid = to.takeSec - from.takeSec < 1e-9;
    return {
      from,
      to,
      kind: isHold ? 'hold' : 'move',
      frames: to.frame - from.frame,
      ownFrames: isLaid ? 1 : to.ownFrame - from.ownFrame,
      isLaid,
    };
  });
}

/**
 * Gives an anchor another frame. With 'absorb' the spans on both sides give and take, so it stays between its neighbours; with
 * 'ripple' what lies behind goes along, and only the anchor before bounds it. The shot's start cannot be moved; its end can be, by 'ripple'.
 */
export function moveAnchor(timing: Timing, id: string, toFrame: number, behind: Behind): Retimed {
  const spans = shotSpans(timing);
  const at = spans.findIndex((s) => s.to.id === id);
  const span = spans[at];
  if (!span) return unchanged(timing);
  return setSpanFrames(timing, span, toFrame - span.from.frame, behind, spans);
}

/** Gives a span another length, in frames. 'absorb': the span behind it gives or takes; the last span always ripples. */
export function setSpanFrames(
  timing: Timing,
  span: ShotSpan,
  frames: number,
  behind: Behind,
  spans: readonly ShotSpan[] = shotSpans(timing),
): Retimed {
  const at = spans.findIndex((s) => s.from.id === span.from.id && s.to.id === span.to.id);
  assert(at >= 0, `span ${span.from.id} – ${span.to.id} is not of this shot`);
  const next = behind === 'absorb' ? spans[at + 1] : undefined;
  // A hold of one frame is none: what a neighbour takes never squeezes one away.
  const left = next && next.kind === 'hold' ? Math.min(2, next.frames) : 1;
  const most = next ? span.frames + next.frames - left : Number.POSITIVE_INFINITY;
  const wanted = Math.max(1, Math.min(most, Math.round(frames)));
  const by = wanted - span.frames;
  const behindIt = spans.slice(at + 1).map((s) => ({ anchor: s.to, by }));
  return rewarp(timing, [
    { anchor: span.from, by: 0 },
    { anchor: span.to, by },
    ...(next ? [{ anchor: next.to, by: 0 }] : behindIt),
  ]);
}

/**
 * Holds the pose of a frame for `frames` more. 'ripple': what follows comes later; 'absorb': the movement up to the next anchor is
 * tightened, as far as it goes.
 */
export function layHold(timing: Timing, atFrame: number, frames: number, behind: Behind): Retimed {
  const fps = fpsOf(timing.choices.rate);
  const { map } = timing;
  const anchors = anchorsOf(timing);
  const shotSec = atFrame / fps;
  const takeSec = timing.takeTimeSec[atFrame];
  assert(takeSec !== undefined, `frame ${atFrame} outside the shot`);
  const next = present(
    anchors.find((b) => b.frame > atFrame && b.shotSec > shotSec + leastGap / fps),
    'anchor behind a frame',
  );
  const room = behind === 'absorb' ? Math.floor(next.shotSec * fps - leastGap) - atFrame : Number.POSITIVE_INFINITY;
  const more = Math.max(0, Math.min(Math.round(frames), room));
  if (more === 0) return unchanged(timing);
  const laidSec = shotSec + more / fps;
  const nextSec = behind === 'absorb' ? next.shotSec : next.shotSec + more / fps;
  const stretch = (nextSec - laidSec) / (next.shotSec - shotSec);
  const move = (sec: number) => {
    if (sec <= shotSec + 1e-9) return sec;
    return sec < next.shotSec ? laidSec + (sec - shotSec) * stretch : sec + nextSec - next.shotSec;
  };
  const knots = withKnots(map, [
    { takeSec, shotSec },
    { takeSec: next.takeSec, shotSec: next.shotSec },
  ]).map((k) => ({ ...k, shotSec: move(k.shotSec) }));
  knots.splice(
    knots.findIndex((k) => k.shotSec > shotSec + 1e-9),
    0,
    { takeSec, shotSec: laidSec },
  );
  return {
    retiming: { knots: rising(knots) },
    moves: [
      { fromFrame: atFrame, toFrame: atFrame },
      // Where the anchor is the very next frame, it alone says where that went.
      { fromFrame: atFrame + 1, toFrame: atFrame + 1 + more },
      { fromFrame: next.frame, toFrame: behind === 'absorb' ? next.frame : next.frame + more },
    ].filter((m, i) => i !== 1 || m.fromFrame < next.frame),
  };
}

/** A hold long enough to be shortened, and how long it would stay. */
export interface DeadTime {
  readonly span: ShotSpan;
  readonly keepFrames: number;
}

/**
 * Holds that are longer than a pose needs: an actor waits, thinks and breathes where a puppet only stands. Those of more than
 * `keepFrames`, longest first.
 */
export function deadTime(timing: Timing, keepFrames: number): DeadTime[] {
  const keep = Math.max(1, Math.round(keepFrames));
  return shotSpans(timing)
    .filter((span) => span.kind === 'hold' && span.frames > keep)
    .map((span) => ({ span, keepFrames: keep }))
    .sort((a, b) => b.span.frames - a.span.frames);
}

/** Shortens holds as proposed; everything behind comes earlier. */
export function trimDeadTime(timing: Timing, dead: readonly DeadTime[]): Retimed {
  const wanted = new Map(dead.map((d) => [d.span.from.id, d.keepFrames]));
  return setLengths(timing, (span) => wanted.get(span.from.id) ?? span.frames);
}

/**
 * Makes the shot `frames` long by shortening or lengthening all spans alike; a hold is not shortened below what an audience
 * needs to take a pose in (6 frames at 24 fps) as long as the movement can give the rest.
 */
export function fitToFrames(timing: Timing, frames: number): Retimed {
  const spans = shotSpans(timing);
  const registers = Math.round((registersFrames * fpsOf(timing.choices.rate)) / 24);
  const floor = (s: ShotSpan) => (s.kind === 'hold' ? Math.min(s.frames, registers) : 1);
  const bare = () => 1;
  const least = spans.reduce((sum, s) => sum + floor(s), 0);
  const wanted = Math.max(spans.length, Math.round(frames));
  const shortest = wanted >= least ? floor : bare;
  const lengthAt = (scale: number) => spans.reduce((sum, s) => sum + Math.max(shortest(s), s.frames * scale), 0);
  let low = 0;
  let high = Math.max(2, (4 * wanted) / Math.max(1, timing.grid.frameCount));
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (lengthAt(middle) < wanted) low = middle;
    else high = middle;
  }
  // Frames are whole: each anchor is rounded from the sum before it, so that nothing adds up.
  const lengths = new Map<string, number>();
  let sum = 0;
  let whole = 0;
  for (const s of spans) {
    sum += Math.max(shortest(s), s.frames * high);
    const to = Math.max(whole + 1, Math.round(sum));
    lengths.set(s.from.id, to - whole);
    whole = to;
  }
  return setLengths(timing, (span) => lengths.get(span.from.id) ?? span.frames);
}

/** Gives a span the length that it has in the take. A hold that was laid in goes away. */
export function backToOwn(timing: Timing, span: ShotSpan, behind: Behind): Retimed {
  return setSpanFrames(timing, span, span.ownFrames, behind);
}

/** Takes everything back that was done to the shot's time. */
export function allBackToOwn(timing: Timing): Retimed {
  if (timing.map.isIdentity) return { retiming: ownTiming, moves: [] };
  const moves = anchorsOf(timing).map((b) => ({ fromFrame: b.frame, toFrame: b.ownFrame }));
  return { retiming: ownTiming, moves };
}

/** Gives every span a length in frames. */
function setLengths(timing: Timing, framesOf: (span: ShotSpan) => number): Retimed {
  let by = 0;
  const shifts = [{ anchor: present(anchorsOf(timing)[0], 'start'), by: 0 }];
  for (const span of shotSpans(timing)) {
    by += Math.max(1, framesOf(span)) - span.frames;
    shifts.push({ anchor: span.to, by });
  }
  return rewarp(timing, shifts);
}

function unchanged({ choices }: Timing): Retimed {
  return { retiming: choices.retiming, moves: [] };
}

/** Anchors that follow each other stay this far apart, frames, so that time never runs backwards. */
const leastGap = 0.2;

/**
 * Moves anchors by whole frames. Whole, because an anchor lies somewhere within its frame, and keeps its place in it: so each stands
 * on the frame that was asked for, however the frames of keys and holds are rounded. Where that would bring two too close, the
 * later is put at its frame's beginning.
 * @param shifts rising. What lies between two goes along evenly, before the first nothing moves, behind the last all shifts with it.
 */
function rewarp(timing: Timing, shifts: readonly { anchor: Anchor; by: number }[]): Retimed {
  if (shifts.every((a) => a.by === 0)) return unchanged(timing);
  const fps = fpsOf(timing.choices.rate);
  const warp: { from: number; to: number }[] = [];
  const gapBefore = (i: number) => {
    const [a, b] = [shifts[i - 1]?.anchor, shifts[i]?.anchor];
    return a && b && b.takeSec - a.takeSec > 1e-9 ? leastGap / fps : 0;
  };
  for (const { anchor, by } of shifts) {
    const before = warp.at(-1);
    const least = before && before.to + gapBefore(warp.length);
    let to = anchor.shotSec + by / fps;
    if (least !== undefined && to < least && warp.length < shifts.length - 1) {
      // A hold is left within its last frame, anything else stands at its own.
      const stands = anchor.frame + by - (anchor.id.startsWith('leave') ? 1 : 0);
      to = Math.max(least, stands / fps);
    }
    warp.push({ from: anchor.shotSec, to });
  }
  // The last stays exact, since what lies behind goes with it: the others make room.
  for (let i = warp.length - 2; i >= 0; i--) {
    const [here, next] = [present(warp[i], 'anchor'), present(warp[i + 1], 'anchor')];
    here.to = Math.min(here.to, next.to - gapBefore(i + 1));
  }
  const move = (sec: number): number => {
    const after = warp.findIndex((w) => w.from >= sec - 1e-9);
    const next = warp[after];
    const before = after < 0 ? warp.at(-1) : warp[after - 1];
    if (next && Math.abs(next.from - sec) < 1e-9) return next.to;
    if (!before) return sec;
    if (!next) return sec + before.to - before.from;
    return before.to + ((sec - before.from) / (next.from - before.from)) * (next.to - before.to);
  };
  const knots = withKnots(
    timing.map,
    shifts.map(({ anchor }) => ({ takeSec: anchor.takeSec, shotSec: anchor.shotSec })),
  ).map((k) => ({ takeSec: k.takeSec, shotSec: move(k.shotSec) }));
  return {
    retiming: { knots: rising(knots) },
    moves: shifts.map(({ anchor, by }) => ({ fromFrame: anchor.frame, toFrame: anchor.frame + by })),
  };
}

/** The map's knots and some points of it as knots too, rising. Where an added one is at a knot, the knot stays. */
function withKnots(map: TimeMap, points: readonly TimeKnot[]): TimeKnot[] {
  const knots = [...map.knots];
  for (const point of points) {
    const isThere = knots.some((k) => Math.abs(k.shotSec - point.shotSec) < 1e-9);
    if (!isThere) knots.push(point);
  }
  return knots.sort((a, b) => a.shotSec - b.shotSec || a.takeSec - b.takeSec);
}

/** Knots whose times never fall: where frames are so few that two would cross, the later waits for the earlier. */
function rising(knots: readonly TimeKnot[]): TimeKnot[] {
  let takeSec = Number.NEGATIVE_INFINITY;
  let shotSec = Number.NEGATIVE_INFINITY;
  return knots.map((k) => {
    takeSec = Math.max(takeSec, k.takeSec);
    shotSec = Math.max(shotSec, k.shotSec);
    return { takeSec, shotSec };
  });
}
