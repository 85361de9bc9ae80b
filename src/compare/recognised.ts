import { type Joint, jointWords } from '../base/joints.ts';
import { carriedBy, type Throughout } from './build.ts';
import type { Off } from './deviations.ts';
import { judgedJoints } from './offRuns.ts';
import type { ShotPictures } from './shot.ts';

/** A detector that is less sure than this of a puppet's joint may see it anywhere along the limb. */
const sureConfidence = 0.4;
/** More pictures than this share must be surer. */
const unsureShare = 1 / 3;
/** A joint that lies elsewhere in all of the shot by this share of the height is now found there, now at its place. */
export const elsewhereShare = 0.05;

/** Joints that a detector is unsure of in much of the shot. Joints marked by hand are not among them. */
export function hardlySeen({ motion, marked }: ShotPictures): ReadonlySet<Joint> {
  const isHardly = (joint: Joint) => {
    const confidence = motion.paths.get(joint)?.confidence.filter(Number.isFinite).sort();
    return confidence && confidence[Math.floor(unsureShare * confidence.length)]! < sureConfidence;
  };
  return new Set(judgedJoints.filter((joint) => !(marked?.has(joint) ?? true) && isHardly(joint)));
}

/**
 * Joints of which a detector does not know where they are, though it may follow them: those it is unsure of in much of the shot, or finds
 * elsewhere than planned in all of it, and what hangs on them. Joints marked by hand are not among them.
 */
export function unsureJoints(
  shot: ShotPictures,
  throughout: readonly Throughout[],
  sizeMm: number,
): ReadonlySet<Joint> {
  const isMarked = (joint: Joint) => shot.marked?.has(joint) ?? true;
  const unsure = new Set(hardlySeen(shot));
  for (const { joint, sizeMm: size, sdMm } of throughout)
    if (judgedJoints.includes(joint) && !isMarked(joint) && size > elsewhereShare * sizeMm && size > 4 * sdMm)
      unsure.add(joint);
  for (const joint of judgedJoints) {
    const carrier = carriedBy(joint);
    if (carrier && unsure.has(carrier) && !isMarked(joint)) unsure.add(joint);
  }
  return unsure;
}

/** Says which joints are hardly recognised; "" for none. */
export function unsureSentence(unsure: readonly Joint[]): string {
  if (unsure.length === 0) return '';
  return `Hardly recognised, and so judged only by what they do from one picture to the next: ${unsure.map(jointWords).join(', ')}.`;
}

/** A step that errs by more than this share of the height was not followed: 1.5 mm of 250. */
const followedShare = 0.006;

/** Of joints whose places are not known: only what they do from one picture to the next, where that was followed. */
export function withoutPlaces(
  offs: ReadonlyMap<Joint, Off>,
  unsure: ReadonlySet<Joint>,
  sizeMm: number,
): ReadonlyMap<Joint, Off> {
  return new Map(
    [...offs].map(([joint, off]) => {
      if (!unsure.has(joint)) return [joint, off];
      const sd = off.sd.map(() => Number.POSITIVE_INFINITY);
      const quick = off.quick.map((q) => (off.stepSd && q < followedShare * sizeMm ? q : Number.POSITIVE_INFINITY));
      return [joint, { ...off, sd, quick }];
    }),
  );
}
