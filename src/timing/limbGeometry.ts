import type { Point } from '../base/twoBones.ts';

/**
 * By what angle (radians, from x towards y) a limb is turned further away from its neutral direction. An angle Δ away from neutral
 * becomes Δ + extra · Δ · (1 − |Δ| / π): a little is taken further, what already points the other way hardly at all, so that
 * nothing flips over, and more extra is never less far. 0 where either is not known.
 */
export function turnedFurther([x, y]: Point, [nx, ny]: Point, extra: number): number {
  const away = Math.atan2(nx * y - ny * x, nx * x + ny * y);
  return Number.isNaN(away) ? 0 : extra * away * (1 - Math.abs(away) / Math.PI);
}
