import { type Joint, jointWords } from '../base/joints.ts';
import type { Point } from '../base/twoBones.ts';
import type { Exposure } from '../timing/timing.ts';
import type { Off } from './deviations.ts';
import type { Finding } from './finding.ts';
import { surelySds } from './offRuns.ts';
import type { RegistrationChoice } from './registration.ts';

/** A turn of the body by which a joint is off, as the camera sees it. */
export interface FindingTurn {
  /** What turns: "left elbow", "head", "trunk". */
  readonly name: string;
  /** By so many degrees more than planned: further open, or, for head and trunk, further to the right as one looks. */
  readonly deg: number;
  /** Standard deviation, degrees. */
  readonly sdDeg: number;
  /** "too far open", "too far closed", "bent the other way"; for head and trunk "too far to the right", "... left". */
  readonly way: string;
}

/** What a joint may be turned by, and what it is turned against. */
interface Turning {
  readonly name: string;
  /** The joint that it turns about, and the next one of what it carries. */
  readonly at: Joint;
  readonly to: Joint;
  /** The angle is told from the piece between `at` and this joint; null = from the upright. */
  readonly from: Joint | null;
}

const trunk: Turning = { name: 'trunk', at: 'pelvis', to: 'neck', from: null };
const head: Turning = { name: 'head', at: 'neck', to: 'nose', from: null };
const sided = (side: 'left' | 'right') =>
  ({
    elbow: { name: `${side} elbow`, at: `${side}Elbow`, to: `${side}Wrist`, from: `${side}Shoulder` },
    shoulder: { name: `${side} shoulder`, at: `${side}Shoulder`, to: `${side}Elbow`, from: `${side}Hip` },
    knee: { name: `${side} knee`, at: `${side}Knee`, to: `${side}Ankle`, from: `${side}Hip` },
    hip: { name: `${side} hip`, at: `${side}Hip`, to: `${side}Knee`, from: `${side}Shoulder` },
    wrist: { name: `${side} wrist`, at: `${side}Wrist`, to: `${side}Hand`, from: `${side}Elbow` },
    ankle: { name: `${side} ankle`, at: `${side}Ankle`, to: `${side}Toe`, from: `${side}Knee` },
  }) satisfies Record<string, Turning>;

/** What a joint is carried by, the nearest first. */
function turningsOf(joint: Joint): readonly Turning[] {
  const side = joint.startsWith('left') ? 'left' : joint.startsWith('right') ? 'right' : null;
  if (!side) return joint === 'neck' ? [trunk] : joint === 'nose' ? [head, trunk] : [];
  const by = sided(side);
  if (joint.endsWith('Hand')) return [by.wrist, by.elbow, by.shoulder];
  if (joint.endsWith('Wrist')) return [by.elbow, by.shoulder];
  if (joint.endsWith('Elbow')) return [by.shoulder];
  if (joint.endsWith('Toe')) return [by.ankle, by.knee, by.hip];
  if (joint.endsWith('Ankle')) return [by.knee, by.hip];
  if (joint.endsWith('Knee')) return [by.hip];
  return joint.endsWith('Shoulder') ? [trunk] : [];
}

/** Less than so many degrees off is no turn to be told: a hand turns a joint no more exactly (practice). */
const leastDeg = 2;
/** A piece that is seen shorter than this share of its longest points at the lens: its direction says little. */
const leastShare = 0.35;

/** The kinds that tell where a pose is: only there an angle says the same in another way. */
const ofPoses = new Set<Finding['kind']>(['offPose', 'pop', 'arc', 'spacing', 'reversal', 'holdDrift']);
/** A foot that slid is put back on its place; without one, a turn is all there is to tell. */
const withoutPlace: Finding['kind'] = 'footSlide';

/** Where the turn of a finding is read, and the exposures whose mean it is read against; none = the plan itself. */
function readAt(
  { kind, firstFrame, frames, atFrame }: Finding,
  exposures: readonly Exposure[],
): { readonly exposure: number; readonly against: readonly number[] } {
  if (kind !== 'holdDrift' && kind !== 'footSlide') {
    const exposure = exposures.findIndex((e) => e.firstFrame === atFrame);
    return { exposure, against: kind === 'pop' ? [exposure - 1, exposure + 1] : [] };
  }
  // What wanders is told by where it ends, as against where it was.
  return {
    exposure: exposures.findLastIndex((e) => e.firstFrame < firstFrame + frames),
    against: [exposures.findIndex((e) => e.firstFrame + e.frames > firstFrame)],
  };
}

/**
 * Findings with the turn that a hand would put right, where the angle is surely off: of all that carries the joint, what takes it furthest.
 * Where bodies hang on their own hips, the turn is the measure, and millimetres come after it.
 * @param offs as the findings were judged.
 */
export function withTurns(
  findings: readonly Finding[],
  offs: ReadonlyMap<Joint, Off>,
  exposures: readonly Exposure[],
  kind: RegistrationChoice['kind'],
): Finding[] {
  return findings.map((finding) => {
    if (!finding.joint || !(ofPoses.has(finding.kind) || (kind === 'none' && finding.kind === withoutPlace)))
      return finding;
    const { exposure, against } = readAt(finding, exposures);
    const turn = exposure < 0 ? null : turnAt(offs, finding.joint, exposure, against);
    if (!turn) return finding;
    const by = `${Math.abs(turn.deg).toFixed(0)}° ${turn.way}`;
    if (kind !== 'none')
      return {
        ...finding,
        turn,
        sentence: finding.sentence.replace(/\.$/, ` (${shortName(turn, finding.joint)} ${by}).`),
      };
    return {
      ...finding,
      turn,
      size: Math.abs(turn.deg),
      unit: '°',
      sd: turn.sdDeg,
      sentence: `The ${turn.name} ${against.length === 1 ? 'ends' : 'is'} ${by}: as against the hips, ${lowerFirst(finding.sentence)}`,
    };
  });
}

