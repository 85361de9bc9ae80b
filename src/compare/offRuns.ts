import type { Joint } from '../base/joints.ts';
import { arcJoints } from '../timing/arcFaults.ts';
import type { Off } from './deviations.ts';

/** Joints that are judged: those that a hand moves. The rest goes with them. */
export const judgedJoints: readonly Joint[] = ['neck', ...arcJoints];

/** Joints that hang together, the carrying one first. */
const together: readonly (readonly [Joint, Joint])[] = [
  ['pelvis', 'neck'],
  ['neck', 'nose'],
  ['neck', 'leftShoulder'],
  ['neck', 'rightShoulder'],
  ['leftShoulder', 'leftElbow'],
  ['leftElbow', 'leftWrist'],
  ['rightShoulder', 'rightElbow'],
  ['rightElbow', 'rightWrist'],
  ['pelvis', 'leftKnee'],
  ['leftKnee', 'leftAnkle'],
  ['pelvis', 'rightKnee'],
  ['rightKnee', 'rightAnkle'],
];

/** Do both hang together directly? */
export function areJoined(a: Joint, b: Joint): boolean {
  return together.some(([p, q]) => (p === a && q === b) || (p === b && q === a));
}

/** How far a pose must be off, beyond errors: as a share of the puppet's height, 1.5 mm of 250. */
export const leastShare = 0.006;
/**
 * Deviations above so many standard deviations are sure. Of two axes, one in 3000 goes beyond 4; a shot of a hundred frames on
 * twos shows 650 joints, whose errors last for several exposures.
 */
export const surelySds = 4;
/** The same where a joint's errors are known from the shot alone: a detector errs by much now and then; less where steps were followed, too. */
export function surelyOwn({ stepSd }: Pick<Off, 'stepSd'>): number {
  return stepSd ? 4.5 : 5;
}
/** How exact a hand is, as a share of the step that it makes: standard deviations along the way, and beside it. */
const alongShare = 0.04;
const besideShare = 0.015;

/** Exposures in a row in which a joint is off the plan. */
export interface OffRun {
  readonly joint: Joint;
  /** Exposures, both ends included. */
  readonly first: number;
  readonly last: number;
  readonly worst: number;
  /** At the worst, millimetres, y down. */
  readonly x: number;
  readonly y: number;
  readonly size: number;
  readonly sd: number;
  /** Only against its neighbours, not against the plan. */
  readonly isPop: boolean;
  /** It is off by as much all the while. */
  readonly isSteady?: boolean;
}

/** The planned step around an exposure, half the way from the one before to the one after: millimetres. */
export function stepAround({ planX, planY }: Off, i: number): [number, number] {
  const [a, b] = [Math.max(0, i - 1), Math.min(planX.length - 1, i + 1)];
  return b > a ? [(planX[b]! - planX[a]!) / (b - a), (planY[b]! - planY[a]!) / (b - a)] : [0, 0];
}

/** How far off a pose is, in standard deviations and with what a hand is exact to. */
export function sdsOff(off: Off, i: number, x: number, y: number, sd: number): number {
  const [sx, sy] = stepAround(off, i);
  const step = Math.hypot(sx, sy);
  if (!(step > 0)) return Math.hypot(x, y) / sd;
  const along = (x * sx + y * sy) / step;
  const beside = (x * sy - y * sx) / step;
  return Math.hypot(along / Math.hypot(sd, alongShare * step), beside / Math.hypot(sd, besideShare * step));
}

/**
 * Runs of exposures in which a joint is surely off the plan, or off its neighbours.
 * @param sizeMm the puppet's height.
 * @param isMarked it was marked by hand, else found by a detector, which knows people only.
 */
export function offRuns(joint: Joint, off: Off, sizeMm: number, isMarked: boolean): OffRun[] {
  const n = off.x.length;
  const least = leastShare * sizeMm;
  const sizes = off.x.map((x, i) => Math.hypot(x, off.y[i]!));
  const size = (i: number) => sizes[i]!;
  const bySize = [...sizes.keys()].filter((i) => Number.isFinite(sizes[i]!)).sort((a, b) => sizes[a]! - sizes[b]!);
  const throughout = wandersOver(bySize.map((i) => sizes[i]!));
  const anyway = isMarked ? 0 : detectorShare * sizeMm;
  const wanders = off.x.map((_, i) =>
    size(i) > least ? Math.min(throughout, Math.max(anyway, wandersElsewhere(off, i, sizes, bySize))) : 0,
  );
  const nearly = (i: number) => lostShare * (off.sd[i] || 0);
  const sdAt = (i: number) => Math.max(off.sd[i]!, wanders[i]!, nearly(i - 1), nearly(i + 1));
  const isOff = (i: number) =>
    size(i) > least &&
    sdsOff(off, i, off.x[i]!, off.y[i]!, sdAt(i)) > (wanders[i]! > off.sd[i]! ? surelyOwn(off) : surelySds);
  const runs: OffRun[] = [];
  for (let i = 0; i < n; i++) {
    if (!isOff(i)) continue;
    let last = i;
    // A gap of one exposure within the same is no gap.
    while (last + 1 < n && (isOff(last + 1) || (last + 2 < n && isOff(last + 2) && goesOn(off, last, last + 2))))
      last++;
    let worst = i;
    for (let k = i; k <= last; k++) if (size(k) > size(worst)) worst = k;
    const at = { x: off.x[worst]!, y: off.y[worst]!, size: size(worst), sd: sdAt(worst) };
    runs.push({ joint, first: i, last, worst, ...at, isPop: false });
    i = last;
  }
  for (const pop of pops(joint, off, sizeMm))
    if (!runs.some((r) => pop.worst >= r.first - 1 && pop.worst <= r.last + 1)) runs.push(pop);
  return runs;
}

