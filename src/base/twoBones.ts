/** A place or a way in a plane. */
export type Point = readonly [number, number];

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
