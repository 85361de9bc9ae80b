import type { PieceTrack, PlaneTrack } from './pieces.ts';

/** A leg that stands, for moving the hips to suit it. */
export interface StandingLeg {
  readonly hip: PlaneTrack;
  readonly target: PlaneTrack;
  /** How far it reaches in the picture with the bend that it has. Shape [frame]. */
  readonly longest: Float64Array;
}

/**
 * Moves hips, as little as possible, to where both legs reach their standing feet: with the bends that they have where little does it, else
 * as far as the legs are long.
 */
export function bringWithinReach(root: PlaneTrack, feet: readonly StandingLeg[], legMm: number, mostMm: number): void {
  for (let k = 0; k < root.x.length; k++) {
    const [x, y] = [root.x[k]!, root.y[k]!];
    pull(root, k, feet, (foot) => foot.longest[k]!);
    const moved = Math.hypot(root.x[k]! - x, root.y[k]! - y);
    if (moved > mostMm) {
      root.x[k] = x + (mostMm / moved) * (root.x[k]! - x);
      root.y[k] = y + (mostMm / moved) * (root.y[k]! - y);
    }
    pull(root, k, feet, () => legMm);
  }
}

/** Two discs: going from one to the other a few times comes to where they overlap. */
function pull(root: PlaneTrack, k: number, feet: readonly StandingLeg[], reachOf: (foot: StandingLeg) => number): void {
  for (let round = 0; round < 30; round++) {
    let isMoved = false;
    for (const foot of feet) {
      const dx = foot.target.x[k]! - root.x[k]! - foot.hip.x[k]!;
      const dy = foot.target.y[k]! - root.y[k]! - foot.hip.y[k]!;
      const long = reachOf(foot);
      const over = Math.hypot(dx, dy) - long;
      if (!(over > 1e-9)) continue;
      const share = (over + 1e-9) / (over + long);
      root.x[k]! += share * dx;
      root.y[k]! += share * dy;
      isMoved = true;
    }
    if (!isMoved) return;
  }
}

/** How far a leg reaches in the picture when it lies in its plane, bent as it is. Shape [frame]; NaN where it is not known. */
export function longestAsBent(upper: PieceTrack, lower: PieceTrack, upperMm: number, lowerMm: number): Float64Array {
  return upper.x.map((ux, k) => {
    const [uy, lx, ly] = [upper.y[k]!, lower.x[k]!, lower.y[k]!];
    const [u, l] = [upperMm / (Math.hypot(ux, uy) || 1), lowerMm / (Math.hypot(lx, ly) || 1)];
    return Math.hypot(u * ux + l * lx, u * uy + l * ly);
  });
}
