import { isProp, type Joint, type Part } from '../base/joints.ts';
import { finish, type Steps } from '../base/steps.ts';
import { type JointPath, type Motion, stepSdOf, type Tracks } from '../track/motion.ts';
import { median } from '../track/quantile.ts';

/**
 * The performer sampled evenly and finely, for finding keys and holds before anything is snapped to frames. Positions are in
 * body heights, columns have shape [sample].
 */
export interface PoseSamples {
  readonly startSec: number;
  readonly stepSec: number;
  readonly count: number;
  /** The performer's joints; the marked points where no joint is known. */
  readonly joints: readonly SampledJoint[];
  /** Nobody is known: the marked points tell the story. */
  readonly ofPoints: boolean;
  /** Directions of the limbs, and the place of the hips: what turns or goes by itself, whoever carries it. */
  readonly limbs: readonly SampledPath[];
  /** How much the tracks smear movement in time, sd in samples: 0 for exact tracks. */
  readonly blur: number;
  /** The first and the last sample at which half of the joints or more were seen rather than guessed. */
  readonly seenFrom: number;
  readonly seenTo: number;
}

/** A place that moves: a joint, or the far end of a limb as seen from its near end. */
export interface SampledPath {
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** How far it wanders by error from moment to moment, sd along one axis, body heights; see `wanderOf`. */
  readonly sd: Float64Array;
}

/** One joint (or marked point) of `PoseSamples`. */
export interface SampledJoint extends SampledPath {
  readonly joint: Part;
  /** How much the joint counts in a pose: 1 for a part that an animator sets on its own, less for one that rides along. */
  readonly weight: number;
}

/**
 * Two samples per frame at 24 fps. Tracks are continuous in time, so this need not be the take's own rate; finer gains
 * nothing, since no joint's track carries movement faster than about 10 Hz.
 */
const samplesPerSec = 48;

/**
 * Smoothing that keeps a detector's errors out of the tracks also smears movement: joints of 15 authored moves came out as if
 * blurred by 22 ms (sd, median; tracks fitted to a detector's sightings against the true places, 30 and 60 pictures a second).
 */
const trackBlurSec = 0.022;
/** ... and by so much where flow has followed the joints: the ends of authored holds came out best with it. */
const followedBlurSec = 0.008;
/** Flow has followed the joints where they are this sure of their steps from sample to sample, median, body heights. */
const followedStepSd = 0.0008;
/** Tracks that claim less than this, body heights, did not come from a detector and are not smoothed. */
const exactSd = 0.002;

/** Eyes and ears ride on the head, which the nose already stands for. */
const ridesAlong: ReadonlySet<Part> = new Set(['leftEye', 'rightEye', 'leftEar', 'rightEar']);
/** Joints that follow from others tell nothing new. */
const constructed: ReadonlySet<Joint> = new Set(['chin', 'neck', 'chest', 'pelvis']);

/** The samples taken last of each tracks: most edits leave tracks and trim as they are, and asking tracks is what takes long. */
const lastSamples = new WeakMap<Tracks, { startSec: number; endSec: number; samples: PoseSamples }>();

/**
 * Samples every joint that is known throughout the span; constructed joints only where no detected one is, and marked points only
 * where no joint is: those stay where they are known first or last, and go straight over what is not known. Spans shorter than two samples give at least one sample. Asked again of the same tracks it hands back the same object: nobody writes into it.
 */
export function samplePoses(tracks: Tracks, startSec: number, endSec: number): PoseSamples {
  return finish(sampleSteps(tracks, startSec, endSec));
}

/** The same, in steps. */
export function* sampleSteps(tracks: Tracks, startSec: number, endSec: number): Steps<PoseSamples> {
  const last = lastSamples.get(tracks);
  if (last && last.startSec === startSec && last.endSec === endSec) return last.samples;
  const samples = yield* sampleAnew(tracks, startSec, endSec);
  lastSamples.set(tracks, { startSec, endSec, samples });
  return samples;
}

