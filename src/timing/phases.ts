import { isProp, type Joint, type Part } from '../base/joints.ts';
import type { Tracks } from '../track/motion.ts';
import { partWords, regionOf } from './chains.ts';
import { type Excursion, type PartMove, partMove } from './excursion.ts';
import { type MoveSpan, moveSpans, windowOf } from './moveSpans.ts';
import { sampleParts } from './partPaths.ts';
import { type PoseSamples, type SampledPath, samplePoses, sampleSec } from './poseSamples.ts';
import { pushedTracks } from './pushedTracks.ts';
import { sizeWords } from './sizeUnit.ts';
import { frameOfTakeSec, framesOfSpan } from './takeFrames.ts';
import type { Timing } from './timing.ts';

/**
 * What happens to a move one after another: a part notices before the body goes (reaction), the body goes back (anticipation),
 * goes (action), beyond the pose (overshoot), and comes to rest (settle).
 */
export type PhaseKind = 'reaction' | 'anticipation' | 'action' | 'overshoot' | 'settle';

/** One phase of one move. */
export interface Phase {
  /** From the ids of the keys at both ends of the move: the same phase has the same id whenever it is computed anew. */
  readonly id: string;
  readonly kind: PhaseKind;
  readonly moveId: string;
  /** The part that shows it most (of the whole body), or that was asked for; null where only a cue is known. */
  readonly part: Part | null;
  /** Frames of the shot as retimed, from 0; at least 1. */
  readonly firstFrame: number;
  readonly frames: number;
  /** The same between frames, take seconds. */
  readonly startSec: number;
  readonly endSec: number;
  /** How far the part goes: back, on its way, or beyond, as the straight distance. Puppet mm and video pixels; null = not about a way. */
  readonly sizeMm: number | null;
  readonly sizePx: number | null;
  /** That distance over the one between the part's poses before and after the move (0.18 = 18 %); null where `sizeMm` is. */
  readonly share: number | null;
  /** The animator's name for it, or "". */
  readonly name: string;
  /** What is seen, with its sizes. */
  readonly sentence: string;
}

/** Options of `findPhases`. */
export interface PhaseWishes {
  /** The animator's names by phase id. */
  readonly names?: ReadonlyMap<string, string>;
  /** One part's phases instead of the whole body's. */
  readonly part?: Part | null;
  /** Moments that may call for a reaction (a sound), take seconds; the last one before a move from rest counts. */
  readonly cuesSec?: readonly number[];
  /** How a part is called; for marked points the animator's name. */
  readonly wordsOf?: (part: Part) => string;
}

/** A part that goes less far between two poses than this, body heights, has no move of its own. */
const leastMove = 0.015;
/** Of the whole body an anticipation is told from this size on, body heights (1 mm on a puppet of 250) ... */
const leastTold = 0.004;
/** ... and of any other part than the one that goes furthest, from this part of that one's way, if it goes far enough itself. */
const leastToldShare = 0.08;
const leastTellerShare = 0.25;
/** A part that goes back by more than this part of its way does something else than anticipate. */
const mostShare = 0.6;
/** The body is on its way when parts that make up this share of the movement (by the square of their way) are, and there likewise. */
const goingShare = 0.3;
const thereShare = 0.7;
/** A head that turns so much before the body reacts, seconds: 2 frames at 24 fps; an arm, that moves for more reasons, 4. */
const headLeadSec = 2 / 24;
const partLeadSec = 4 / 24;
/** A longer wait is no reaction any more, seconds. */
const longestReactionSec = 1;
/** A frame at 24 fps. */
const oneFrameSec = 1 / 24;
/** Parts that go this share of the furthest way count for when all is still, once it is so long after the body arrived. */
const lastPartShare = 0.25;
const trailingSec = 2 / 24;

/** The tracked joints whose phases make up those of the whole body, in the tracks' order. */
export function bodyParts(tracks: Tracks): Joint[] {
  return tracks.joints.filter((j) => speaksForBody(j) && !/^(neck|chest|pelvis|chin)$/.test(j));
}

/** Hands, feet and the mouth come from a coarser model; what rides on the head says what the nose says. Marked points all count. */
function speaksForBody(part: Part): boolean {
  return isProp(part) || !/(Eye|Ear|mouth|Hand|Heel|Toe)$/.test(part);
}

