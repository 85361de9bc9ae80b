import { isProp, type Joint, jointWords, type Part } from '../base/joints.ts';
import { type ArcFault, type FaultPoses, type PartWords, posesOf } from './arcFault.ts';
import { driftFaults } from './driftFaults.ts';
import { evenFaults } from './evenFaults.ts';
import { footFaults } from './footFaults.ts';
import { kneeFaults } from './kneeFaults.ts';
import { popFaults } from './popFaults.ts';
import { reversalFaults } from './reversalFaults.ts';
import { movesOf } from './spacingChart.ts';
import type { Timing } from './timing.ts';

/**
 * Joints whose arcs are looked at: those that a hand moves on a puppet. The rest of the face goes with the nose, hands and feet
 * with wrists and ankles, and what is constructed from others with them: each fault is told once.
 */
export const arcJoints: readonly Joint[] = [
  'nose',
  'leftShoulder',
  'rightShoulder',
  'leftElbow',
  'rightElbow',
  'leftWrist',
  'rightWrist',
  'pelvis',
  'leftKnee',
  'rightKnee',
  'leftAnkle',
  'rightAnkle',
];

/**
 * The faults of a shot's arcs, largest first (by how far they go beyond two standard deviations), over the joints that a hand moves and
 * all marked points. A fault is told only where it exceeds what errors of the tracks explain.
 * @param words what parts are called in sentences.
 * @param which poses are looked at for pops, reversals and knees: those that will be shot, or every frame.
 */
export function arcFaults(timing: Timing, which: FaultPoses = 'exposures', words: PartWords = jointWords): ArcFault[] {
  const moves = movesOf(timing);
  const parts: Part[] = [...timing.motion.paths.keys()].filter((p) => isProp(p) || arcJoints.includes(p as Joint));
  const faults = parts.flatMap((part) => {
    const poses = posesOf(timing, part, which);
    if (!poses) return [];
    const turned = reversalFaults(timing, poses, words);
    const pops = popFaults(timing, poses, words).filter(
      (pop) => !turned.some((r) => isBeside(r, pop) && r.sizePx >= pop.sizePx),
    );
    const backs = turned.filter((r) => !pops.some((pop) => isBeside(r, pop)));
    return [...pops, ...backs, ...evenFaults(timing, part, moves, words), ...driftFaults(timing, part, words)];
  });
  const slides = footFaults(timing, words);
  const legs = kneeFaults(timing, which, words);
  const told = faults.filter(
    (f) =>
      // A foot that slides in a hold drifts too, and a knee that snaps pops: told once, by the name that says more.
      !(f.kind === 'holdDrift' && slides.some((s) => sameFoot(s.part, f.part) && overlap(s, f))) &&
      !(f.kind === 'pop' && legs.some((k) => k.part === f.part && isBeside(k, f))),
  );
  return [...told, ...slides, ...legs].sort((a, b) => beyondNoise(b) - beyondNoise(a));
}

/** How much of a fault errors of the tracks do not explain, pixels: what faults are sorted by. */
export function beyondNoise(fault: ArcFault): number {
  return fault.sizePx - 2 * fault.sdPx;
}

function isBeside(a: ArcFault, b: ArcFault): boolean {
  return a.firstFrame <= b.firstFrame + b.frames && b.firstFrame <= a.firstFrame + a.frames;
}

function overlap(a: ArcFault, b: ArcFault): boolean {
  return a.firstFrame < b.firstFrame + b.frames && b.firstFrame < a.firstFrame + a.frames;
}

function sameFoot(a: Part, b: Part): boolean {
  const side = (p: Part) => /^(left|right)(Toe|Heel|Ankle)$/.exec(p)?.[1];
  return side(a) !== undefined && side(a) === side(b);
}
