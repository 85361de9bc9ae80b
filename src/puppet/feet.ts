import type { Joint } from '../base/joints.ts';
import type { JointPath, Motion } from '../track/motion.ts';
import type { Planted, Side } from './puppetMotion.ts';

/** On what a foot stands in a frame; null = it does not stand. */
export type Stand = Planted['on'] | null;

/** A foot begins to stand below the first of these speeds and lifts above the second; body heights per second. */
const standingSpeed = 0.1;
const liftingSpeed = 0.2;
/** A foot that stands this much higher in the picture than it mostly does is held in the air, body heights. */
const lifted = 0.08;
/** Where the ends of a stand are looked for: a foot belongs to it while it is this near its place, body heights, … */
const nearPlace = 0.012;
const stillNear = 0.006;
/** … up to this long before and after, seconds: a foot sets off softly. */
const softSec = 2.5 / 24;
/** A foot slides rather than stands where it goes this far, body heights, both before and after within so many seconds. */
const slid = 0.006;
const slideSec = 3.5 / 24;
/** Shorter stands are passing through, seconds. */
const leastSec = 3 / 24;
/** Between two stands of the same place lies this much at most, seconds: a detector wavers. */
const waverSec = 3 / 24;

/** What each foot stands on, frame by frame. Shape [frame]; null everywhere for a foot that was not seen. */
export type Stands = Readonly<Record<Side, readonly Stand[]>>;

/**
 * Finds when feet stand: an ankle that rests means a whole foot, else a resting toe or heel stands for the foot. Speed is
 * taken over the take's own time, so that a pose held in mid-air is no stand. A foot far above its usual ground does not stand,
 * however still it is held.
 * @param heightPx the performer's standing height.
 */
export function findStands(motion: Motion, heightPx: number): Stands {
  return { left: standsOf(motion, 'left', heightPx), right: standsOf(motion, 'right', heightPx) };
}

function standsOf(motion: Motion, side: Side, heightPx: number): Stand[] {
  const count = motion.timesSec.length;
  const spans = (joint: Joint) => {
    const path = motion.paths.get(joint);
    return path ? restsOf(path, motion.timesSec, heightPx) : new Uint8Array(count);
  };
  const [ankle, toe, heel] = [spans(`${side}Ankle`), spans(`${side}Toe`), spans(`${side}Heel`)];
  const stands = Array.from({ length: count }, (_, k): Stand => {
    if (ankle[k]) return 'foot';
    if (toe[k]) return 'toe';
    return heel[k] ? 'heel' : null;
  });
  return withoutFlicker(stands, motion.timesSec);
}

/** 1 where a part of a foot rests on the ground. Shape [frame]. */
function restsOf(path: JointPath, timesSec: Float64Array, heightPx: number): Uint8Array {
  const n = timesSec.length;
  const rests = new Uint8Array(n);
  const speed = Float64Array.from({ length: n }, (_, k) => speedAt(path, timesSec, k) / heightPx);
  const ground = groundOf(path);
  const isDown = (k: number) => path.yPx[k]! > ground - lifted * heightPx;
  let first = -1;
  const spans: [number, number][] = [];
  for (let k = 0; k <= n; k++) {
    const isSlow = k < n && speed[k]! < (first < 0 ? standingSpeed : liftingSpeed);
    const stays = isSlow && isDown(k) && !slides(path, timesSec, k, heightPx);
    if (stays && first < 0) first = k;
    if (!stays && first >= 0) {
      spans.push([first, k - 1]);
      first = -1;
    }
  }
  for (const [from, to] of joined(spans, path, timesSec, heightPx)) {
    const [a, b] = softEnds(from, to, path, timesSec, heightPx);
    const isWholeTake = a === 0 && b === n - 1;
    if (isWholeTake || lengthSec(timesSec, a, b) >= leastSec) rests.fill(1, a, b + 1);
  }
  return rests;
}

/** How far down in the picture it mostly is when it is down: of its lower half the middle. */
function groundOf({ yPx }: JointPath): number {
  const known = [...yPx].filter((y) => !Number.isNaN(y)).sort((a, b) => a - b);
  return known[Math.floor(0.75 * (known.length - 1))] ?? Number.NaN;
}

/** Speed over a frame to either side in the take's time; where time stands still, over what lies around it. Pixels per second. */
function speedAt({ xPx, yPx }: JointPath, timesSec: Float64Array, k: number): number {
  let [a, b] = [k, k];
  while (a > 0 && timesSec[k]! - timesSec[a]! < 1e-9) a--;
  while (b < timesSec.length - 1 && timesSec[b]! - timesSec[k]! < 1e-9) b++;
  const sec = timesSec[b]! - timesSec[a]!;
  return sec > 0 ? Math.hypot(xPx[b]! - xPx[a]!, yPx[b]! - yPx[a]!) / sec : 0;
}

/** Does a foot come from elsewhere and go on? At the ends of a stand only one of both is so. */
function slides(path: JointPath, timesSec: Float64Array, k: number, heightPx: number): boolean {
  let [a, b] = [k, k];
  while (a > 0 && timesSec[k]! - timesSec[a - 1]! <= slideSec) a--;
  while (b < timesSec.length - 1 && timesSec[b + 1]! - timesSec[k]! <= slideSec) b++;
  return Math.min(awayPx(path, a, k), awayPx(path, k, b)) > slid * heightPx;
}

/** Stands on one place with a waver between are one. */
function joined(
  spans: readonly [number, number][],
  path: JointPath,
  timesSec: Float64Array,
  heightPx: number,
): [number, number][] {
  const all: [number, number][] = [];
  for (const span of spans) {
    const before = all.at(-1);
    const gapSec = before ? timesSec[span[0]]! - timesSec[before[1]]! : Number.POSITIVE_INFINITY;
    if (before && gapSec <= waverSec && awayPx(path, before[1], span[0]) < nearPlace * heightPx) before[1] = span[1];
    else all.push([...span]);
  }
  return all;
}

/** A stand with the frames before and after in which the foot is still where it stood. */
function softEnds(
  first: number,
  last: number,
  path: JointPath,
  timesSec: Float64Array,
  heightPx: number,
): [number, number] {
  const near = stillNear * heightPx;
  let [a, b] = [first, last];
  while (a > 0 && timesSec[first]! - timesSec[a - 1]! <= softSec && awayPx(path, first, a - 1) < near) a--;
  const end = timesSec.length - 1;
  while (b < end && timesSec[b + 1]! - timesSec[last]! <= softSec && awayPx(path, last, b + 1) < near) b++;
  return [a, b];
}

function awayPx({ xPx, yPx }: JointPath, a: number, b: number): number {
  return Math.hypot(xPx[b]! - xPx[a]!, yPx[b]! - yPx[a]!);
}

function lengthSec(timesSec: Float64Array, first: number, last: number): number {
  const next = timesSec[last + 1] ?? timesSec[last]! + (timesSec[last]! - (timesSec[last - 1] ?? timesSec[last]!));
  return next - timesSec[first]!;
}

/** What lasts for a single frame between two like ones is none of its own. */
function withoutFlicker(stands: readonly Stand[], timesSec: Float64Array): Stand[] {
  const smooth = [...stands];
  for (let k = 1; k + 1 < smooth.length; k++) {
    const isShort = timesSec[k + 1]! - timesSec[k - 1]! < 2.5 / 24;
    if (isShort && smooth[k - 1] === smooth[k + 1] && smooth[k] !== smooth[k - 1]) smooth[k] = smooth[k - 1]!;
  }
  return smooth;
}
