import type { JointPath } from '../track/motion.ts';
import type { Places } from './places.ts';
import type { PuppetProfile } from './profile.ts';

/** The tail along marked points, or hanging from the hips. */
export function putTail(made: Places, { tail }: PuppetProfile, along: readonly JointPath[] | null, n: number): void {
  if (!tail) return;
  for (let k = 0; k < n; k++) {
    let [x, y] = [made.x('pelvis', k), made.y('pelvis', k)];
    for (const [i, mm] of tail.piecesMm.entries()) {
      const [a, b] = [along?.[i], along?.[i + 1]];
      const dx = a && b ? b.xPx[k]! - a.xPx[k]! : 0;
      const dy = a && b ? a.yPx[k]! - b.yPx[k]! : -1;
      const long = Math.hypot(dx, dy);
      x += long > 0 ? (dx / long) * mm : long;
      y += long > 0 ? (dy / long) * mm : long;
      made.put(`tail${i + 1}`, k, x, y, 0);
    }
  }
}