/** Everything that is known of the shot while its moves are gone through. */
interface Ground {
  readonly samples: PoseSamples;
  readonly timing: Timing;
  readonly heightPx: number;
  readonly wishes: PhaseWishes;
  readonly wordsOf: (part: Part) => string;
  /** The head's turning and nodding upon the neck; null where it is not known. */
  readonly head: SampledPath | null;
}

/** The phases of every move of the shot, of the whole body or of one part; rising by move, then in order of time. */
export function findPhases(tracks: Tracks, timing: Timing, wishes: PhaseWishes = {}): Phase[] {
  const { startSec, endSec } = timing.choices;
  const lastSec = Math.max(startSec, Math.min(endSec, tracks.timesSec.at(-1) ?? endSec));
  // Which legs make up a move is asked of what was filmed, so that ids stay; sizes, of what the shot shows.
  const moves = moveSpans(timing, samplePoses(tracks, startSec, lastSec));
  const shown = pushedTracks(tracks, timing.choices);
  const samples = samplePoses(shown, startSec, lastSec);
  const body = samples.joints.filter((j) => speaksForBody(j.joint)).map((j) => j.joint);
  const known = body.length > 0 ? body : samples.joints.map((j) => j.joint);
  const wanted: readonly Part[] = wishes.part ? [wishes.part] : known;
  const paths = sampleParts(shown, samples, wanted);
  const ground: Ground = {
    samples,
    timing,
    heightPx: tracks.bodyHeightPx,
    wishes,
    wordsOf: wishes.wordsOf ?? partWords,
    head: headOnNeck(samples),
  };
  return moves.flatMap((move, i) => {
    const span = windowOf(move, moves[i - 1] ?? null, moves[i + 1] ?? null, lastSec);
    const at = (sec: number) =>
      Math.min(samples.count - 1, Math.max(0, Math.round((sec - samples.startSec) / samples.stepSec)));
    const from = at(span.startSec);
    const to = at(span.endSec);
    const windUp = move.legs.findLast((leg) => leg.role === 'windUp');
    const settle = move.legs.find((leg) => leg.role === 'settle');
    const turns = { back: windUp && at(windUp.to.takeSec), beyond: settle && at(settle.from.takeSec) };
    const parts = wanted.flatMap((part): Moved[] => {
      const path = paths.get(part);
      const moved = path && partMove(path, from, to, samples.blur, leastMove, turns);
      return moved ? [{ part, ...moved }] : [];
    });
    const head = ground.head && partMove(ground.head, from, to, samples.blur, leastMove);
    return phasesOfMove(ground, move, parts, head);
  });
}

/** The head as it turns and nods by itself: the nose against the middle of the shoulders; null where they are not known. */
function headOnNeck({ joints }: PoseSamples): SampledPath | null {
  const find = (joint: Joint) => joints.find((j) => j.joint === joint);
  const nose = find('nose');
  const left = find('leftShoulder');
  const right = find('rightShoulder');
  if (!nose || !left || !right) return null;
  const against = (of: Float64Array, a: Float64Array, b: Float64Array) =>
    of.map((v, k) => v - ((a[k] ?? 0) + (b[k] ?? 0)) / 2);
  return {
    x: against(nose.x, left.x, right.x),
    y: against(nose.y, left.y, right.y),
    sd: nose.sd.map((v, k) => Math.hypot(v, (left.sd[k] ?? 0) / 2, (right.sd[k] ?? 0) / 2)),
  };
}

/** A part with its move, in samples. */
interface Moved extends PartMove {
  readonly part: Part;
}

