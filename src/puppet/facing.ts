import type { PuppetJoint, PuppetMotion } from './puppetMotion.ts';

/** How the body is seen: which of a joint's limits can be told from the picture. */
export type View = 'front' | 'back' | 'side' | 'threeQuarter';

/** How a line of the body (shoulders or hips) is seen in one frame. */
export interface Facing {
  readonly view: View;
  /** Where the performer faces: 1 = right in the picture, −1 = left, 0 = not sure. */
  readonly toward: -1 | 0 | 1;
  /** The trunk's up and, a quarter turn clockwise from it, right; of length 1 in the picture. */
  readonly up: readonly [number, number];
  readonly right: readonly [number, number];
}

/** Apparent over true width: above the first the body faces the lens or away (within 37°), below the second it is seen from the side (within 20°). */
const frontShare = 0.8;
const sideShare = 0.35;
/** A trunk that points this much out of the picture tells no direction. */
const leastTrunk = 0.5;
/** Nose and toes must point to a side this far on average, of what they do in a side view, and none this far to the other. */
const sureToward = 0.4;
const against = 0.2;
/** How far the nose lies before the ears, head heights: 0.060 and 0.130 of standing height, our own reading of drawings. */
const noseAhead = 0.46;

/** The place of a joint in a frame, NaN where it is not known. */
export function placeOf({ paths }: PuppetMotion, joint: PuppetJoint, k: number): readonly [number, number] {
  const path = paths.get(joint);
  return path ? [path.xMm[k]!, path.yMm[k]!] : [Number.NaN, Number.NaN];
}

/** How shoulders or hips are seen in a frame; null = not known, or the trunk points at the lens. */
export function facingOf(motion: PuppetMotion, line: 'Shoulder' | 'Hip', k: number): Facing | null {
  const { sizes } = motion.profile;
  const [neck, pelvis] = [placeOf(motion, 'neck', k), placeOf(motion, 'pelvis', k)];
  const long = Math.hypot(neck[0] - pelvis[0], neck[1] - pelvis[1]);
  if (!(long > leastTrunk * sizes.trunkMm)) return null;
  const up: [number, number] = [(neck[0] - pelvis[0]) / long, (neck[1] - pelvis[1]) / long];
  const right: [number, number] = [up[1], -up[0]];
  const across = (from: PuppetJoint, to: PuppetJoint) => {
    const [a, b] = [placeOf(motion, from, k), placeOf(motion, to, k)];
    return (b[0] - a[0]) * right[0] + (b[1] - a[1]) * right[1];
  };
  const wide = across(`right${line}`, `left${line}`) / (line === 'Hip' ? sizes.hipsMm : sizes.shouldersMm);
  if (Number.isNaN(wide)) return null;
  const votes = [
    (across('leftEar', 'nose') + across('rightEar', 'nose')) / 2 / (noseAhead * sizes.headMm),
    across('leftHeel', 'leftToe') / sizes.footMm,
    across('rightHeel', 'rightToe') / sizes.footMm,
  ].filter((vote) => !Number.isNaN(vote));
  const mean = votes.reduce((sum, vote) => sum + vote, 0) / Math.max(1, votes.length);
  const sign = Math.sign(mean) as -1 | 0 | 1;
  const isSure = Math.abs(mean) > sureToward && votes.every((vote) => vote * sign > -against);
  const toward = isSure ? sign : 0;
  const view =
    Math.abs(wide) > frontShare
      ? wide > 0
        ? 'front'
        : 'back'
      : Math.abs(wide) < sideShare && toward !== 0
        ? 'side'
        : 'threeQuarter';
  return { view, toward, up, right };
}
