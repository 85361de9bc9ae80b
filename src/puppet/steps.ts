import type { Part } from '../base/joints.ts';
import type { JointPath, Motion } from '../track/motion.ts';
import type { Stand, Stands } from './feet.ts';
import { soft } from './pieces.ts';
import type { FrameRun, Side } from './puppetMotion.ts';
import { withStrides } from './strides.ts';

/** A stretch of walking, from one landing to another. */
export interface Walk extends FrameRun {
  /** Steps that the performer takes in it. */
  readonly steps: number;
  /** Steps that legs of the puppet's length need for the same ground, one side after the other as the performer ends. */
  readonly stepsForGround: number;
  /** How far the performer goes, at the scale of the standing height, millimetres. */
  readonly groundMm: number;
  /** How far one step goes on the puppet's own legs, millimetres. */
  readonly stepMm: number;
}

interface Landing {
  readonly frame: number;
  readonly side: Side;
}

/** Landings further apart than this are not one walk, seconds; nor nearer than the other. */
const longestStepSec = 1.5;
const shortestStepSec = 0.15;
/** A step goes at least this far, body heights: shifting from foot to foot is no walk. */
const leastStep = 0.12;
/** Fewer steps are a step or two, not a walk. */
const leastSteps = 2;

/**
 * Walks of a motion, rising: feet that land one after the other while the hips go on.
 * @param legRatio the puppet's legs over the performer's at the scale of the standing height: 0.6 = short legs.
 * @param mmPerPx by standing height.
 */
export function findWalks(
  motion: Motion,
  stands: Stands,
  heightPx: number,
  fps: number,
  legRatio: number,
  mmPerPx: number,
): Walk[] {
  const pelvis = motion.paths.get('pelvis');
  if (!pelvis || !(legRatio > 0)) return [];
  return walksOf(motion, stands, heightPx, fps).map((landings) => {
    const [first, last] = [landings[0]!, landings.at(-1)!];
    const steps = landings.length - 1;
    const groundMm =
      Math.hypot(
        pelvis.xPx[last.frame]! - pelvis.xPx[first.frame]!,
        pelvis.yPx[last.frame]! - pelvis.yPx[first.frame]!,
      ) * mmPerPx;
    return {
      firstFrame: first.frame,
      frames: last.frame - first.frame,
      steps,
      stepsForGround: sameParity(steps / legRatio, steps),
      groundMm,
      stepMm: (groundMm / steps) * legRatio,
    };
  });
}

/** The number nearest to `wanted` that is odd or even as `like` is, at least 1. */
function sameParity(wanted: number, like: number): number {
  const parity = like % 2;
  return Math.max(parity === 1 ? 1 : 2, 2 * Math.round((wanted - parity) / 2) + parity);
}

function walksOf(motion: Motion, stands: Stands, heightPx: number, fps: number): Landing[][] {
  const landings = (['left', 'right'] as const)
    .flatMap((side) =>
      stands[side].flatMap((on, k): Landing[] =>
        k > 0 && on !== null && stands[side][k - 1] === null ? [{ frame: k, side }] : [],
      ),
    )
    .sort((a, b) => a.frame - b.frame);
  const walks: Landing[][] = [];
  for (const landing of landings) {
    const walk = walks.at(-1);
    const before = walk?.at(-1);
    const sec = before ? (landing.frame - before.frame) / fps : Number.POSITIVE_INFINITY;
    const isStep =
      before &&
      before.side !== landing.side &&
      sec >= shortestStepSec &&
      sec <= longestStepSec &&
      goes(motion, before.frame, landing.frame) >= leastStep * heightPx;
    if (walk && isStep) walk.push(landing);
    else walks.push([landing]);
  }
  return walks.filter((walk) => walk.length > leastSteps);
}

function goes({ paths }: Motion, from: number, to: number): number {
  const pelvis = paths.get('pelvis');
  return pelvis ? Math.hypot(pelvis.xPx[to]! - pelvis.xPx[from]!, pelvis.yPx[to]! - pelvis.yPx[from]!) : 0;
}

/** Motion with other steps, and what feet stand on in it. */
export interface Restepped {
  readonly motion: Motion;
  readonly stands: Stands;
}

/**
 * The same walks in the same frames, with as many steps as the puppet's legs need for the same ground: each is the performer's step of the
 * same side nearest in time, quicker or slower; where one follows another that did not follow it in the take, the pose is led over.
 * What a whole number of steps leaves short of the ground or beyond it is made up by longer or shorter strides. Frames outside the walks
 * keep their poses, further along.
 * @param strides by how much the strides of each walk are to be longer than that; empty = as it comes.
 */
export function withStepsForGround(
  motion: Motion,
  stands: Stands,
  heightPx: number,
  fps: number,
  legRatio: number,
  strides: readonly number[],
): Restepped {
  let so: Restepped = { motion, stands };
  const walks = walksOf(motion, stands, heightPx, fps);
  // From the last to the first: a walk moves all that follows it.
  for (let i = walks.length - 1; i >= 0; i--) {
    const landings = walks[i]!;
    const given = landings.length - 1;
    const stepped = restep(so, landings, sameParity(given / legRatio, given));
    const [firstFrame, lastFrame] = [landings[0]!.frame, landings.at(-1)!.frame];
    const way = ({ motion: { paths } }: Restepped) => {
      const { xPx } = paths.get('pelvis')!;
      return xPx[lastFrame]! - xPx[firstFrame]!;
    };
    const longer = way(so) / legRatio / way(stepped);
    const walk = { firstFrame, frames: lastFrame - firstFrame };
    // Toward the lens and away there is no way along the picture to be made up.
    const by = Number.isFinite(longer) && longer > 0 ? longer * (strides[i] ?? 1) : 1;
    so = { motion: withStrides(stepped.motion, walk, by), stands: stepped.stands };
  }
  return so;
}

