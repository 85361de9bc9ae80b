import type { Joint } from '../base/joints.ts';
import type { Hold } from '../timing/timing.ts';
import { judgedJoints } from './offRuns.ts';
import { columnAt, type JointPlaces, type PlaceColumns } from './places.ts';
import type { PlannedKey } from './shot.ts';

/** A joint's planned move from one stop to the next that is not spaced evenly, and how it would go if it were. */
export interface EasedMove extends FrameSpan {
  readonly joint: Joint;
  /** How far it goes, millimetres. */
  readonly wayMm: number;
  /** The frame of the plan that frame `from + k` shows where the joint goes in even steps. Shape [frames of the move]. */
  readonly even: Float64Array;
}

/** A way shorter than this share of the height is no move: 8 mm of 250. */
const leastWay = 0.032;
/** A move of fewer frames has no room for an ease. */
const leastFrames = 8;
/** A planned move whose steps vary less about their mean (standard deviation / mean) has no ease to be lost; a smooth reach has 0.6. */
const easedVariation = 0.4;

/** The frame of a path at which each even part of its way is behind it, and how its steps vary; null where it goes nowhere. */
function evenlyAlong(
  { x, y }: Pick<PlaceColumns, 'x' | 'y'>,
  from: number,
  to: number,
): { readonly even: Float64Array; readonly way: number; readonly variation: number } | null {
  const way = [0];
  for (let f = from + 1; f <= to; f++) way.push(way.at(-1)! + Math.hypot(x[f]! - x[f - 1]!, y[f]! - y[f - 1]!));
  const whole = way.at(-1)!;
  const frames = to - from;
  if (!(whole > 0)) return null;
  const mean = whole / frames;
  const squares = way.slice(1).reduce((sum, w, k) => sum + (w - way[k]! - mean) ** 2, 0);
  let behind = 0;
  const even = Float64Array.from(way, (_, k) => {
    while (behind < frames - 1 && way[behind + 1]! < k * mean) behind++;
    const step = way[behind + 1]! - way[behind]!;
    return from + behind + (step > 0 ? Math.min(1, (k * mean - way[behind]!) / step) : 0);
  });
  even[frames] = to;
  return { even, way: whole, variation: Math.sqrt(squares / frames) / mean };
}

/** A joint's move that eases, if it goes in even steps; null where it goes nowhere far, or is planned to go evenly. @param path millimetres. Shape [frame]. */
function easedMove(
  joint: Joint,
  path: PlaceColumns | undefined,
  { from, to }: FrameSpan,
  sizeMm: number,
): EasedMove | null {
  const along = path && evenlyAlong(path, from, to);
  if (!along || along.way < leastWay * sizeMm || along.variation < easedVariation) return null;
  return { joint, from, to, even: along.even, wayMm: along.way };
}

/** From one stop to the next: frames of the plan, both ends included. */
export interface FrameSpan {
  readonly from: number;
  readonly to: number;
}

/** The planned moves from key to key, those that begin with a rest from its end on, that have room for an ease. */
export function spansOf(keys: readonly PlannedKey[], holds: readonly Hold[]): FrameSpan[] {
  const story = keys.filter((k) => k.kind === 'key').map((k) => k.frameIndex);
  return story.slice(1).flatMap((to, k) => {
    const left = story[k]!;
    const rest = holds.find((h) => left >= h.firstFrame && left < h.firstFrame + h.frames);
    const from = rest ? Math.min(rest.firstFrame + rest.frames - 1, to) : left;
    return to - from < leastFrames ? [] : [{ from, to }];
  });
}

/** Joints' moves in a span that ease, those that go furthest first. @param planned millimetres. Shape [frame]. */
export function easedMoves(planned: JointPlaces, span: FrameSpan, sizeMm: number): EasedMove[] {
  return judgedJoints
    .flatMap((joint) => easedMove(joint, planned.at.get(joint), span, sizeMm) ?? [])
    .sort((a, b) => b.wayMm - a.wayMm);
}

/** The frame of the plan that is shown at a frame of a plan some of whose moves go in even steps. */
export function evenFrame(moves: readonly EasedMove[], frame: number): number {
  const move = moves.find(({ from, to }) => frame > from && frame < to);
  if (!move) return frame;
  const k = Math.floor(frame - move.from);
  const u = frame - move.from - k;
  return move.even[k]! + u * (move.even[k + 1]! - move.even[k]!);
}

/** Joints that went in even steps between two stops. */
export interface WentEvenly {
  /** Each as its own move goes, or another's. */
  readonly laws: ReadonlyMap<Joint, EasedMove>;
  /** The move by which all of the body went; null = only some joints did. */
  readonly body: EasedMove | null;
}

/** The plan with joints in even steps where they went so. */
export function laidEvenly(planned: JointPlaces, went: readonly WentEvenly[]): JointPlaces {
  const at = new Map(
    [...planned.at].map(([joint, { x, y, sd }]) => {
      const moves = went.flatMap(({ laws, body }) => laws.get(joint) ?? body ?? []);
      const frames = Float64Array.from({ length: planned.count }, (_, f) => evenFrame(moves, f));
      const laid = (column: Float64Array) => frames.map((f, k) => (f === k ? column[k]! : columnAt(column, f)));
      return [joint, { x: laid(x), y: laid(y), sd }] as const;
    }),
  );
  return { count: planned.count, at };
}
