import type { Joint } from '../base/joints.ts';
import type { Point } from '../base/twoBones.ts';
import type { Comparison } from './compareShot.ts';
import type { Finding } from './finding.ts';
import { judgedJoints } from './offRuns.ts';
import { columnAt, type PlaceColumns } from './places.ts';
import { applySimilarity, invertSimilarity } from './similarity.ts';

/** One joint's way around a finding, as planned and as shot. Millimetres as `Registration.places` has them, y down; NaN = not known. */
export interface ComparedArc {
  readonly joint: Joint;
  /** Indices of the shot's exposures, rising, and the first frame of each. Shape [pose]. */
  readonly exposures: readonly number[];
  readonly frames: readonly number[];
  /** Which of these poses is told of: index into the columns here. */
  readonly at: number;
  /** Each exposure is held against the pose that it shows, or against its own frame, for what comes early or late. */
  readonly against: 'pose' | 'frame';
  /** Places at the poses. Shape [pose]. */
  readonly plan: readonly Point[];
  readonly shot: readonly Point[];
  /** Ways through them, round: `curvePieces` places from each pose to the next. */
  readonly planCurve: readonly Point[];
  readonly shotCurve: readonly Point[];
  /** Standard deviation of the shot's place at the pose that is told of, along one axis. */
  readonly sdMm: number;
}

/** Places on a curve from one pose to the next. */
export const curvePieces = 4;
/** Poses before and after what is told of that are shown, and the most on either side of its worst. */
const before = 4;
const most = 12;
/** What is told of time is held against the frames themselves, all else against the poses that are shown. */
const ofTime = new Set<Finding['kind']>(['keyTiming', 'shortHold', 'evenSpacing']);
/** What is no way of a joint: camera and light, and how the puppet is built. */
const ofNoWay = new Set<Finding['kind']>(['cameraBump', 'flicker', 'throughout']);

/**
 * Both ways around a finding: of its joint, or, where it tells of the whole body's time, of the joint that goes furthest there. The plan
 * is drawn as a puppet of this build would follow it, so that both lie apart by what the finding says.
 * @returns null where it tells of camera, light or build, or the joint is not known to both.
 */
export function comparedArc(comparison: Comparison, finding: Finding): ComparedArc | null {
  if (ofNoWay.has(finding.kind)) return null;
  const { exposures, planFrame, registration, offs } = comparison;
  const showing = (frame: number) =>
    Math.max(
      0,
      exposures.findLastIndex((e) => e.firstFrame <= frame),
    );
  const worst = showing(finding.atFrame);
  const first = Math.max(0, showing(finding.firstFrame) - before, worst - most);
  const last = Math.min(exposures.length - 1, showing(finding.firstFrame + finding.frames - 1) + before, worst + most);
  const shown = Array.from({ length: last - first + 1 }, (_, i) => first + i);
  const frames = shown.map((i) => exposures[i]!.firstFrame);
  const isOfTime = ofTime.has(finding.kind);
  const planAt = shown.map((i, k) => (isOfTime ? frames[k]! : planFrame[i]!));
  const joint = finding.joint ?? furthest(comparison, planAt);
  const seen = joint && registration.places.at.get(joint);
  const planned = joint && registration.planned.at.get(joint);
  const off = joint && offs.get(joint);
  if (!joint || !seen || !planned || !off || shown.length < 2) return null;

  let build: Point = [0, 0];
  const builds = shown.map((i): Point => {
    const by: Point = [seen.x[i]! - off.x[i]! - off.planX[i]!, seen.y[i]! - off.y[i]! - off.planY[i]!];
    // A foot that slid is judged as it stands.
    if (finding.kind !== 'footSlide' && Number.isFinite(by[0] + by[1])) build = by;
    return build;
  });
  const planPlace = (k: number): Point => {
    const between = (of: (i: number) => number) => {
      const a = Math.floor(k);
      return of(a) + (k - a) * ((k > a ? of(a + 1) : of(a)) - of(a));
    };
    const f = between((i) => planAt[i]!);
    return [
      columnAt(planned.x, f) + between((i) => builds[i]![0]),
      columnAt(planned.y, f) + between((i) => builds[i]![1]),
    ];
  };
  const shotPlace = (k: number): Point => [columnAt(cut.x, k), columnAt(cut.y, k)];
  const cut = { x: seen.x.slice(first, last + 1), y: seen.y.slice(first, last + 1) };
  const steps = Array.from({ length: (shown.length - 1) * curvePieces + 1 }, (_, i) => i / curvePieces);
  return {
    joint,
    exposures: shown,
    frames,
    at: worst - first,
    against: isOfTime ? 'frame' : 'pose',
    plan: shown.map((_, k) => planPlace(k)),
    shot: shown.map((_, k) => shotPlace(k)),
    planCurve: steps.map(planPlace),
    shotCurve: steps.map(shotPlace),
    sdMm: off.sd[worst]!,
  };
}

/** The judged joint, known to both, whose planned way through these frames is longest; null where there is none. */
function furthest({ registration, offs }: Comparison, planAt: readonly number[]): Joint | null {
  const wayOf = ({ x, y }: PlaceColumns) =>
    planAt.slice(1).reduce((sum, f, i) => {
      const g = planAt[i]!;
      const step = Math.hypot(columnAt(x, f) - columnAt(x, g), columnAt(y, f) - columnAt(y, g));
      return sum + (Number.isNaN(step) ? 0 : step);
    }, 0);
  const ways = judgedJoints.flatMap((joint) => {
    const planned = registration.planned.at.get(joint);
    return planned && offs.has(joint) ? [{ joint, way: wayOf(planned) }] : [];
  });
  return ways.sort((a, b) => b.way - a.way)[0]?.joint ?? null;
}

/** From a comparison's millimetres into the picture of one exposure, as the camera stood there: upright pixels, and how many a millimetre is. */
export interface IntoPicture {
  readonly place: (xMm: number, yMm: number) => Point;
  readonly perMm: number;
}

/** How a comparison's millimetres come to lie in the picture of an exposure. */
export function intoPicture({ registration, camera }: Comparison, exposure: number): IntoPicture {
  const back = invertSimilarity(registration.toMm[exposure]!);
  const [dx, dy] = [camera.xPx[exposure]!, camera.yPx[exposure]!];
  return {
    place: (xMm, yMm) => {
      const [x, y] = applySimilarity(back, xMm, yMm);
      return [x + dx, y + dy];
    },
    perMm: back.scale,
  };
}
