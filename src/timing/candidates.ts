import type { PoseSamples } from './poseSamples.ts';
import { runsBelow, type SampleSpan, type Speeds } from './stillness.ts';

/** Poses that could be keys, as sample indices, rising, first and last sample included; and the spans in which all is still. */
export interface Candidates {
  readonly at: readonly number[];
  readonly stills: readonly SampleSpan[];
}

/** A slowing of the body counts as a turn when its speed falls below this part of the lower of the peaks around it. */
const slowing = 0.85;
/** Candidates nearer than this are one: 2 frames at 24 fps. */
const nearestSec = 2 / 24;
/** Still spans shorter than this are turns. */
const shortestStillSec = 3 / 24;

/**
 * Finds where the body turns or stops: the start of each still span, every slowing of the whole body, and the first and last
 * pose. Inside a still span nothing else is a candidate, since a held pose is one key.
 * @param stillLimit speed up to which a joint counts as still, body heights per second.
 * @param strayLimit how far a joint may go and still be in the same hold, body heights.
 */
export function findCandidates(
  samples: PoseSamples,
  speeds: Speeds,
  stillLimit: number,
  strayLimit: number,
): Candidates {
  const runs = runsBelow(speeds.surest, stillLimit);
  const stills = joinStills(samples, runs, strayLimit).filter(
    (r) => (r.last - r.first) * samples.stepSec >= shortestStillSec,
  );
  const found = new Set<number>([0, samples.count - 1]);
  for (const still of stills) found.add(still.first);
  for (const at of slowings(speeds.body)) found.add(at);
  const rising = [...found].filter((k) => !stills.some((s) => k > s.first && k <= s.last)).sort((a, b) => a - b);
  const stillStarts = new Set(stills.map((s) => s.first));
  const gap = nearestSec / samples.stepSec;
  const at: number[] = [];
  for (const k of rising) {
    const before = at.at(-1);
    if (before !== undefined && k - before < gap) {
      if (stillStarts.has(k) && before !== 0) at[at.length - 1] = k;
      continue;
    }
    at.push(k);
  }
  const last = samples.count - 1;
  const heldToTheEnd = stills.some((s) => s.last >= last);
  if (!heldToTheEnd && at.at(-1) !== last && last > 0) {
    if (at.length > 1 && last - (at.at(-1) ?? 0) < gap) at.pop();
    at.push(last);
  }
  return { at, stills };
}

/** A hold in which the body (or the detector) wavers for less than this stays one hold. */
const longestWaverSec = 0.6;
const endWaverSec = 0.25;

/** Joins still spans between and over which no joint leaves its place by more than `limit` beyond its noise. */
function joinStills(samples: PoseSamples, spans: readonly SampleSpan[], limit: number): SampleSpan[] {
  const joined: SampleSpan[] = [];
  for (const span of spans) {
    const before = joined.at(-1);
    const whole = before && { first: before.first, last: span.last };
    const near = before && (span.first - before.last) * samples.stepSec <= longestWaverSec;
    if (whole && near && straysAtMost(samples, whole, limit)) joined[joined.length - 1] = whole;
    else joined.push(span);
  }
  // Tracks are least sure at the ends of the take: a waver there is no move either.
  const reach = endWaverSec / samples.stepSec;
  const end = samples.count - 1;
  return joined.map(({ first, last }) => {
    const toStart = { first: 0, last };
    if (first > 0 && first <= reach && straysAtMost(samples, toStart, limit)) first = 0;
    const toEnd = { first, last: end };
    if (last < end && end - last <= reach && straysAtMost(samples, toEnd, limit)) last = end;
    return { first, last };
  });
}

function straysAtMost(samples: PoseSamples, span: SampleSpan, limit: number): boolean {
  const middle = (span.first + span.last) >> 1;
  return samples.joints.every(({ x, y, sd }) => {
    for (let k = span.first; k <= span.last; k++) {
      const away = Math.hypot((x[k] ?? 0) - (x[middle] ?? 0), (y[k] ?? 0) - (y[middle] ?? 0));
      if (away > limit + 3 * (sd[k] ?? 0)) return false;
    }
    return true;
  });
}

function slowings(speed: Float64Array): number[] {
  const found: number[] = [];
  for (let k = 1; k + 1 < speed.length; k++) {
    const here = speed[k] ?? 0;
    if ((speed[k - 1] ?? 0) < here || (speed[k + 1] ?? 0) <= here) continue;
    // Topographic prominence: how far one must climb on either side before going lower.
    let left = here;
    for (let i = k - 1; i >= 0 && (speed[i] ?? 0) >= here; i--) left = Math.max(left, speed[i] ?? 0);
    let right = here;
    for (let i = k + 1; i < speed.length && (speed[i] ?? 0) >= here; i++) right = Math.max(right, speed[i] ?? 0);
    if (here < slowing * Math.min(left, right)) found.push(k);
  }
  return found;
}
