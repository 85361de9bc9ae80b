import { fpsOf } from '../base/frameRate.ts';
import { isProp, type Part } from '../base/joints.ts';
import type { JointPath, Motion } from '../track/motion.ts';
import type { Timing } from './timing.ts';

/** A foot that lands, or a marked thing that bounces. */
export interface Contact {
  readonly part: Part;
  readonly frameIndex: number;
}

/** A foot has landed when it slows below the first of these and had gone faster than the second; body heights per second. */
const landedSpeed = 0.12;
const flyingSpeed = 0.5;
/** A thing bounces when it falls and then rises faster than this, body heights per second. */
const bounceSpeed = 0.4;
/** Where the lowest sensors of a foot are: the ankle stands for a foot whose heel and toe were not seen. */
const feet = [
  ['leftHeel', 'leftToe', 'leftAnkle'],
  ['rightHeel', 'rightToe', 'rightAnkle'],
] as const;

/**
 * Where feet land and marked things bounce, rising frames, each foot once per landing (by whichever of heel, toe and ankle comes
 * down first). A picture of these frames is what makes a step or a bounce read, so they are exposed.
 * @param fps of the shot.
 */
export function findContacts(motion: Motion, bodyHeightPx: number, fps: number): Contact[] {
  const found: Contact[] = [];
  const perSec = fps / bodyHeightPx;
  for (const foot of feet) {
    const landings = foot.flatMap((part) => {
      const path = motion.paths.get(part);
      return path ? landingsOf(path, perSec).map((frameIndex): Contact => ({ part, frameIndex })) : [];
    });
    landings.sort((a, b) => a.frameIndex - b.frameIndex);
    let last = Number.NEGATIVE_INFINITY;
    for (const landing of landings) {
      // Heel and toe of one step come down within a fifth of a second.
      if (landing.frameIndex - last > fps / 5) found.push(landing);
      last = landing.frameIndex;
    }
  }
  for (const [part, path] of motion.paths) {
    if (isProp(part)) found.push(...bouncesOf(path, perSec).map((frameIndex) => ({ part, frameIndex })));
  }
  return found.sort((a, b) => a.frameIndex - b.frameIndex);
}

/**
 * Contacts that no exposure begins on: the audience sees them late, as the exposure that follows, or not at all. Rising frames;
 * empty when each is shot.
 */
export function unshotContacts(
  timing: Pick<Timing, 'motion' | 'bodyHeightPx' | 'exposures'> & { readonly choices: Pick<Timing['choices'], 'rate'> },
): Contact[] {
  const shot = new Set(timing.exposures.map((e) => e.firstFrame));
  const contacts = findContacts(timing.motion, timing.bodyHeightPx, fpsOf(timing.choices.rate));
  return contacts.filter((c) => !shot.has(c.frameIndex));
}

function landingsOf({ xPx, yPx }: JointPath, perSec: number): number[] {
  const found: number[] = [];
  let flying = false;
  for (let k = 1; k + 1 < xPx.length; k++) {
    const speed = (Math.hypot(xPx[k + 1]! - xPx[k - 1]!, yPx[k + 1]! - yPx[k - 1]!) / 2) * perSec;
    if (speed > flyingSpeed) flying = true;
    else if (speed < landedSpeed && flying) {
      found.push(k);
      flying = false;
    }
  }
  return found;
}

/** Lowest frames at which the vertical speed turns round at once. */
function bouncesOf({ yPx }: JointPath, perSec: number): number[] {
  const found: number[] = [];
  for (let k = 1; k + 1 < yPx.length; k++) {
    const down = (yPx[k]! - yPx[k - 1]!) * perSec;
    const up = (yPx[k]! - yPx[k + 1]!) * perSec;
    if (down > bounceSpeed && up > bounceSpeed) found.push(k);
    // The touch may fall between two frames, both as low.
    else if (k + 2 < yPx.length && down > bounceSpeed && Math.abs(up) <= bounceSpeed) {
      if ((yPx[k + 1]! - yPx[k + 2]!) * perSec > bounceSpeed) found.push(yPx[k]! >= yPx[k + 1]! ? k : k + 1);
    }
  }
  return found;
}