/** "elbow" beside "left wrist": the side is said once. */
function shortName({ name }: FindingTurn, joint: Joint): string {
  return name.replace(`${jointWords(joint).split(' ')[0]} `, '');
}

function lowerFirst(sentence: string): string {
  return sentence.charAt(0).toLowerCase() + sentence.slice(1);
}

/**
 * By which turn a joint is off in one exposure; null where none is surely so.
 * @param against the exposures whose mean it is held against; none = the plan itself.
 */
export function turnAt(
  offs: ReadonlyMap<Joint, Off>,
  joint: Joint,
  exposure: number,
  against: readonly number[] = [],
): FindingTurn | null {
  let [best, furthest] = [null as FindingTurn | null, 0];
  for (const turning of turningsOf(joint)) {
    const at = angleOff(offs, turning, exposure);
    if (!at) continue;
    let { deg, sdDeg } = at;
    if (against.length > 0) {
      const others = against.map((i) => angleOff(offs, turning, i)?.deg ?? Number.NaN);
      deg -= others.reduce((sum, other) => sum + other, 0) / others.length;
      sdDeg *= Math.sqrt(1 + 1 / others.length);
    }
    if (!(Math.abs(deg) >= leastDeg && Math.abs(deg) > surelySds * sdDeg)) continue;
    const lever = leverOf(offs, turning.at, joint, exposure);
    if (!(Math.abs(deg) * lever > furthest)) continue;
    furthest = Math.abs(deg) * lever;
    const [more, less] = turning.from ? ['open', 'closed'] : ['to the right', 'to the left'];
    const way = at.isOtherWay ? 'bent the other way' : `too far ${deg > 0 ? more : less}`;
    best = { name: turning.name, deg, sdDeg, way };
  }
  return best;
}

/** How far from what it turns about a joint is planned, millimetres. */
function leverOf(offs: ReadonlyMap<Joint, Off>, at: Joint, joint: Joint, i: number): number {
  const [a, b] = [offs.get(at), offs.get(joint)];
  return a && b ? Math.hypot(b.planX[i]! - a.planX[i]!, b.planY[i]! - a.planY[i]!) : 0;
}

/** A joint that is planned to be bent by more than this can be bent the other way; a straighter one is only closed. */
const straightDeg = 10;

/** A joint's angle in one exposure against the planned one, degrees. */
interface AngleOff {
  readonly deg: number;
  readonly sdDeg: number;
  /** It goes through straight: the degrees are those of both bends. */
  readonly isOtherWay: boolean;
}

/** How much further a joint is turned than planned in one exposure; null where it is not known. */
function angleOff(offs: ReadonlyMap<Joint, Off>, turning: Turning, i: number): AngleOff | null {
  const [at, to] = [offs.get(turning.at), offs.get(turning.to)];
  const from = turning.from ? offs.get(turning.from) : null;
  if (!at || !to || from === undefined || i < 0 || i >= at.x.length) return null;
  const [swung, plan] = [pieceOff(at, to, i), pieceOff(at, to, i, true)];
  if (!from) {
    // y points down: a turn clockwise as seen takes the top to the right.
    const deg = between(plan.way, swung.way);
    return isSeen(at, to, i) && Number.isFinite(deg) ? { deg, sdDeg: swung.sdDeg, isOtherWay: false } : null;
  }
  if (!isSeen(at, to, i) || !isSeen(at, from, i)) return null;
  const [base, planBase] = [pieceOff(at, from, i), pieceOff(at, from, i, true)];
  const [seen, planned] = [between(base.way, swung.way), between(planBase.way, plan.way)];
  if (!Number.isFinite(seen + planned)) return null;
  const sdDeg = Math.hypot(base.sdDeg, swung.sdDeg);
  const [bend, planBend] = [180 - Math.abs(seen), 180 - Math.abs(planned)];
  const isOtherWay = seen * planned < 0 && Math.abs(seen) > 90 && planBend < 90 && planBend > straightDeg;
  return { deg: isOtherWay ? -(bend + planBend) : planBend - bend, sdDeg, isOtherWay };
}

/** A piece from one joint to another, as shot or as planned, and how sure its direction is. */
function pieceOff(at: Off, to: Off, i: number, isPlan = false): { way: Point; sdDeg: number } {
  const [x, y] = [to.planX[i]! - at.planX[i]!, to.planY[i]! - at.planY[i]!];
  const way: Point = isPlan ? [x, y] : [x + to.x[i]! - at.x[i]!, y + to.y[i]! - at.y[i]!];
  return { way, sdDeg: ((Math.hypot(to.sd[i]!, at.sd[i]!) / Math.hypot(...way)) * 180) / Math.PI };
}

/** Does the planned piece lie in the picture, rather than point at the lens? */
function isSeen(at: Off, to: Off, i: number): boolean {
  let longest = 0;
  const long = (k: number) => Math.hypot(to.planX[k]! - at.planX[k]!, to.planY[k]! - at.planY[k]!);
  for (let k = 0; k < at.planX.length; k++) if (long(k) > longest) longest = long(k);
  return long(i) > leastShare * longest;
}

/** From a to b, degrees, −180 to 180, clockwise as seen (y down). */
function between(a: Point, b: Point): number {
  return (Math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]) * 180) / Math.PI;
}