function* sampleAnew(tracks: Tracks, startSec: number, endSec: number): Steps<PoseSamples> {
  const stepSec = 1 / samplesPerSec;
  const count = Math.max(1, Math.floor((endSec - startSec) / stepSec + 1e-9) + 1);
  const motion = tracks.at(Float64Array.from({ length: count }, (_, i) => startSec + i * stepSec));
  const detected = tracks.joints.filter((j) => !constructed.has(j));
  const used = detected.length > 0 ? detected : tracks.joints;
  const scale = 1 / tracks.bodyHeightPx;
  const joints: SampledJoint[] = [];
  for (const joint of used) {
    yield;
    const path = motion.paths.get(joint);
    if (path === undefined || path.xPx.some(Number.isNaN) || path.yPx.some(Number.isNaN)) continue;
    joints.push(sampled(joint, path));
  }
  const ofPoints = joints.length === 0;
  if (ofPoints)
    for (const [part, path] of motion.paths) {
      yield;
      const known = isProp(part) ? filledIn(path) : null;
      if (known) joints.push(sampled(part, known));
    }
  yield;
  const blur = blurSecOf(motion, scale) / stepSec;
  return { startSec, stepSec, count, joints, ofPoints, limbs: limbsOf(joints), blur, ...seenIn(motion, joints) };

  function sampled(joint: Part, path: Places): SampledJoint {
    const x = path.xPx.map((v) => v * scale);
    const y = path.yPx.map((v) => v * scale);
    const sd = path.sdPx.map((v) => (Number.isFinite(v) ? v * scale : 0));
    const weight = ridesAlong.has(joint) ? 0.25 : 1;
    return { joint, x, y, sd: wanderOf(x, y, sd, stepSec), weight };
  }
}

type Places = Pick<JointPath, 'xPx' | 'yPx' | 'sdPx'>;

/** The path without unknown places: held before the first and after the last, straight between. Null where none is known. */
function filledIn({ xPx, yPx, sdPx }: Places): Places | null {
  const known = [...xPx.keys()].filter((k) => !Number.isNaN(xPx[k]! + yPx[k]!));
  const [first, last] = [known[0], known.at(-1)];
  if (first === undefined || last === undefined) return null;
  if (known.length === xPx.length) return { xPx, yPx, sdPx };
  let next = 0;
  const between = Array.from(xPx, (_, k): readonly [number, number, number] => {
    while (next < known.length - 1 && known[next]! < k) next++;
    const [a, b] = [known[Math.max(0, next - 1)]!, known[next]!];
    return k <= first ? [first, first, 0] : k >= last ? [last, last, 0] : [a, b, (k - a) / (b - a)];
  });
  const fill = (of: Float64Array) => Float64Array.from(between, ([a, b, u]) => of[a]! + u * (of[b]! - of[a]!));
  return { xPx: fill(xPx), yPx: fill(yPx), sdPx: fill(sdPx) };
}

/** When the performer comes into the picture and when they leave it: the whole span where they are seen throughout. */
function seenIn(motion: Motion, joints: readonly SampledJoint[]): Pick<PoseSamples, 'seenFrom' | 'seenTo'> {
  const last = motion.timesSec.length - 1;
  const isSeen = (k: number) => {
    const unseen = joints.filter(({ joint }) => {
      const path = motion.paths.get(joint);
      return path?.guessed[k] || Number.isNaN(path?.xPx[k]);
    });
    return 2 * unseen.length <= joints.length;
  };
  let [from, to] = [0, last];
  while (from < last && !isSeen(from)) from++;
  while (to > from && !isSeen(to)) to--;
  return from < to ? { seenFrom: from, seenTo: to } : { seenFrom: 0, seenTo: last };
}

/** How much the tracks' own smoothing smears movement, seconds (sd). */
function blurSecOf(motion: Motion, scale: number): number {
  const count = motion.timesSec.length;
  const middle = count >> 1;
  const places = [...motion.paths.values()].map((path) => (path.sdPx[middle] ?? 0) * scale);
  if (median(places) <= exactSd) return 0;
  const steps = [...motion.paths.keys()].flatMap((joint) =>
    // Several moments: a single one may be a blurred one.
    [1, 2, 3, 4, 5, 6, 7].map((k) => {
      const i = Math.floor((k * (count - 2)) / 8);
      return stepSdOf(motion, joint, i, i + 1) * scale;
    }),
  );
  return count > 8 && median(steps.filter(Number.isFinite)) < followedStepSd ? followedBlurSec : trackBlurSec;
}