/** Of two axes, this share lies within so many standard deviations. */
const [wanderShare, wanderSds] = [0.9, Math.sqrt(-2 * Math.log(0.1))];

/** A detector may place a joint of a puppet beside itself by this in one pose of a shot, and not in another: a share of the height. */
const detectorShare = 0.03;
/** Beside a pose in which it is nearly lost a joint is no surer than this share of that: it is lost by and by. */
const lostShare = 0.5;
/** Fewer exposures than this do not tell what a joint lies off by. */
const leastElsewhere = 10;

/** What a joint lies off by anyway in all exposures, as a standard deviation along one axis, from their sizes. @param sorted those known. */
function wandersOver(sorted: ArrayLike<number>): number {
  return (sorted[Math.floor(wanderShare * sorted.length)] ?? 0) / wanderSds;
}

/**
 * What a joint lies off by anyway in this shot: a detector places joints of a puppet beside themselves, by as much as hangs on the pose.
 * Exposures that go on from the one in question do not count, or what lasts would excuse itself.
 * @param sizes how far off it is in each exposure. @param bySize those where that is known, the smallest first.
 */
function wandersElsewhere(off: Off, i: number, sizes: Float64Array, bySize: readonly number[]): number {
  const isSame = (k: number) => sizes[k]! > sizes[i]! / 2 && goesOn(off, i, k);
  let [first, last] = [i, i];
  while (first > 0 && isSame(first - 1)) first--;
  while (last < sizes.length - 1 && isSame(last + 1)) last++;
  const isElsewhere = (k: number) => k < first || k > last;
  // All within are known: an unknown one ends the run.
  const count = bySize.length - (last - first + 1);
  if (count < leastElsewhere) return wandersOver(bySize.map((k) => sizes[k]!));
  let at = bySize.length - 1;
  // From the largest down, as it is among the largest that is asked for.
  for (let left = count - Math.floor(wanderShare * count); ; at--) {
    if (isElsewhere(bySize[at]!)) left--;
    if (left === 0) break;
  }
  return sizes[bySize[at]!]! / wanderSds;
}

function goesOn({ x, y }: Off, a: number, b: number): boolean {
  return x[a]! * x[b]! + y[a]! * y[b]! > 0;
}

/** A pop is seen when it is larger than this share of the height: 1.5 mm of 250. */
const leastPopShare = 0.006;
/** Where it goes to or comes back by less than this share of the pop, it does not pop but leap, and stays. */
const leastReturn = 1 / 3;
/** No less than this share of what a joint errs by is new in each exposure. */
const leastQuickShare = 0.4;

/** What is new in one exposure of a joint, as a standard deviation along one axis. */
export function quickAt({ sd, quick, stepSd }: Off, i: number): number {
  return stepSd ? quick[i]! : Math.min(sd[i]!, Math.max(quick[i]!, leastQuickShare * sd[i]!));
}

/** Single poses that are off what lies before and after them, the plan's own movement taken out. */
function pops(joint: Joint, off: Off, sizeMm: number): OffRun[] {
  const n = off.x.length;
  const at = (i: number): readonly [number, number] =>
    i < 1 || i > n - 2
      ? [0, 0]
      : [off.x[i]! - (off.x[i - 1]! + off.x[i + 1]!) / 2, off.y[i]! - (off.y[i - 1]! + off.y[i + 1]!) / 2];
  const found: OffRun[] = [];
  for (let i = 1; i < n - 1; i++) {
    const [x, y] = at(i);
    const size = Math.hypot(x, y);
    const sd = quickAt(off, i) * Math.sqrt(1.5);
    if (!(size > leastPopShare * sizeMm && sdsOff(off, i, x, y, sd) > surelyOwn(off))) continue;
    if (Math.hypot(...at(i - 1)) > size || Math.hypot(...at(i + 1)) > size) continue;
    const along = (k: number) => ((off.x[i]! - off.x[k]!) * x + (off.y[i]! - off.y[k]!) * y) / size;
    if (Math.min(along(i - 1), along(i + 1)) < leastReturn * size) continue;
    found.push({ joint, first: i, last: i, worst: i, x, y, size, sd, isPop: true });
  }
  return found;
}

/** Runs of joints that hang together and are off in the same exposures. */
export interface OffGroup {
  /** The one that is off by most. */
  readonly main: OffRun;
  readonly all: readonly OffRun[];
}

/** What differs by less than so many standard deviations, and by less than half, went the same way. */
const sameWaySds = 2;

/** Were both carried off alike by what lies between them, though that is not known to be off itself? */
function areCarriedAlong(a: OffRun, b: OffRun): boolean {
  const apart = Math.hypot(a.x - b.x, a.y - b.y);
  return a.worst === b.worst && apart < Math.min(sameWaySds * Math.hypot(a.sd, b.sd), Math.max(a.size, b.size) / 2);
}

/** Puts runs together that are one thing: an arm that is too low takes elbow and hand along. Largest first. */
export function groupRuns(runs: readonly OffRun[]): OffGroup[] {
  const left = [...runs].sort((a, b) => b.size - a.size);
  const groups: OffGroup[] = [];
  while (left.length > 0) {
    const all = [left.shift()!];
    for (let i = 0; i < all.length; i++) {
      for (let k = left.length - 1; k >= 0; k--) {
        const other = left[k]!;
        const isSame =
          other.joint === all[i]!.joint || areJoined(other.joint, all[i]!.joint) || areCarriedAlong(other, all[i]!);
        if (!isSame || other.first > all[i]!.last + 1 || all[i]!.first > other.last + 1) continue;
        all.push(other);
        left.splice(k, 1);
      }
    }
    groups.push({ main: all[0]!, all });
  }
  return groups;
}
