import type { Hold } from '../timing/timing.ts';
import { type Finding, framesWords } from './finding.ts';
import type { KeyWarp } from './keyWarp.ts';
import type { PlannedKey } from './shot.ts';

/** When a key was met. */
export interface KeyTiming {
  readonly key: PlannedKey;
  /** Its place in the list of keys, from 1, as on the sheet. */
  readonly number: number;
  /** By how many frames it is late; negative = early. */
  readonly late: number;
  readonly sd: number;
}

/** A key that is off by less is on time: frames, and this share of an exposure, since poses only stand on exposures. */
const leastFrames = 1;
const leastOfExposure = 0.75;
const surely = 3;
/** A hold may be this much shorter before it is told: frames at 24 fps, or a quarter of it. */
const shorterFrames = 2;
/** The shortest hold that registers, frames at 24 fps (trade's rule of thumb). */
const registersFrames = 6;

/** Moments of the plan whose lateness is asked for: the shot's ends, keys, and the ends of holds; none nearer than three frames to another. */
export function knotFramesOf(
  keys: readonly PlannedKey[],
  holds: readonly Hold[],
  firstFrame: number,
  lastFrame: number,
): number[] {
  const wanted = [
    ...keys.map((k) => k.frameIndex),
    ...holds.flatMap((h) => [h.firstFrame, h.firstFrame + h.frames - 1]),
  ];
  const knots: number[] = [firstFrame];
  for (const frame of [...new Set(wanted)].sort((a, b) => a - b))
    if (frame - knots.at(-1)! >= 3 && lastFrame - frame >= 3) knots.push(frame);
  if (lastFrame > firstFrame) knots.push(lastFrame);
  return knots;
}

/** Lateness at a frame of the plan, straight between knots. */
export function lateAt({ knots }: KeyWarp, frame: number): { late: number; sd: number } {
  let i = 0;
  while (i < knots.length - 2 && frame > knots[i + 1]!.frame) i++;
  const [a, b] = [knots[i]!, knots[Math.min(i + 1, knots.length - 1)]!];
  const u = b.frame > a.frame ? Math.min(1, Math.max(0, (frame - a.frame) / (b.frame - a.frame))) : 0;
  return { late: a.late + u * (b.late - a.late), sd: a.sd + u * (b.sd - a.sd) };
}

/** A move into a key that is shorter than this may leave the key's own moment open, though the move is surely early or late. */
const shortMoveFrames = 6;

/** Lateness of a key; where its body has come to rest nearly, no surer than when it left for it, or than the move into it as a whole. */
function lateOfKey(warp: KeyWarp, frame: number): { late: number; sd: number } {
  const own = lateAt(warp, frame);
  const left = warp.knots.findLast((k) => k.frame < frame && frame - k.frame <= shortMoveFrames);
  const isCarried = left && left.sd < own.sd && left.late * own.late > 0 && Math.abs(left.late) > surely * left.sd;
  if (isCarried && Math.abs(left.late) >= leastFrames) return { late: own.late, sd: Math.max(left.sd, own.sd / 4) };
  const into = lateOfMove(warp, frame);
  return into && Math.abs(own.late) <= surely * own.sd && Math.abs(into.late) > surely * into.sd ? into : own;
}

/** Lateness of the move into a key, leaving and arriving together, where both may be early or late by as much: a move that leaves early and arrives in time is none. */
function lateOfMove({ knots }: KeyWarp, frame: number): { late: number; sd: number } | null {
  const k = knots.findIndex((knot) => knot.frame === frame);
  const [left, own] = [knots[k - 1], knots[k]];
  if (!left || !own) return null;
  const apart = Math.sqrt(Math.max(0, left.sd ** 2 + own.sd ** 2 - 2 * own.withBefore));
  if (Math.abs(left.late - own.late) > Math.min(1, apart)) return null;
  return { late: (left.late + own.late) / 2, sd: Math.sqrt(left.sd ** 2 + own.sd ** 2 + 2 * own.withBefore) / 2 };
}

