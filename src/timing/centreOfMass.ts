import type { DetectedJoint } from '../base/joints.ts';
import { countOf, deLevaMean, type SegmentName } from '../base/segmentMasses.ts';
import type { Motion, Tracks } from '../track/motion.ts';
import type { PointSamples } from './pointSamples.ts';

/**
 * Share of the body's mass, the joints between which a part's own centre lies, and how far along it lies (see `deLevaMean`).
 * The head's centre is taken between the ears, where it nearly is; hands count at the wrists and feet at the ankles.
 */
const pairs: readonly { mass: number; from: DetectedJoint; to: DetectedJoint; along: number }[] = (
  ['left', 'right'] as const
).flatMap((side) => {
  const piece = (name: SegmentName, from: DetectedJoint, to: DetectedJoint) => ({
    // Head and trunk are made of both sides' halves.
    mass: (deLevaMean[name].share * countOf(name)) / 2,
    from,
    to,
    along: from === to ? 0 : deLevaMean[name].along,
  });
  return [
    piece('upperArm', `${side}Shoulder`, `${side}Elbow`),
    piece('forearm', `${side}Elbow`, `${side}Wrist`),
    piece('hand', `${side}Wrist`, `${side}Wrist`),
    piece('thigh', `${side}Hip`, `${side}Knee`),
    piece('shank', `${side}Knee`, `${side}Ankle`),
    piece('foot', `${side}Ankle`, `${side}Ankle`),
    piece('trunk', `${side}Shoulder`, `${side}Hip`),
    piece('head', `${side}Ear`, `${side}Ear`),
  ];
});

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
