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
/** Ends that are nearer to each other say next to nothing of the scale: it would err by more than 5 %. */
const leastPx = 28;

/** Why a ruler tells nothing: its ends are too near to each other, or there is no length. */
export type RulerFault = 'short' | 'noLength';

/** What is wrong with a ruler; null = it can be read. */
export function rulerFault({ fromPx, toPx, lengthMm }: Ruler): RulerFault | null {
  if (!(Math.hypot(toPx[0] - fromPx[0], toPx[1] - fromPx[1]) >= leastPx)) return 'short';
  return lengthMm > 0 && Number.isFinite(lengthMm) ? null : 'noLength';
}

/** Millimetres for one pixel, and its standard deviation as a share of it. Null where the ruler has a fault. */
export function readRuler(
  ruler: Ruler,
  sdPx = clickSdPx,
): { readonly mmPerPx: number; readonly sdShare: number } | null {
  if (rulerFault(ruler)) return null;
  const px = Math.hypot(ruler.toPx[0] - ruler.fromPx[0], ruler.toPx[1] - ruler.fromPx[1]);
  return { mmPerPx: ruler.lengthMm / px, sdShare: (Math.SQRT2 * sdPx) / px };
}
