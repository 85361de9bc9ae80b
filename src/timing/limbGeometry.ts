/** A place or a way in the picture, pixels. */
export type Point = readonly [number, number];

/**
 * By what angle (radians, from x towards y) a limb is turned further away from its neutral direction. An angle Δ away from neutral
 * becomes Δ + extra · Δ · (1 − |Δ| / π): a little is taken further, what already points the other way hardly at all, so that
 * nothing flips over, and more extra is never less far. 0 where either is not known.
 */
export function turnedFurther([x, y]: Point, [nx, ny]: Point, extra: number): number {
  const away = Math.atan2(nx * y - ny * x, nx * x + ny * y);
  return Number.isNaN(away) ? 0 : extra * away * (1 - Math.abs(away) / Math.PI);
}

/** The middle and the end of two bones that start at `start` and end as near `target` as they reach. */
export interface TwoBones {
  readonly middle: [number, number];
  readonly end: [number, number];
}

/**
 * Two-bone inverse kinematics in the plane: bones of lengths `first` and `second` from `start` to `target`, bent to the side
 * that the sign of `side` says (as the cross product of both bones). Out of reach: straight towards the target, or folded.
 */
export function twoBones(start: Point, target: Point, first: number, second: number, side: number): TwoBones {
  const [dx, dy] = [target[0] - start[0], target[1] - start[1]];
  const wanted = Math.hypot(dx, dy);
  const away = Math.min(first + second, Math.max(Math.abs(first - second), wanted, 1e-9));
  const [ux, uy] = wanted > 1e-9 ? [dx / wanted, dy / wanted] : [0, 1];
  // Law of cosines: how far along the line the middle lies, and how far beside it.
  const along = (first * first - second * second + away * away) / (2 * away);
  const beside = Math.sqrt(Math.max(0, first * first - along * along)) * (side < 0 ? 1 : -1);
  return {
    middle: [start[0] + ux * along - uy * beside, start[1] + uy * along + ux * beside],
    end: [start[0] + ux * away, start[1] + uy * away],
  };
}