/** When each key within what was shot was met. */
export function keyTimings(warp: KeyWarp, keys: readonly PlannedKey[]): KeyTiming[] {
  const [first, last] = [warp.knots[0]!.frame, warp.knots.at(-1)!.frame];
  return keys.flatMap((key, i) =>
    key.frameIndex < first || key.frameIndex > last ? [] : [{ key, number: i + 1, ...lateOfKey(warp, key.frameIndex) }],
  );
}

/** Is a key surely off its frame? @param onFrames how long exposures usually last. */
export function isOffTime({ late, sd }: Pick<KeyTiming, 'late' | 'sd'>, onFrames: number): boolean {
  return Math.abs(late) >= Math.max(leastFrames, leastOfExposure * onFrames) && Math.abs(late) > surely * sd;
}

/** Keys that are early or late, those in a row by as much told once; and holds that are cut short. */
export function timingFindings(
  warp: KeyWarp,
  timings: readonly KeyTiming[],
  holds: readonly Hold[],
  fps: number,
  onFrames: number,
): Finding[] {
  const findings: Finding[] = [];
  for (let i = 0; i < timings.length; i++) {
    const at = timings[i]!;
    if (!isOffTime(at, onFrames)) continue;
    let last = i;
    while (
      last + 1 < timings.length &&
      isOffTime(timings[last + 1]!, onFrames) &&
      Math.abs(timings[last + 1]!.late - at.late) < 0.75
    )
      last++;
    findings.push(keyFinding(timings.slice(i, last + 1), fps));
    i = last;
  }
  for (const hold of holds) {
    const end = hold.firstFrame + hold.frames - 1;
    if (end > warp.knots.at(-1)!.frame) continue;
    // The shot begins when it begins: a hold at its first frame is shorter by what is left early.
    const isFirst = hold.firstFrame <= warp.knots[0]!.frame;
    const [a, b] = [isFirst ? { late: 0, sd: 0 } : lateAt(warp, hold.firstFrame), lateAt(warp, end)];
    const shorter = a.late - b.late;
    const sd = Math.hypot(a.sd, b.sd);
    const per24 = fps / 24;
    const least = hold.frames >= registersFrames * per24 && hold.frames - shorter < registersFrames * per24 - 0.5;
    if (!(shorter > surely * sd && shorter > shorterFrames * per24 * 0.75)) continue;
    if (!least && shorter < 0.25 * hold.frames) continue;
    // A hold that is short because its key is late is told with the key.
    if (!least && isOffTime(a, onFrames)) continue;
    findings.push({
      kind: 'shortHold',
      joint: null,
      also: [],
      firstFrame: hold.firstFrame,
      frames: hold.frames,
      atFrame: end,
      size: shorter,
      unit: 'frames',
      sd,
      weight: shorter / (2 * per24),
      sentence: `The hold from frame ${hold.firstFrame + 1} lasts ${framesWords(hold.frames - shorter)} instead of ${hold.frames}${least ? ': too short to be seen as one' : ''}.`,
    });
  }
  return findings;
}

function keyFinding(run: readonly KeyTiming[], fps: number): Finding {
  const [first, last] = [run[0]!, run.at(-1)!];
  const worst = run.reduce((a, b) => (Math.abs(b.late) > Math.abs(a.late) ? b : a));
  const by = `${framesWords(Math.abs(worst.late))} ${worst.late > 0 ? 'late' : 'early'}`;
  const name = worst.key.name ? ` (${worst.key.name})` : '';
  return {
    kind: 'keyTiming',
    joint: null,
    also: [],
    firstFrame: first.key.frameIndex,
    frames: last.key.frameIndex - first.key.frameIndex + 1,
    atFrame: worst.key.frameIndex,
    size: worst.late,
    unit: 'frames',
    sd: worst.sd,
    weight: (Math.abs(worst.late) * 24) / fps / 2,
    sentence:
      run.length === 1
        ? `Key ${worst.number}${name}, planned for frame ${worst.key.frameIndex + 1}, is met ${by}.`
        : `Keys ${first.number} to ${last.number}, planned for frames ${first.key.frameIndex + 1} to ${last.key.frameIndex + 1}, are met ${by}.`,
  };
}
