import type { Leg, Legs } from './keyPath.ts';
import { landingsOf } from './limbTurns.ts';
import type { PoseSamples } from './poseSamples.ts';
import type { SampleSpan } from './stillness.ts';

/** The hips travel in a walk no slower than this, body heights per second: a third of a stroll of 0.7 m/s by somebody of 1.7 m. */
const leastSpeed = 0.14;
/** ... nor than this part of their fastest: where they fall behind it, the walk is coming to its end. */
const goingShare = 0.35;
/** Hips sway and bob within a step: their speed is taken over so much time to either side, seconds. */
const evenedSec = 0.15;
/** From its start to its end a walk goes at least so far, body heights; less is a step aside, which is a pose of its own. */
const leastWay = 0.4;
/** A slow step, seconds: 20 frames at 24 fps. */
const longestStepSec = 20 / 24;
/** Both feet land, and so often together. */
const leastLandings = 2;

/**
 * The spans in which the performer walks or runs somewhere: the hips go on and the feet land in turn. First and last sample
 * in which they do so fully, rising; the start from rest and the coming to rest lie outside. Empty when the hips are not known.
 * Somebody who walks straight towards the lens or on the spot does not travel in the picture and is not found.
 */
export function walksIn(samples: PoseSamples): SampleSpan[] {
  const hips = samples.joints.filter((j) => j.joint === 'leftHip' || j.joint === 'rightHip');
  if (hips.length < 2) return [];
  const last = samples.count - 1;
  const reach = Math.round(evenedSec / samples.stepSec);
  const at = (k: number, axis: 'x' | 'y') => hips.reduce((sum, h) => sum + (h[axis][k] ?? 0), 0) / hips.length;
  const way = (a: number, b: number) => Math.hypot(at(b, 'x') - at(a, 'x'), at(b, 'y') - at(a, 'y'));
  const speed = Float64Array.from({ length: samples.count }, (_, k) => {
    const [a, b] = [Math.max(0, k - reach), Math.min(last, k + reach)];
    return b > a ? way(a, b) / ((b - a) * samples.stepSec) : 0;
  });
  const walks: SampleSpan[] = [];
  for (let first = 0; first <= last; first++) {
    if ((speed[first] ?? 0) < leastSpeed) continue;
    let end = first;
    while (end < last && (speed[end + 1] ?? 0) >= leastSpeed) end++;
    const walk = fullyGoing(speed, first, end);
    const landings = landingsOf(samples, walk.first, walk.last);
    const feet = new Set(landings.map((l) => l.joint));
    if (way(walk.first, walk.last) >= leastWay && feet.size > 1 && landings.length >= leastLandings)
      walks.push(intoThePicture(samples, walk));
    first = end;
  }
  return walks;
}

function fullyGoing(speed: Float64Array, from: number, to: number): SampleSpan {
  let most = 0;
  for (let k = from; k <= to; k++) most = Math.max(most, speed[k] ?? 0);
  let [first, last] = [from, to];
  while (first < to && (speed[first] ?? 0) < goingShare * most) first++;
  while (last > first && (speed[last] ?? 0) < goingShare * most) last--;
  return { first, last };
}

/** Somebody who is in the picture only from a step of the walk on walked before that, too; and so for who walks out of it. */
function intoThePicture({ seenFrom, seenTo, stepSec, count }: PoseSamples, { first, last }: SampleSpan): SampleSpan {
  const step = longestStepSec / stepSec;
  return {
    first: seenFrom > 0 && first <= seenFrom + step ? 0 : first,
    last: seenTo < count - 1 && last >= seenTo - step ? count - 1 : last,
  };
}

/** Does the way from one sample to another go through a part of a walk? */
export function isWalked(walks: readonly SampleSpan[], from: number, to: number): boolean {
  return walks.some((w) => w.first < to && w.last > from);
}

/**
 * Legs that leave out what is walked on them: nobody plans a walk as a way from pose to pose, so what such a way would get
 * wrong there asks for no key.
 */
export function legsBesideWalks(legs: Legs, walks: readonly SampleSpan[]): Legs {
  if (walks.length === 0) return legs;
  return {
    leg(from, to): Leg {
      const whole = legs.leg(from, to);
      if (!isWalked(walks, from, to)) return whole;
      let cost = 0;
      let at = from;
      for (const w of walks) {
        if (w.first >= to || w.last <= from) continue;
        if (w.first > at) cost += legs.leg(at, w.first).cost;
        at = Math.min(to, w.last);
      }
      if (at < to) cost += legs.leg(at, to).cost;
      return { cost, squares: whole.squares, moves: whole.moves };
    },
  };
}
