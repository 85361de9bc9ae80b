import type { DetectedJoint } from '../base/joints.ts';
import type { Motion, Tracks } from '../track/motion.ts';
import type { PointSamples } from './pointSamples.ts';

/**
 * Share of the body's mass, the joints between which a part's own centre lies, and how far along it lies: the mean of men and
 * women in P. de Leva, "Adjustments to Zatsiorsky-Seluyanov's segment inertia parameters", J. Biomech. 29 (1996), table 4.
 * Trunk from mid-shoulder to mid-hip; the head's centre is taken between the ears, hands at the wrists and feet at the ankles.
 */
const pairs: readonly { mass: number; from: DetectedJoint; to: DetectedJoint; along: number }[] = (
  ['left', 'right'] as const
).flatMap((side) => [
  { mass: 0.0263, from: `${side}Shoulder`, to: `${side}Elbow`, along: 0.5763 },
  { mass: 0.015, from: `${side}Elbow`, to: `${side}Wrist`, along: 0.4567 },
  { mass: 0.00585, from: `${side}Wrist`, to: `${side}Wrist`, along: 0 },
  { mass: 0.1447, from: `${side}Hip`, to: `${side}Knee`, along: 0.3854 },
  { mass: 0.0457, from: `${side}Knee`, to: `${side}Ankle`, along: 0.4374 },
  { mass: 0.0133, from: `${side}Ankle`, to: `${side}Ankle`, along: 0 },
  { mass: 0.43015 / 2, from: `${side}Shoulder`, to: `${side}Hip`, along: 0.4046 },
  { mass: 0.0681 / 2, from: `${side}Ear`, to: `${side}Ear`, along: 0 },
]);

/** Where the performer's centre of mass is, of their picture; NaN where a joint is missing or guessed. Shape [time]. */
export function centreOfMass({ timesSec, paths }: Motion): {
  xPx: Float64Array;
  yPx: Float64Array;
  sdPx: Float64Array;
} {
  const n = timesSec.length;
  const [xPx, yPx, variance] = [new Float64Array(n), new Float64Array(n), new Float64Array(n)];
  const total = pairs.reduce((sum, { mass }) => sum + mass, 0);
  for (const { mass, from, to, along } of pairs) {
    const [a, b] = [paths.get(from), paths.get(to)];
    const share = mass / total;
    for (let i = 0; i < n; i++) {
      const isSeen = a && b && !a.guessed[i] && !b.guessed[i];
      xPx[i]! += isSeen ? share * (a.xPx[i]! + along * (b.xPx[i]! - a.xPx[i]!)) : Number.NaN;
      yPx[i]! += isSeen ? share * (a.yPx[i]! + along * (b.yPx[i]! - a.yPx[i]!)) : Number.NaN;
      variance[i]! += isSeen ? (share * Math.hypot((1 - along) * a.sdPx[i]!, along * b.sdPx[i]!)) ** 2 : Number.NaN;
    }
  }
  return { xPx, yPx, sdPx: variance.map(Math.sqrt) };
}

/** The centre of mass at the take's pictures in which every part of the body is seen. */
export function samplesOfCentre(tracks: Tracks): PointSamples {
  const { xPx, yPx, sdPx } = centreOfMass(tracks.at(tracks.timesSec));
  const seen = [...xPx.keys()].filter((i) => !Number.isNaN(xPx[i]! + yPx[i]!));
  const pick = (of: Float64Array) => Float64Array.from(seen, (i) => of[i]!);
  return { timesSec: pick(tracks.timesSec), xPx: pick(xPx), yPx: pick(yPx), sdPx: pick(sdPx) };
}
