import type { Point } from '../base/twoBones.ts';

/** A length known in the picture: two clicks, and how far apart they are on the set. It must lie about as far away as the puppet. */
export interface Ruler {
  /** Picture pixels. */
  readonly fromPx: Point;
  readonly toPx: Point;
  /** Above 0. */
  readonly lengthMm: number;
}

/** A click is this sure along one axis, pixels of the picture as shown: practice. */
const clickSdPx = 1;

/** Millimetres for one pixel, and its standard deviation as a share of it. Null where both clicks are in one place, or there is no length. */
export function readRuler(
  { fromPx, toPx, lengthMm }: Ruler,
  sdPx = clickSdPx,
): { readonly mmPerPx: number; readonly sdShare: number } | null {
  const px = Math.hypot(toPx[0] - fromPx[0], toPx[1] - fromPx[1]);
  if (!(px > 0) || !(lengthMm > 0)) return null;
  return { mmPerPx: lengthMm / px, sdShare: (Math.SQRT2 * sdPx) / px };
}