/** How long a pose is led over to the next step's, share of a step; and after the walk, frames. */
const leadShare = 0.6;
const leadFrames = 8;

function restep({ motion, stands }: Restepped, landings: readonly Landing[], wanted: number): Restepped {
  const given = landings.length - 1;
  if (wanted === given) return { motion, stands };
  const n = motion.timesSec.length;
  const [first, last] = [landings[0]!.frame, landings.at(-1)!.frame];
  const stepOf = (j: number) => sourceStep(j, wanted, given);
  /** For each frame: where in the motion it is taken from, and into which step it falls (`wanted` = after the walk). */
  const from = Float64Array.from({ length: n }, (_, k) => k);
  const into = new Int32Array(n).fill(-1);
  for (let k = first; k < n; k++) {
    into[k] = wanted;
    if (k >= last) continue;
    const w = ((k - first) / (last - first)) * wanted;
    const j = Math.min(wanted - 1, Math.floor(w + 1e-9));
    const i = stepOf(j);
    into[k] = j;
    from[k] = landings[i]!.frame + (w - j) * (landings[i + 1]!.frame - landings[i]!.frame);
  }
  const ends = Array.from({ length: wanted + 1 }, (_, j) => (j === wanted ? last : landings[stepOf(j)]!.frame));
  const pelvis = motion.paths.get('pelvis')!;
  const shifts = (of: 'xPx' | 'yPx'): number[] => {
    const all = [0];
    for (let j = 1; j <= wanted; j++)
      all.push(all[j - 1]! + pelvis[of][landings[stepOf(j - 1) + 1]!.frame]! - pelvis[of][ends[j]!]!);
    return all;
  };
  const [shiftX, shiftY] = [shifts('xPx'), shifts('yPx')];
  const led = (k: number): number => {
    const j = into[k]!;
    if (j < 1) return 0;
    if (j === wanted) return 1 - soft((k - last) / leadFrames);
    const share = (((k - first) / (last - first)) * wanted - j) / leadShare;
    return 1 - soft(share);
  };
  const paths = new Map<Part, JointPath>();
  for (const [part, path] of motion.paths) {
    const column = (of: 'xPx' | 'yPx', shift: readonly number[]) => {
      const values = path[of];
      return Float64Array.from({ length: n }, (_, k) => {
        const j = into[k]!;
        const own = between(values, from[k]!) + (j < 0 ? 0 : shift[j]!);
        if (j < 1) return own;
        // What the step before left the part at, beside where this one begins.
        const left = values[landings[stepOf(j - 1) + 1]!.frame]! + shift[j - 1]! - (values[ends[j]!]! + shift[j]!);
        return own + led(k) * left;
      });
    };
    paths.set(part, {
      ...path,
      xPx: column('xPx', shiftX),
      yPx: column('yPx', shiftY),
      sdPx: Float64Array.from(from, (k) => between(path.sdPx, k)),
      guessed: Uint8Array.from(from, (k) => path.guessed[Math.round(k)]!),
    });
  }
  const moved = (side: Side): Stand[] => Array.from(from, (k) => stands[side][Math.floor(k + 1e-6)] ?? null);
  return { motion: { ...motion, paths }, stands: { left: moved('left'), right: moved('right') } };
}

/** The performer's step that is taken for the puppet's step `j`: the one of the same side that is nearest in time. */
function sourceStep(j: number, wanted: number, given: number): number {
  const middle = ((j + 0.5) * given) / wanted - 0.5;
  const parity = j % 2;
  const i = 2 * Math.round((middle - parity) / 2) + parity;
  const most = given - 1 - ((given - 1 - parity) % 2 === 0 ? 0 : 1);
  return Math.max(parity, Math.min(most, i));
}

/** A column between two of its entries. */
function between(values: ArrayLike<number>, at: number): number {
  const low = Math.floor(at);
  const share = at - low;
  return share === 0 ? values[low]! : values[low]! + share * (values[low + 1]! - values[low]!);
}

/** A walk in a sentence: what the puppet's legs make of it, and what the same ground would take. */
export function walkWords(walk: Walk, legRatio: number, isSameGround: boolean): string {
  const { firstFrame, frames, steps, stepsForGround, stepMm } = walk;
  const where = `frames ${firstFrame + 1} to ${firstFrame + frames + 1}`;
  const shorter = `${steps} steps of ${Math.round(stepMm)} mm, ${(frames / steps).toFixed(1)} frames each`;
  const more = `${stepsForGround} steps, ${(frames / stepsForGround).toFixed(1)} frames each`;
  if (steps === stepsForGround) return `Walks in ${where}: ${shorter}. The same ground takes as many.`;
  return isSameGround
    ? `Walks in ${where} over the same ground: ${more}, where the performer takes ${steps}. Its legs are ${legRatio.toFixed(2)} of the performer’s.`
    : `Walks in ${where}: ${shorter}. Its legs are ${legRatio.toFixed(2)} of the performer’s: the same ground would take ${more}.`;
}
