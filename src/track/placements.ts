/**
 * How far a joint placed by hand moves the path around it. A detector that errs at one picture errs in the same way at its
 * neighbours, so what the animator moved there is moved along: by the whole way at the placement, fading to nothing at the
 * end of its reach. The movement that was seen in between (what the sightings and the flow say of it) is kept.
 */
import type { Placement } from './correction.ts';
import type { PathPoint } from './posterior.ts';
import type { PathMeasures, SmoothPath, StepMeasures } from './smoothPath.ts';

/** A placement with the span in which it moves the path, take seconds. */
export interface Influence {
  readonly placement: Placement;
  readonly fromSec: number;
  readonly toSec: number;
}

/** The weight of a placement at `share` of its reach: 1 at 0, 0 from 1 on, flat at both ends (3u² − 2u³ turned about). */
export function fade(share: number): number {
  const u = Math.min(1, Math.max(0, share));
  return 1 - u * u * (3 - 2 * u);
}

/**
 * The spans in which placements of one joint move its path: as far as each reaches, but never past its neighbour, which
 * knows better.
 * @param placements of one joint, at rising times.
 */
export function influencesOf(placements: readonly Placement[]): Influence[] {
  return placements.map((placement, i) => ({
    placement,
    fromSec: Math.max(placement.takeSec - placement.reachSec, placements[i - 1]?.takeSec ?? Number.NEGATIVE_INFINITY),
    toSec: Math.min(placement.takeSec + placement.reachSec, placements[i + 1]?.takeSec ?? Number.POSITIVE_INFINITY),
  }));
}

/** The weight of a placement at a time, 0..1. */
export function weightAt({ placement, fromSec, toSec }: Influence, sec: number): number {
  const away = sec - placement.takeSec;
  const reach = away < 0 ? placement.takeSec - fromSec : toSec - placement.takeSec;
  return reach > 0 ? fade(Math.abs(away) / reach) : 0;
}

/**
 * Measures moved along with the placements. Steps between knots are lengthened by what their ends move apart, so that they
 * do not pull the path back.
 * @param measures   The joint's measurements with its placements among them (`placed` = 1: those stay).
 * @param influences See `influencesOf`; leave out placements where nothing was seen, since there is nothing to move.
 * @param before     The path as it would be without any placement.
 */
export function moveAlong(measures: PathMeasures, influences: readonly Influence[], before: SmoothPath): PathMeasures {
  if (influences.length === 0) return measures;
  const t = measures.timesSec;
  const dx = new Float64Array(t.length);
  const dy = new Float64Array(t.length);
  const point: PathPoint = { xPx: 0, yPx: 0, vxPx: 0, vyPx: 0, sdPx: 0 };
  for (const influence of influences) {
    const { placement } = influence;
    before.read(placement.takeSec, point);
    const [offX, offY] = [placement.xPx - point.xPx, placement.yPx - point.yPx];
    for (let k = 0; k < t.length; k++) {
      const weight = weightAt(influence, t[k]!);
      dx[k]! += weight * offX;
      dy[k]! += weight * offY;
    }
  }
  const isPlaced = (k: number): boolean => measures.placed[k] === 1;
  const { steps } = measures;
  return {
    ...measures,
    xPx: measures.xPx.map((x, k) => (isPlaced(k) ? x : x + dx[k]!)),
    yPx: measures.yPx.map((y, k) => (isPlaced(k) ? y : y + dy[k]!)),
    ...(steps ? { steps: lengthened(steps, dx, dy) } : {}),
  };
}

function lengthened(steps: StepMeasures, dx: Float64Array, dy: Float64Array): StepMeasures {
  return {
    ...steps,
    dxPx: steps.dxPx.map((s, k) => (k === 0 ? s : s + dx[k]! - dx[k - 1]!)),
    dyPx: steps.dyPx.map((s, k) => (k === 0 ? s : s + dy[k]! - dy[k - 1]!)),
  };
}