/** When a sample (or a place between two) is, take seconds. */
export function sampleSec(samples: PoseSamples, index: number): number {
  return samples.startSec + index * samples.stepSec;
}

const limbEnds: readonly (readonly [Joint, Joint])[] = [
  ['leftShoulder', 'leftElbow'],
  ['leftElbow', 'leftWrist'],
  ['rightShoulder', 'rightElbow'],
  ['rightElbow', 'rightWrist'],
  ['leftWrist', 'leftHand'],
  ['rightWrist', 'rightHand'],
  ['leftHip', 'leftKnee'],
  ['leftKnee', 'leftAnkle'],
  ['rightHip', 'rightKnee'],
  ['rightKnee', 'rightAnkle'],
  ['leftHip', 'leftShoulder'],
  ['rightHip', 'rightShoulder'],
  ['leftShoulder', 'nose'],
  ['rightShoulder', 'nose'],
];

function limbsOf(joints: readonly SampledJoint[]): SampledPath[] {
  const find = (joint: Joint) => joints.find((j) => j.joint === joint);
  const limbs: SampledPath[] = [];
  for (const [near, far] of limbEnds) {
    const from = find(near);
    const to = find(far);
    if (!from || !to) continue;
    limbs.push({
      x: to.x.map((v, k) => v - (from.x[k] ?? 0)),
      y: to.y.map((v, k) => v - (from.y[k] ?? 0)),
      sd: to.sd.map((v, k) => Math.hypot(v, from.sd[k] ?? 0)),
    });
  }
  // Without limbs the joints themselves must do; with them, the hips tell how the whole body goes.
  const roots = joints.filter((j) => j.joint === 'leftHip' || j.joint === 'rightHip');
  return limbs.length > 0 ? [...limbs, ...roots] : [...joints];
}

/** Wander is looked for over this long: long enough for errors to change, short against a move. */
const wanderSec = 0.083;
/** This part of the moments is taken as free of movement; its largest bend is then `quietBend` standard deviations of the bend. */
const quietShare = 0.3;
const quietBend = 0.845;
/** A bend x(t−τ) − 2x(t) + x(t+τ) of errors that stay alike for 0.1 to 0.2 s has about this many times their sd. */
const bendPerSd = 1.2;

/**
 * How far errors make a joint wander from moment to moment, sd along one axis, in the unit of x and y. The tracks' own
 * standard deviation also holds what is wrong the same way throughout, which moves nothing; so the path itself is asked how
 * much it bends in its quietest moments (30 % quantile of a Rayleigh distribution), and the tracks' standard deviation, which
 * this never exceeds, says how that changes over the take.
 */
export function wanderOf(x: Float64Array, y: Float64Array, sd: Float64Array, stepSec: number): Float64Array {
  const reach = Math.max(1, Math.round(wanderSec / stepSec));
  const count = x.length - 2 * reach;
  if (count < 10) return sd;
  const bends = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const bx = (x[i] ?? 0) - 2 * (x[i + reach] ?? 0) + (x[i + 2 * reach] ?? 0);
    const by = (y[i] ?? 0) - 2 * (y[i + reach] ?? 0) + (y[i + 2 * reach] ?? 0);
    bends[i] = Math.sqrt(bx * bx + by * by);
  }
  const quiet = nthSmallest(bends, Math.floor(quietShare * count)) / quietBend / bendPerSd;
  const usual = nthSmallest(Float64Array.from(sd), sd.length >> 1);
  return sd.map((v) => Math.min(v, usual > 0 ? (quiet * v) / usual : v));
}

/** The value that would stand at place `n`, were the values sorted (quickselect, Hoare 1961); they are put in another order. */
function nthSmallest(values: Float64Array, n: number): number {
  let low = 0;
  let high = values.length - 1;
  while (low < high) {
    const pivot = values[(low + high) >> 1] ?? 0;
    let i = low;
    let j = high;
    while (i <= j) {
      while ((values[i] ?? 0) < pivot) i++;
      while ((values[j] ?? 0) > pivot) j--;
      if (i > j) break;
      const swap = values[i] ?? 0;
      values[i++] = values[j] ?? 0;
      values[j--] = swap;
    }
    if (n <= j) high = j;
    else if (n >= i) low = i;
    else break;
  }
  return values[n] ?? 0;
}
