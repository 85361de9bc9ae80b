import type { constructedJoints, DetectedJoint, Joint } from '../base/joints.ts';
import type { JointPath } from './motion.ts';

/**
 * A joint that no detector reports, as a fixed mixture of joints that it does (weights add up to 1, so that moving the
 * picture moves it along).
 */
interface Construction {
  readonly joint: (typeof constructedJoints)[number];
  readonly parts: readonly (readonly [DetectedJoint, number])[];
  /** How far the mixture may lie from the real place because bodies differ, sd, share of standing height. */
  readonly bodySd: number;
}

/**
 * neck = middle of the shoulders; pelvis = middle of the hips; chest = a third of the way from neck to pelvis.
 *
 * chin: it lies in the head's middle plane, which the middle of the ears E, the middle of the eyes Y and the nose N span,
 * and a plane keeps its mixtures however the head turns: chin = E + 2.35 (N − E) − 1.91 (Y − E). The two numbers follow
 * from a side view, in shares of standing height from the ear, forward and down: nose (0.060, 0.005), eyes (0.050,
 * −0.020), chin (0.045, 0.050); these are our own reading of head proportions (head height 0.130, Drillis & Contini), so
 * the chin is stated wide: sd 1 % of the height on top of what the large weights make of the three errors.
 */
const constructions: readonly Construction[] = [
  {
    joint: 'neck',
    parts: [
      ['leftShoulder', 0.5],
      ['rightShoulder', 0.5],
    ],
    bodySd: 0,
  },
  {
    joint: 'pelvis',
    parts: [
      ['leftHip', 0.5],
      ['rightHip', 0.5],
    ],
    bodySd: 0,
  },
  {
    joint: 'chest',
    parts: [
      ['leftShoulder', 1 / 3],
      ['rightShoulder', 1 / 3],
      ['leftHip', 1 / 6],
      ['rightHip', 1 / 6],
    ],
    bodySd: 0,
  },
  {
    joint: 'chin',
    parts: [
      ['nose', 2.35],
      ['leftEye', -0.955],
      ['rightEye', -0.955],
      ['leftEar', 0.28],
      ['rightEar', 0.28],
    ],
    bodySd: 0.01,
  },
];

/**
 * Errors of left and right partners are partly the same error (the detector sees the body a little too high, say), so
 * the sd of a middle is not smaller by the whole √2.
 */
const sharedError = 0.3;

/** Adds neck, chest, pelvis and chin to paths of the detected joints, those whose parts are all tracked. */
export function constructJoints(paths: Map<string, JointPath>, bodyHeightPx: number): void {
  for (const { joint, parts, bodySd } of constructions) {
    const found = parts.map(([part, weight]) => ({ path: paths.get(part), weight }));
    if (found.some((f) => !f.path)) continue;
    paths.set(joint, mixed(found as Weighed[], bodySd * bodyHeightPx));
  }
}

interface Weighed {
  readonly path: JointPath;
  readonly weight: number;
}

/** Columns are added up one after another in plain loops: this is done for every moment of a take whenever it is read. */
function mixed(parts: readonly Weighed[], bodySdPx: number): JointPath {
  const n = parts[0]!.path.xPx.length;
  const [xPx, yPx, vxPx, vyPx] = [new Float64Array(n), new Float64Array(n), new Float64Array(n), new Float64Array(n)];
  const [alone, together] = [new Float64Array(n), new Float64Array(n)];
  const confidence = new Float32Array(n).fill(1);
  const guessed = new Uint8Array(n);
  for (const { path, weight } of parts) {
    for (let i = 0; i < n; i++) {
      xPx[i]! += weight * path.xPx[i]!;
      yPx[i]! += weight * path.yPx[i]!;
      vxPx[i]! += weight * path.vxPx[i]!;
      vyPx[i]! += weight * path.vyPx[i]!;
      const sd = weight * path.sdPx[i]!;
      alone[i]! += sd * sd;
      together[i]! += sd;
      confidence[i] = Math.min(confidence[i]!, path.confidence[i]!);
      guessed[i]! |= path.guessed[i]!;
    }
  }
  const sdPx = alone.map((sum, i) => Math.hypot(mixtureSdOf(sum, together[i]!), bodySdPx));
  return { xPx, yPx, vxPx, vyPx, sdPx, confidence, guessed };
}

/** Standard deviation of a mixture of joints, given each one's own. */
function mixtureSd(parts: Construction['parts'], sdOf: (part: DetectedJoint) => number): number {
  let alone = 0;
  let together = 0;
  for (const [part, weight] of parts) {
    const sd = weight * sdOf(part);
    alone += sd ** 2;
    together += sd;
  }
  return mixtureSdOf(alone, together);
}

/** @param alone sum of the squared errors, each with its weight; `together` their sum as they are. */
function mixtureSdOf(alone: number, together: number): number {
  return Math.sqrt((1 - sharedError) * alone + sharedError * together ** 2);
}

/**
 * Standard deviation of what a constructed joint moves, given each detected joint's own; null for a joint that is not
 * constructed. How far the mixture lies from the real place does not count: it moves along.
 */
export function constructedStepSd(joint: Joint, sdOf: (part: DetectedJoint) => number): number | null {
  const construction = constructions.find((c) => c.joint === joint);
  return construction ? mixtureSd(construction.parts, sdOf) : null;
}

/** The detected joints of which a constructed one is a mixture; none for a joint that is not constructed. */
export function partsOf(joint: Joint): readonly DetectedJoint[] {
  return constructions.find((c) => c.joint === joint)?.parts.map(([part]) => part) ?? [];
}

/** The constructed joints that can be made of these detected ones. */
export function constructible(tracked: ReadonlySet<string>): (typeof constructedJoints)[number][] {
  return constructions.filter((c) => c.parts.every(([part]) => tracked.has(part))).map((c) => c.joint);
}
