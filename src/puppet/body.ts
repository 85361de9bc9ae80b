import type { Joint } from '../base/joints.ts';
import type { Motion } from '../track/motion.ts';
import type { PieceTrack, PlaneTrack } from './pieces.ts';
import type { Places } from './places.ts';
import type { PuppetSizes } from './profile.ts';

/** The head of a person, top to chin and on to the shoulders, as shares of standing height (Drillis & Contini, from memory). */
const headShare = 0.13 + 0.052;
const headJoints: readonly Joint[] = ['nose', 'leftEye', 'rightEye', 'leftEar', 'rightEar', 'mouth', 'chin'];

/** Trunk, hips, shoulders and head, over the place of the hips. */
export function putBody(
  made: Places,
  root: PlaneTrack,
  hips: PieceTrack,
  trunk: PieceTrack,
  shoulders: PieceTrack,
  motion: Motion,
  heightPx: number,
  { headMm, neckMm }: PuppetSizes,
): void {
  const performersNeck = motion.paths.get('neck');
  const perPx = (headMm + neckMm) / (headShare * heightPx);
  for (let k = 0; k < root.x.length; k++) {
    const [x, y] = [root.x[k]!, root.y[k]!];
    const [tx, ty, tz] = [trunk.x[k]!, trunk.y[k]!, trunk.z[k]!];
    const [neckX, neckY] = [x + tx, y + ty];
    made.put('pelvis', k, x, y, 0);
    made.put('neck', k, neckX, neckY, tz);
    made.put('chest', k, neckX - tx / 3, neckY - ty / 3, (tz * 2) / 3);
    for (const [side, sign] of [
      ['left', 0.5],
      ['right', -0.5],
    ] as const) {
      made.put(`${side}Hip`, k, x + sign * hips.x[k]!, y + sign * hips.y[k]!, hips.z[k]! / 2);
      made.put(
        `${side}Shoulder`,
        k,
        neckX + sign * shoulders.x[k]!,
        neckY + sign * shoulders.y[k]!,
        shoulders.z[k]! / 2,
      );
    }
    for (const joint of headJoints) {
      const path = motion.paths.get(joint);
      if (!path || !performersNeck) continue;
      const [dx, dy] = [path.xPx[k]! - performersNeck.xPx[k]!, performersNeck.yPx[k]! - path.yPx[k]!];
      made.put(joint, k, neckX + dx * perPx, neckY + dy * perPx, 0);
    }
  }
}
