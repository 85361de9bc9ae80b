import { turnsBack } from './excursion.ts';
import type { PoseSamples } from './poseSamples.ts';
import type { Key, Timing } from './timing.ts';

/** A span of the take in which the body rests. Take seconds. */
export interface RestSpan {
  readonly startSec: number;
  readonly endSec: number;
}

/** What a leg between two neighbouring keys does for the move that it belongs to. */
export type LegRole = 'windUp' | 'main' | 'settle';

/** The body's way from one key to the next. */
export interface MoveLeg {
  readonly from: Key;
  readonly to: Key;
  readonly role: LegRole;
}

/**
 * One move as an animator speaks of it: from a pose to the next that counts, with the wind-up before it and the settling after
 * it, though these may end at keys of their own. Moves follow one another without gaps.
 */
export interface MoveSpan {
  /** From the ids of the keys at both ends: the same move has the same id whenever it is computed anew. */
  readonly id: string;
  readonly from: Key;
  readonly to: Key;
  readonly legs: readonly MoveLeg[];
  /** When the body leaves the first pose and has reached the last one, take seconds. */
  readonly startSec: number;
  readonly endSec: number;
  /** The rests before and after; null where the body only turns. */
  readonly restBefore: RestSpan | null;
  readonly restAfter: RestSpan | null;
}

/** A pose kept so long, seconds, is a pose of its own and no wind-up or overshoot: 6 frames at 24 fps register (see `holds.ts`). */
const registersSec = 6 / 24;
/** A frame at 24 fps: keys are laid on frames, so rests begin and end up to one beside them. */
const oneFrameSec = 1 / 24;
/** A rest of the body lasts longer than this, seconds. */
const shortestRestSec = 1 / 48;
/** The body turns back where joints that make up this part of its way do: an arm may go on rising while all else winds up. */
const backShare = 0.4;
/** A wind-up or a settle goes at most this part of the main move's way. */
const smallShare = 0.6;
/** The moves between the keys of a shot, rising. Breakdowns lie within a move and end none. Fewer than two keys: no moves. */
export function moveSpans(timing: Timing, samples: PoseSamples): MoveSpan[] {
  const keys = timing.keys.filter((k) => k.kind === 'key');
  const spans = restsOf(timing);
  const rests = keys.map((key) => restAt(spans, key));
  const ways = keys.slice(1).map((key, i) => wayBetween(samples, keys[i]!.takeSec, key.takeSec));
  const kept = rests.map((rest) => rest !== null && rest.endSec - rest.startSec >= registersSec - 1e-9);
  const roles = ways.map((way, i): LegRole => {
    const before = ways[i - 1];
    const after = ways[i + 1];
    const winds = after !== undefined && !kept[i + 1] && goesBack(way, after);
    const settles = before !== undefined && !kept[i] && goesBack(way, before);
    if (winds && settles) return length(after) > length(before) && !rests[i + 1] ? 'windUp' : 'settle';
    return winds ? 'windUp' : settles ? 'settle' : 'main';
  });
  // A wind-up needs a move to wind up for, and a settle one to settle from.
  roles.forEach((role, i) => {
    if (role === 'windUp' && roles[i + 1] !== 'main') roles[i] = 'main';
  });
  const moves: MoveSpan[] = [];
  let first = 0;
  for (let i = 0; i < ways.length; i++) {
    if (roles[i] === 'windUp' || roles[i + 1] === 'settle') continue;
    const legs = ways.slice(first, i + 1).map((_, k) => ({
      from: keys[first + k]!,
      to: keys[first + k + 1]!,
      role: roles[first + k]!,
    }));
    const restBefore = rests[first] ?? null;
    const restAfter = rests[i + 1] ?? null;
    const from = keys[first]!;
    const to = keys[i + 1]!;
    moves.push({
      id: `${from.id}>${to.id}`,
      from,
      to,
      legs,
      startSec: restBefore?.endSec ?? from.takeSec,
      endSec: Math.max(restBefore?.endSec ?? from.takeSec, restAfter?.startSec ?? to.takeSec),
      restBefore,
      restAfter,
    });
    first = i + 1;
  }
  return moves;
}

/** A part that drags leaves and arrives later than the body: so far beyond a move, seconds, is looked for it. */
const dragSec = 0.3;
/** ... and so far before it for parts that lead. */
const leadSec = 0.2;

/**
 * Where to look for a move's curves, take seconds: with enough of the rests around it that parts which lead or drag are still
 * in it, but not into the neighbouring moves.
 */
export function windowOf(
  move: MoveSpan,
  before: MoveSpan | null,
  after: MoveSpan | null,
  lastSec: number,
  overSec = 0,
): RestSpan {
  const startSec = Math.max(move.startSec - leadSec, before ? (before.endSec + move.startSec) / 2 : move.from.takeSec);
  const latest = after ? Math.max(move.endSec + overSec, after.startSec) : lastSec;
  return {
    startSec: Math.min(startSec, move.startSec),
    endSec: Math.max(move.endSec, Math.min(latest, move.endSec + dragSec)),
  };
}

/** The last parts may settle so long after the body is there, seconds: 4 frames at 24 fps. */
const settlingSec = 4 / 24;

/** The shot's holds in the take's time. One that the animator put in, where a single moment is shown, is no rest of the body. */
function restsOf(timing: Timing): RestSpan[] {
  return timing.holds.flatMap(({ fromSec, toSec }) =>
    toSec - fromSec > shortestRestSec ? [{ startSec: fromSec, endSec: toSec }] : [],
  );
}

/** The rest at a key: the body is there a little before its last parts have settled. */
function restAt(rests: readonly RestSpan[], key: Key): RestSpan | null {
  const { takeSec } = key;
  return rests.find((r) => takeSec >= r.startSec - settlingSec && takeSec <= r.endSec + oneFrameSec) ?? null;
}

type Way = readonly (readonly [dx: number, dy: number])[];

function wayBetween(samples: PoseSamples, fromSec: number, toSec: number): Way {
  const at = (sec: number) =>
    Math.min(samples.count - 1, Math.max(0, Math.round((sec - samples.startSec) / samples.stepSec)));
  const a = at(fromSec);
  const b = at(toSec);
  return samples.joints.map(({ x, y, weight }) => {
    const w = Math.sqrt(weight);
    return [w * ((x[b] ?? 0) - (x[a] ?? 0)), w * ((y[b] ?? 0) - (y[a] ?? 0))] as const;
  });
}

const length = (way: Way) => Math.sqrt(way.reduce((sum, [dx, dy]) => sum + dx * dx + dy * dy, 0));

/** Does `small` turn back what `main` does, by far enough and not too far? Each joint counts by the square of how far it goes. */
function goesBack(small: Way, main: Way): boolean {
  let back = 0;
  let smallSquares = 0;
  let mainSquares = 0;
  small.forEach(([dx, dy], j) => {
    const [mx, my] = main[j] ?? [0, 0];
    const square = dx * dx + dy * dy;
    const other = mx * mx + my * my;
    if (turnsBack(dx, dy, mx, my)) back += square;
    smallSquares += square;
    mainSquares += other;
  });
  return back >= backShare * smallSquares && smallSquares > 0 && smallSquares <= smallShare ** 2 * mainSquares;
}