function phasesOfMove(ground: Ground, move: MoveSpan, parts: readonly Moved[], head: PartMove | null): Phase[] {
  const main = largest(parts, (p) => p.distance);
  if (!main) return [];
  const single = Boolean(ground.wishes.part);
  const isTold = (p: Moved, e: Excursion | null) => {
    if (e === null || single) return e !== null;
    const isPlain =
      p === main || (e.size >= leastToldShare * main.distance && p.distance >= leastTellerShare * main.distance);
    return isPlain && e.size >= leastTold && e.size <= mostShare * p.distance;
  };
  const back = largest(
    parts.filter((p) => isTold(p, p.anticipation)),
    (p) => p.anticipation?.size ?? 0,
  );
  const beyond = largest(
    parts.filter((p) => isTold(p, p.overshoot)),
    (p) => p.overshoot?.size ?? 0,
  );
  const goes = back?.anticipation ? back.anticipation.over : shareAt(parts, goingShare, (p) => p.goes);
  const there = Math.max(
    goes,
    shareAt(parts, thereShare, (p) => p.arrives),
  );
  const arrives = beyond?.overshoot ? passes(ground, beyond.overshoot, beyond === main, goes, there) : there;
  const phases: Phase[] = [];
  const leaves = back?.anticipation ? Math.min(back.anticipation.outset, goes) : goes;
  if (!single) phases.push(...reactions(ground, move, parts, head, leaves, (back ?? main).part));
  if (back?.anticipation) phases.push(anticipationOf(ground, move, back, back.anticipation, goes));
  phases.push(actionOf(ground, move, main, goes, arrives));
  const lastStill = Math.max(
    ...parts.filter((p) => p.distance >= lastPartShare * main.distance).map((p) => p.still),
    arrives,
  );
  if (beyond?.overshoot) phases.push(...overshootOf(ground, move, beyond, beyond.overshoot, arrives));
  else if ((lastStill - arrives) * ground.samples.stepSec >= trailingSec) {
    const last = largest(
      parts.filter((p) => p.distance >= lastPartShare * main.distance),
      (p) => p.still,
    );
    if (last && !single) phases.push(trailingOf(ground, move, last, arrives, lastStill));
  }
  return phases;
}

/**
 * When the action gives way to the overshoot: as the part passes its pose. Where another part makes the action, that one first
 * does its way, but for a frame at 24 fps in which the other is still on its way out.
 */
function passes({ samples }: Ground, over: Excursion, isMain: boolean, goes: number, there: number): number {
  if (isMain) return Math.max(goes, over.outset);
  return Math.max(goes, Math.min(over.furthest - oneFrameSec / samples.stepSec, Math.max(over.outset, there)));
}

function anticipationOf(ground: Ground, move: MoveSpan, moved: Moved, back: Excursion, goes: number): Phase {
  const phase = phaseOf(ground, move, 'anticipation', moved.part, back.outset, goes, back.size, moved.distance);
  const how = direction(back.dx, back.dy, { up: 'rises', down: 'dips', level: 'draws' });
  return {
    ...phase,
    sentence: `${opening(ground, moved.part)} ${how} ${wayWords(ground, phase)} back for ${frameWords(phase.frames)} before it goes: ${percent(phase.share)} of the move.`,
  };
}

function actionOf(ground: Ground, move: MoveSpan, moved: Moved, goes: number, arrives: number): Phase {
  const phase = phaseOf(ground, move, 'action', moved.part, goes, arrives, moved.distance, moved.distance);
  const furthest = ground.wishes.part || ground.samples.joints.length === 1 ? '' : ', furthest of all';
  return {
    ...phase,
    sentence: `${opening(ground, moved.part)} goes ${wayWords(ground, phase)} in ${frameWords(phase.frames)}${furthest}.`,
  };
}

function overshootOf(ground: Ground, move: MoveSpan, moved: Moved, beyond: Excursion, arrives: number): Phase[] {
  const over = phaseOf(ground, move, 'overshoot', moved.part, arrives, beyond.furthest, beyond.size, moved.distance);
  const settle = phaseOf(ground, move, 'settle', moved.part, beyond.furthest, beyond.over, beyond.size, moved.distance);
  const who = opening(ground, moved.part);
  return [
    {
      ...over,
      sentence: `${who} goes ${wayWords(ground, over)} beyond the pose: ${percent(over.share)} of the move.`,
    },
    {
      ...settle,
      sentence: `${who} comes back ${wayWords(ground, settle)} and is still after ${frameWords(settle.frames)}.`,
    },
  ];
}

function trailingOf(ground: Ground, move: MoveSpan, last: Moved, arrives: number, still: number): Phase {
  const phase = phaseOf(ground, move, 'settle', last.part, arrives, still, null, last.distance);
  return {
    ...phase,
    sentence: `${opening(ground, last.part)} trails: still ${frameWords(phase.frames)} after most of the body.`,
  };
}

