/** Shots made from takes of known truth: a puppet that follows its plan on twos, seen by another camera, with one fault. */
import type { Joint, Part } from '../../src/base/joints.ts';
import type { PictureStep } from '../../src/compare/cameraEvents.ts';
import { columnAt } from '../../src/compare/places.ts';
import type { PlannedShot, ShotPictures } from '../../src/compare/shot.ts';
import { applySimilarity, type Similarity } from '../../src/compare/similarity.ts';
import { type PuppetProfile, standingHeightMm } from '../../src/puppet/profile.ts';
import { retarget } from '../../src/puppet/retarget.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import type { OnFrames } from '../../src/timing/timing.ts';
import type { JointPath } from '../../src/track/motion.ts';
import { gaussian, seeded } from '../make.ts';
import { trueTake } from '../puppet/truthMotion.ts';
import { tracksThrough } from '../timing/authored.ts';
import { choicesFor } from '../timing/choices.ts';
import { type Fault, faults, type MadeFault, type MadeView, madePlaces, madeTogether, madeView } from './madeFaults.ts';

const fps = 24;

/**
 * The plan of a take on a puppet.
 * @param times the take is gone through so many times, there and back again: for long shots.
 */
export function madePlan(name: string, puppet: PuppetProfile, onFrames: OnFrames = 2, times = 1): PlannedShot {
  const take = trueTake(name);
  const once = Math.round(take.durationSec * 60);
  const timesSec = Float64Array.from({ length: once * times }, (_, k) => k / 60);
  const takeSec = timesSec.map((_, k) => (Math.floor(k / once) % 2 === 0 ? k % once : once - 1 - (k % once)) / 60);
  const places = new Map(
    [...take.at(takeSec).paths].map(([joint, p]) => [joint as Joint, { x: p.xPx, y: p.yPx }] as const),
  );
  const tracks = tracksThrough({ timesSec, places }, take.heightPx, 0.1);
  const choices = choicesFor(take.durationSec * times, { onFrames, puppetHeightMm: standingHeightMm(puppet) });
  const timing = computeTiming(tracks, choices);
  const motion = retarget(timing.motion, { heightPx: take.heightPx, lengths: null }, puppet, {
    fps,
    steps: 'sameSteps',
    handContacts: [],
    tail: null,
  });
  return { motion, rate: choices.rate, keys: timing.keys, holds: timing.holds, exposures: timing.exposures };
}

/** The plan as somebody shoots it who lays its frames at other times. @param at the plan's frame that a joint shows at a frame of the shot. */
export function laidAt(plan: PlannedShot, at: (frame: number, joint: string) => number): PlannedShot {
  const paths = new Map(
    [...plan.motion.paths].map(([joint, p]) => {
      const column = (c: Float64Array) => c.map((_, k) => columnAt(c, at(k, joint)));
      return [joint, { ...p, xMm: column(p.xMm), yMm: column(p.yMm), zMm: column(p.zMm) }];
    }),
  );
  return { ...plan, motion: { ...plan.motion, paths } };
}

/** A shot and what is wrong with it. */
export interface MadeShot {
  readonly shot: ShotPictures;
  /** Null = nothing is, or the take has no place for the fault. */
  readonly made: MadeFault | null;
  readonly camera: Similarity;
  /** Where joints really were: millimetres, y down. Shape [exposure]. */
  readonly truth: ReadonlyMap<Joint, { x: Float64Array; y: Float64Array }>;
}

/** How a shot is seen. */
export interface Seeing {
  readonly seed: number;
  /** Standard deviation of a joint's error along one axis, pixels. */
  readonly noisePx: number;
  /** How long errors last, frames. */
  readonly lastsFrames?: number;
  /** Parts of the shot's length by which its joints were not seen at all. */
  readonly pxPerMm?: number;
}

/** Makes a shot of a plan with one fault, or none. */
export function madeShot(plan: PlannedShot, fault: Fault | null, seeing: Seeing): MadeShot {
  const random = seeded(seeing.seed * 7919 + 13);
  const draw = gaussian(random);
  const places = madePlaces(plan, fault, random);
  const seen = seenBy(plan, places.truth, seeing, random, draw);
  const view = madeView(plan, fault, places.way, random);
  return { ...seen(view), made: places.made ?? view.made };
}

/** Makes a shot of a plan in which several things are wrong: as many of all faults as find room. */
export function madeShotOfSeveral(
  plan: PlannedShot,
  seeing: Seeing,
): Omit<MadeShot, 'made'> & { readonly made: readonly MadeFault[] } {
  const random = seeded(seeing.seed * 7919 + 13);
  const together = madeTogether(plan, faults, seeing.seed);
  return { ...seenBy(plan, together.truth, seeing, random, gaussian(random))(together), made: together.made };
}

/** Sees a puppet's places through a camera, with errors, once what camera and light did is known. */
function seenBy(
  { exposures }: PlannedShot,
  truth: MadeShot['truth'],
  seeing: Seeing,
  random: () => number,
  draw: () => number,
) {
  const n = exposures.length;
  const camera: Similarity = {
    scale: seeing.pxPerMm ?? 2 + random(),
    rotationDeg: 10 * random() - 5,
    shiftX: 300 + 600 * random(),
    shiftY: 800 + 100 * random(),
    isMirrored: false,
  };
  const pictures: PictureStep[] = exposures.map((_, i) => ({
    shiftXPx: i === 0 ? 0 : 0.03 * draw(),
    shiftYPx: i === 0 ? 0 : 0.03 * draw(),
    brightness: 96 * (1 + 0.0015 * draw()),
  }));
  return (view: Pick<MadeView, 'bumpX' | 'bumpY' | 'light'>): Omit<MadeShot, 'made'> => {
    for (let k = 1; k < n; k++)
      pictures[k] = {
        shiftXPx: pictures[k]!.shiftXPx + view.bumpX[k]! - view.bumpX[k - 1]!,
        shiftYPx: pictures[k]!.shiftYPx + view.bumpY[k]! - view.bumpY[k - 1]!,
        brightness: pictures[k]!.brightness * view.light[k]!,
      };
    const paths = new Map<Part, JointPath>();
    for (const [joint, { x, y }] of truth) {
      const [ex, ey] = [errors(exposures, seeing, draw), errors(exposures, seeing, draw)];
      const seen = Array.from(x, (_, i) => applySimilarity(camera, x[i]!, y[i]!));
      paths.set(joint, {
        xPx: Float64Array.from(seen, ([v], i) => v + view.bumpX[i]! + ex[i]!),
        yPx: Float64Array.from(seen, ([, v], i) => v + view.bumpY[i]! + ey[i]!),
        vxPx: new Float64Array(n),
        vyPx: new Float64Array(n),
        sdPx: new Float64Array(n).fill(seeing.noisePx),
        confidence: new Float32Array(n).fill(1),
        guessed: new Uint8Array(n),
      });
    }
    const timesSec = Float64Array.from(exposures, (e) => e.firstFrame / fps);
    return { shot: { exposures, motion: { timesSec, paths }, pictures }, camera, truth };
  };
}

/** Errors as tracks have them: most of their variance lasts, the rest is new at every exposure. */
function errors(exposures: PlannedShot['exposures'], { noisePx, lastsFrames = 6 }: Seeing, draw: () => number) {
  let slow = draw();
  return exposures.map((e) => {
    const keep = Math.exp(-e.frames / lastsFrames);
    slow = keep * slow + Math.sqrt(1 - keep * keep) * draw();
    return noisePx * (Math.sqrt(0.7) * slow + Math.sqrt(0.3) * draw());
  });
}
