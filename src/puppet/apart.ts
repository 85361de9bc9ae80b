import { arm, head, leg, turnAbout } from './bodyTurns.ts';
import { softFrames, spanOf, spread } from './fixSpan.ts';
import { frameCountOf } from './hitch.ts';
import { isTooDeep, type OverlapAt, overlapsOf, type Piece, type Turned } from './overlap.ts';
import type { ApartFix } from './poseFix.ts';
import { type FrameRun, type PuppetMotion, type Side, standsWithin } from './puppetMotion.ts';

/** Nothing is turned further to get out of the way: another pose is the animator's to find. */
const mostDeg = 75;
const stepDeg = 2;
/** Pieces that just touch would be told as touching by a last bit. */
const hairMm = 1e-3;

/** A joint that may turn to bring a piece out of the way, and which way: 1 = anticlockwise in the picture. */
interface Way {
  readonly turn: Omit<Turned, 'deg'>;
  readonly sign: 1 | -1;
}

/**
 * The joints that can bring a pair apart: those that carry the moving piece, the nearest first, and the neck that carries a head. None of a
 * limb that a foot or hand in its place holds, nor of a tail.
 */
function waysOf(motion: PuppetMotion, { moving: piece, other }: Pair, first: number, last: number): Way[] {
  const side: Side = piece.startsWith('left') ? 'left' : 'right';
  const both = (turn: Way['turn']): Way[] => [
    { turn, sign: 1 },
    { turn, sign: -1 },
  ];
  const isHeld = motion.held.some((h) => h.side === side && h.firstFrame <= last && h.firstFrame + h.frames > first);
  const aside = other === 'head' ? both({ about: 'neck', what: head }) : [];
  const upper = { about: `${side}Shoulder`, what: arm(side) } as const;
  switch (piece.replace(/^(left|right)/, '')) {
    case 'Forearm':
      return [
        ...(isHeld ? [] : [...both({ about: `${side}Elbow`, what: arm(side).slice(1) }), ...both(upper)]),
        ...aside,
      ];
    case 'UpperArm':
      return [...(isHeld ? [] : both(upper)), ...aside];
    case 'Thigh':
    case 'Shank':
      return standsWithin(motion, side, first, last) ? [] : both({ about: `${side}Hip`, what: leg(side) });
    default:
      return [];
  }
}

/**
 * How far a joint must turn in a frame until the pieces are no deeper in each other than the performer's, at least `from` degrees; NaN =
 * no turn does.
 */
function turnNeeded(
  overlapAt: OverlapAt,
  { moving, other }: Pair,
  k: number,
  { turn, sign }: Way,
  from: number,
): number {
  const isClear = (deg: number) => {
    const { deepMm, performersMm } = overlapAt(moving, other, k, { ...turn, deg: sign * deg });
    return !(deepMm > performersMm - hairMm);
  };
  if (isClear(from)) return from;
  let clear = from + stepDeg;
  while (!isClear(clear)) {
    clear += stepDeg;
    if (clear > mostDeg) return Number.NaN;
  }
  let deep = clear - stepDeg;
  for (let round = 0; round < 30; round++) {
    const middle = (deep + clear) / 2;
    if (isClear(middle)) clear = middle;
    else deep = middle;
  }
  return clear;
}

interface Pair {
  readonly moving: Piece;
  readonly other: Piece;
}

/** One joint turned one way over a span; degrees at frames, without those that stay. */
interface Turning extends Way {
  readonly turns: readonly (readonly [number, number])[];
  readonly most: number;
}

/** Where the way out of one frame's touch leads through another's, the span grows, but not for ever. */
const rounds = 4;

/** The turns that keep the pieces apart from `first` to `last` by one way, led in and out; null = it does not do it. */
function turningBy(
  motion: PuppetMotion,
  overlapAt: OverlapAt,
  pair: Pair,
  first: number,
  last: number,
  way: Way,
): Turning | null {
  const frameCount = frameCountOf(motion);
  let needs = Array.from({ length: last - first + 1 }, (_, i) => turnNeeded(overlapAt, pair, first + i, way, 0));
  let from = first;
  for (let round = 0; round < rounds; round++) {
    if (needs.some(Number.isNaN)) return null;
    const turns = [...spread(needs, from, frameCount)].filter(([, deg]) => deg !== 0);
    const bad = turns.filter(([k, deg]) =>
      isTooDeep(pair.moving, overlapAt(pair.moving, pair.other, k, { ...way.turn, deg: way.sign * deg })),
    );
    if (bad.length === 0) return { ...way, turns, most: Math.max(0, ...turns.map(([, deg]) => deg)) };
    const [begin, end] = [Math.min(from, bad[0]![0]), Math.max(from + needs.length - 1, bad.at(-1)![0])];
    const was = needs;
    const wasFrom = from;
    needs = Array.from({ length: end - begin + 1 }, (_, i) => was[begin + i - wasFrom] ?? 0);
    for (const [k, deg] of bad) needs[k - begin] = turnNeeded(overlapAt, pair, k, way, deg);
    from = begin;
  }
  return null;
}

/** The way that has to turn least; null = none keeps them apart. */
function leastTurning(motion: PuppetMotion, pair: Pair, first: number, last: number): Turning | null {
  const overlapAt = overlapsOf(motion);
  return waysOf(motion, pair, first - softFrames, last + softFrames)
    .map((way) => turningBy(motion, overlapAt, pair, first, last, way))
    .reduce((a, b) => (a && b ? (b.most < a.most ? b : a) : (a ?? b)), null);
}

/** The fix that takes a touch away by the least turn of an arm, or of a leg that swings; null where none does. */
export function nearestApart(
  motion: PuppetMotion,
  moving: Piece,
  other: Piece,
  { firstFrame, frames }: FrameRun,
): ApartFix | null {
  const last = firstFrame + frames - 1;
  if (!leastTurning(motion, { moving, other }, firstFrame, last)) return null;
  const { timesSec } = motion.followed;
  return {
    id: `apart:${moving}-${other}:${firstFrame}`,
    kind: 'apart',
    moving,
    other,
    startSec: timesSec[firstFrame]!,
    endSec: timesSec[last]!,
  };
}

/** Turns the limb out of the way over the span, one joint and one way throughout: that which has to turn least. */
export function keepApart(motion: PuppetMotion, fix: ApartFix): void {
  const span = spanOf(motion, fix);
  const least = span && leastTurning(motion, fix, ...span);
  for (const [k, deg] of least?.turns ?? [])
    turnAbout(motion, least!.turn.about, least!.turn.what, k, least!.sign * deg);
}