/** Who moved before the body did, and how long after a cue the body goes. */
function reactions(
  ground: Ground,
  move: MoveSpan,
  parts: readonly Moved[],
  head: PartMove | null,
  leaves: number,
  goer: Part,
): Phase[] {
  const { samples } = ground;
  const phases: Phase[] = [];
  const led = (first: number) => (leaves - first) * samples.stepSec;
  const early = largest(
    parts.filter(
      (p) =>
        /Arm$/.test(regionOf(p.part)) &&
        regionOf(p.part) !== regionOf(goer) &&
        p.distance >= 2 * leastMove &&
        led(p.leaves) >= partLeadSec,
    ),
    (p) => led(p.leaves),
  );
  const headFirst = head && regionOf(goer) !== 'head' && led(head.leaves) >= headLeadSec;
  const cue: { part: Part; leaves: number } | null = headFirst ? { part: 'nose', leaves: head.leaves } : early;
  if (cue && led(cue.leaves) <= longestReactionSec) {
    const phase = phaseOf(ground, move, 'reaction', cue.part, cue.leaves, leaves, null, 1);
    phases.push({
      ...phase,
      sentence: `${opening(ground, cue.part)} moves ${frameWords(phase.frames)} before the body goes.`,
    });
  }
  const startSec = sampleSec(samples, cue ? cue.leaves : leaves);
  // Only who stands still waits for a cue.
  const called = (move.restBefore ? (ground.wishes.cuesSec ?? []) : []).filter(
    (sec) => sec <= startSec && startSec - sec <= longestReactionSec,
  );
  const cueSec = Math.max(...called);
  if (called.length > 0) {
    const { firstFrame, frames } = framesOfSpan(ground.timing, cueSec, startSec);
    const id = `${move.id}/reaction to a cue`;
    phases.push({
      id,
      kind: 'reaction',
      moveId: move.id,
      part: null,
      firstFrame,
      frames,
      startSec: cueSec,
      endSec: startSec,
      sizeMm: null,
      sizePx: null,
      share: null,
      name: ground.wishes.names?.get(id) ?? '',
      sentence: `${cue ? 'The first part moves' : 'The body goes'} ${frameWords(frames)} after the cue at frame ${Math.round(frameOfTakeSec(ground.timing, cueSec)) + 1}.`,
    });
  }
  return phases;
}

/** @param from and `to` samples. @param size of the way and `distance` of the whole move, body heights. */
function phaseOf(
  ground: Ground,
  move: MoveSpan,
  kind: PhaseKind,
  part: Part,
  from: number,
  to: number,
  size: number | null,
  distance: number,
): Phase {
  const { samples, timing, wishes, heightPx } = ground;
  const startSec = sampleSec(samples, from);
  const endSec = Math.max(startSec, sampleSec(samples, to));
  const id = `${move.id}/${kind}${wishes.part ? `/${wishes.part}` : ''}`;
  return {
    id,
    kind,
    moveId: move.id,
    part,
    ...framesOfSpan(timing, startSec, endSec),
    startSec,
    endSec,
    sizeMm: size === null ? null : size * heightPx * timing.mmPerPx,
    sizePx: size === null ? null : size * heightPx,
    share: size === null ? null : size / distance,
    name: wishes.names?.get(id) ?? '',
    sentence: '',
  };
}

/** When parts that make up this share of the movement have done something; each counts by the square of its way. */
function shareAt(parts: readonly Moved[], share: number, when: (moved: Moved) => number): number {
  const rising = parts.toSorted((a, b) => when(a) - when(b));
  const total = rising.reduce((sum, p) => sum + p.distance ** 2, 0);
  let sum = 0;
  for (const moved of rising) {
    sum += moved.distance ** 2;
    if (sum >= share * total) return when(moved);
  }
  return when(rising.at(-1)!);
}

function largest(parts: readonly Moved[], size: (moved: Moved) => number): Moved | null {
  return parts.reduce<Moved | null>((best, p) => (best === null || size(p) > size(best) ? p : best), null);
}

function direction(dx: number, dy: number, words: { up: string; down: string; level: string }): string {
  if (Math.abs(dy) < 0.7 * Math.hypot(dx, dy)) return words.level;
  return dy < 0 ? words.up : words.down;
}

function opening(ground: Ground, part: Part): string {
  const words = ground.wordsOf(part);
  return isProp(part) ? words : words.charAt(0).toUpperCase() + words.slice(1);
}

function frameWords(frames: number): string {
  return frames === 1 ? '1 frame' : `${frames} frames`;
}

function wayWords({ timing }: Ground, { sizePx }: Phase): string {
  return sizePx === null ? '' : sizeWords(sizePx, timing).replace(/\.0 /, ' ');
}

function percent(share: number | null): string {
  return share === null ? '' : `${Math.round(100 * share)} %`;
}
