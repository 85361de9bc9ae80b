import { fitMove } from './moveFit.ts';
import type { SampledPath } from './poseSamples.ts';

/** A part's way against its move before it goes, or beyond its end after it. In samples (fractional) and body heights. */
export interface Excursion {
  /** When it sets out on it and when it is furthest. For an overshoot: when it passes the end pose, and furthest beyond. */
  readonly outset: number;
  readonly furthest: number;
  /** When it is over: the move itself begins (anticipation), or the part is still (settle after an overshoot). */
  readonly over: number;
  /** Straight distance from the pose that is left (or reached) to the furthest place. */
  readonly size: number;
  /** From that pose to the furthest place. */
  readonly dx: number;
  readonly dy: number;
}

/** A part's move between two poses with what comes before and after. In samples (fractional) and body heights. */
export interface PartMove {
  /** Straight distance between both poses. */
  readonly distance: number;
  readonly dx: number;
  readonly dy: number;
  /** When the part first leaves the pose (with an anticipation: on it) and when it is still again. */
  readonly leaves: number;
  readonly still: number;
  /** The main move, from the furthest place back to the furthest place beyond, or from leaving to stopping. */
  readonly goes: number;
  readonly arrives: number;
  readonly anticipation: Excursion | null;
  readonly overshoot: Excursion | null;
}

/** A pose is the mean of so many samples at its end of the span: 0.06 s, as long as tracks err alike. */
const poseSamplesCount = 4;
/** Where the part has gone this far is the direction in which its move begins; a wide arc's chord would point elsewhere. */
const beginsAt = 0.35;
/** Back and forth are opposite within 75°. */
const oppositeCosine = -0.26;
/** Ways within 60° of opposite turn back ... */
const turningBack = -0.5;
/** ... and so do a way down and a way up, each at least so steep: who sinks before he rises winds up, wherever he sways. */
const steep = 0.5;

/** Does the way (mx, my) turn back what (dx, dy) has gone? Pictures: y down. */
export function turnsBack(dx: number, dy: number, mx: number, my: number): boolean {
  const d = Math.hypot(dx, dy);
  const m = Math.hypot(mx, my);
  if (!(d > 0 && m > 0)) return false;
  if (dx * mx + dy * my <= turningBack * d * m) return true;
  return dy * my < 0 && Math.abs(dy) >= steep * d && Math.abs(my) >= steep * m;
}

/** A part that drags turns so much later than the key says, samples: 3 frames at 24 fps. */
const ownTurnReach = 6;
/** Excursions below this part of the move are not told apart from how people start and stop. */
const leastShare = 0.03;
/** ... nor below this many standard deviations of the path's wander. */
const leastSds = 5;

/**
 * One part's move between samples `from` and `to`, where it rests or turns. Null where it goes less far than `least` (body
 * heights) or than its errors.
 *
 * An anticipation is a turning back: the part leaves the pose, stops and comes back the way it went. It is looked for along the
 * direction in which the move begins; its size is the straight distance to the furthest place. An overshoot is the same with
 * time running backwards.
 * @param blur see `PoseSamples.blur`.
 * @param turns samples of keys at which the body is furthest back, or furthest beyond: there a part counts as turning back also
 *   where it goes on in part.
 */
export function partMove(
  path: SampledPath,
  from: number,
  to: number,
  blur: number,
  least: number,
  turns: { readonly back?: number | undefined; readonly beyond?: number | undefined } = {},
): PartMove | null {
  if (to - from < 2 * poseSamplesCount) return null;
  const start = meanPlace(path, from, 1);
  const end = meanPlace(path, to, -1);
  const dx = end.x - start.x;
  const dy = end.y - start.y;
  const distance = Math.hypot(dx, dy);
  const noise = leastSds * Math.max(path.sd[from] ?? 0, path.sd[to] ?? 0);
  if (!(distance >= Math.max(least, noise))) return null;
  const smallest = Math.max(noise, leastShare * distance);
  const own = { back: turnBack(path, start, from, to, smallest), beyond: turnBack(path, end, to, from, smallest) };
  const back = nearKey(own.back, turns.back) ?? turnAtKey(path, start, turns.back, to, end, smallest);
  const beyond = nearKey(own.beyond, turns.beyond) ?? turnAtKey(path, end, turns.beyond, from, start, smallest);
  const goesFrom = back?.furthest ?? from;
  const goesTo = beyond?.furthest ?? to;
  const main = fitMove(path, Math.round(goesFrom), Math.round(goesTo), blur);
  const goes = back ? Math.max(back.furthest, main.outset) : Math.max(from, main.outset);
  const arrives = beyond ? Math.min(beyond.furthest, main.stop) : Math.min(to, main.stop);
  const anticipation = back && {
    outset: Math.max(from, fitMove(path, from, Math.max(from + 1, Math.round(back.furthest)), blur).outset),
    furthest: back.furthest,
    over: Math.min(goes, back.furthest + (to - from) / 2),
    size: back.size,
    dx: back.dx,
    dy: back.dy,
  };
  const overshoot = beyond && {
    outset: beyond.crosses,
    furthest: beyond.furthest,
    over: Math.min(to, fitMove(path, Math.min(to - 1, Math.round(beyond.furthest)), to, blur).stop),
    size: beyond.size,
    dx: beyond.dx,
    dy: beyond.dy,
  };
  return {
    distance,
    dx,
    dy,
    leaves: anticipation?.outset ?? goes,
    still: overshoot?.over ?? arrives,
    goes,
    arrives,
    anticipation,
    overshoot,
  };
}

interface TurnBack {
  /** Samples. */
  readonly furthest: number;
  /** When the part passes the pose again on its way. */
  readonly crosses: number;
  readonly size: number;
  readonly dx: number;
  readonly dy: number;
}

/**
 * The furthest that a part goes back from its pose at sample `from` before it goes to the one at `to`; `from` may lie after
 * `to`, then time runs backwards. Null where it does not turn back, or by less than `smallest`.
 */
function turnBack(path: SampledPath, pose: Place, from: number, to: number, smallest: number): TurnBack | null {
  const way = Math.sign(to - from);
  const away = (k: number) => Math.hypot((path.x[k] ?? 0) - pose.x, (path.y[k] ?? 0) - pose.y);
  const distance = away(to);
  // From the far end: the last time that it is nearer than this is when the move proper begins.
  let begun = to;
  while (begun !== from && away(begun) >= beginsAt * distance) begun -= way;
  if (begun === from) return null;
  const ux = ((path.x[begun + way] ?? 0) - pose.x) / Math.max(1e-9, away(begun + way));
  const uy = ((path.y[begun + way] ?? 0) - pose.y) / Math.max(1e-9, away(begun + way));
  const along = (k: number) => ((path.x[k] ?? 0) - pose.x) * ux + ((path.y[k] ?? 0) - pose.y) * uy;
  let furthest = from;
  for (let k = from; k !== begun; k += way) if (along(k) < along(furthest)) furthest = k;
  if (furthest === from || !(along(furthest) < 0)) return null;
  let crosses = furthest;
  while (crosses !== begun && along(crosses) < 0) crosses += way;
  let size = 0;
  for (let k = from; k !== crosses; k += way) if (along(k) < 0 && away(k) > size) size = away(k);
  if (size < smallest) return null;
  // It comes back the way it went: as far behind the furthest place as before it, it is on the same side.
  const fx = (path.x[furthest] ?? 0) - pose.x;
  const fy = (path.y[furthest] ?? 0) - pose.y;
  let after = furthest;
  const gone = (k: number) =>
    Math.hypot((path.x[k] ?? 0) - (path.x[furthest] ?? 0), (path.y[k] ?? 0) - (path.y[furthest] ?? 0));
  while (after !== to && gone(after) < Math.hypot(fx, fy)) after += way;
  const rx = (path.x[after] ?? 0) - (path.x[furthest] ?? 0);
  const ry = (path.y[after] ?? 0) - (path.y[furthest] ?? 0);
  const cosine = (fx * rx + fy * ry) / Math.max(1e-12, Math.hypot(fx, fy) * Math.hypot(rx, ry));
  if (cosine > oppositeCosine) return null;
  const a = along(furthest - 1);
  const b = along(furthest);
  const c = along(furthest + 1);
  const bend = a - 2 * b + c;
  const part = bend > 1e-12 ? Math.max(-0.5, Math.min(0.5, (a - c) / (2 * bend))) : 0;
  const before = along(crosses - way);
  const passes = before < 0 ? crosses - way + way * (before / (before - along(crosses))) : crosses;
  return { furthest: furthest + part, crosses: passes, size, dx: fx, dy: fy };
}

/** A part's own turn counts unless a key says otherwise: that it turns much sooner or later. */
function nearKey(own: TurnBack | null, key: number | undefined): TurnBack | null {
  return own && (key === undefined || Math.abs(own.furthest - key) <= ownTurnReach) ? own : null;
}

/** The same where a key says when: the part must turn back what it has gone. `other` is the far pose, at sample `to`. */
function turnAtKey(
  path: SampledPath,
  pose: Place,
  at: number | undefined,
  to: number,
  other: Place,
  smallest: number,
): TurnBack | null {
  if (at === undefined) return null;
  const x = path.x[at] ?? 0;
  const y = path.y[at] ?? 0;
  const dx = x - pose.x;
  const dy = y - pose.y;
  const size = Math.hypot(dx, dy);
  if (size < smallest || !turnsBack(dx, dy, other.x - x, other.y - y)) return null;
  const way = Math.sign(to - at);
  let crosses = at;
  while (crosses !== to && ((path.x[crosses] ?? 0) - pose.x) * dx + ((path.y[crosses] ?? 0) - pose.y) * dy > 0)
    crosses += way;
  return { furthest: at, crosses, size, dx, dy };
}

interface Place {
  readonly x: number;
  readonly y: number;
}

function meanPlace(path: SampledPath, at: number, way: 1 | -1): Place {
  let x = 0;
  let y = 0;
  for (let k = 0; k < poseSamplesCount; k++) {
    x += (path.x[at + way * k] ?? 0) / poseSamplesCount;
    y += (path.y[at + way * k] ?? 0) / poseSamplesCount;
  }
  return { x, y };
}
