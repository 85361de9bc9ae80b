import { type Joint, jointWords } from '../base/joints.ts';
import { median } from '../track/quantile.ts';
import type { Off } from './deviations.ts';
import { mmWords } from './finding.ts';

/** Which joint carries which, those nearer to the hips first. */
const carriers: readonly (readonly [Joint, Joint])[] = [
  ['neck', 'pelvis'],
  ['chest', 'pelvis'],
  ...(['nose', 'leftEye', 'rightEye', 'leftEar', 'rightEar', 'mouth', 'chin'] as const).map((joint): [Joint, Joint] => [
    joint,
    'neck',
  ]),
  ...(['left', 'right'] as const).flatMap((side): [Joint, Joint][] => [
    [`${side}Shoulder`, 'neck'],
    [`${side}Elbow`, `${side}Shoulder`],
    [`${side}Wrist`, `${side}Elbow`],
    [`${side}Hand`, `${side}Wrist`],
    [`${side}Hip`, 'pelvis'],
    [`${side}Knee`, `${side}Hip`],
    [`${side}Ankle`, `${side}Knee`],
    [`${side}Heel`, `${side}Ankle`],
    [`${side}Toe`, `${side}Ankle`],
  ]),
];

/** All joints that another carries, from the hips outward. */
export const carriedJoints: readonly Joint[] = carriers.map(([joint]) => joint);

/** The joint that carries another; null for the pelvis. */
export function carriedBy(joint: Joint): Joint | null {
  return carriers.find(([carried]) => carried === joint)?.[1] ?? null;
}

/** A joint that lies elsewhere on what carries it than planned, in all of the shot. Millimetres. */
export interface Throughout {
  readonly joint: Joint;
  readonly carrier: Joint;
  /** How much further from what carries it, on average; negative = nearer. */
  readonly furtherMm: number;
  /** How far off in all, on average. */
  readonly sizeMm: number;
  readonly sdMm: number;
}

/** What is the same for this share of exposures is how the puppet is built or marked, and no fault of the shot. */
const throughoutShare = 0.75;
/** ... within so many standard deviations. */
const nearSds = 2.5;
/** Fewer exposures than this tell nothing of the whole shot. */
const leastExposures = 10;

/**
 * Takes out what is the same in nearly all exposures: each joint may lie further from what carries it, or nearer, or turned about it by
 * some angle, always by as much, or else beside it the same way; and all of the body beside its place. A detector finds joints of a puppet elsewhere than their centres,
 * and no puppet is built to a hair as its profile says.
 * @param isLeft joints that are left as they are against what carries them.
 */
export function withoutThroughout(
  offs: ReadonlyMap<Joint, Off>,
  isLeft: (joint: Joint) => boolean,
): { readonly offs: ReadonlyMap<Joint, Off>; readonly throughout: readonly Throughout[] } {
  const shifts = new Map<Joint, { x: Float64Array; y: Float64Array }>();
  const throughout: Throughout[] = [];
  const pelvis = offs.get('pelvis');
  if (pelvis) {
    const [x, y] = middleOff(pelvis) ?? [0, 0];
    shifts.set('pelvis', { x: pelvis.x.map(() => x), y: pelvis.y.map(() => y) });
  }
  for (const [joint, carrier] of carriers) {
    const [off, base] = [offs.get(joint), offs.get(carrier)];
    if (!off) continue;
    const under = shifts.get(carrier);
    const shift = { x: off.x.map((_, i) => under?.x[i] ?? 0), y: off.y.map((_, i) => under?.y[i] ?? 0) };
    shifts.set(joint, shift);
    if (!base || isLeft(joint)) continue;
    const fit = turnAndLength(off, base);
    // A foot on the floor goes neither with a leg that bends nor turns about it.
    const beside = fit ? null : middleOff(against(off, base));
    if (!fit && !beside) continue;
    const [a, b] = fit ?? [0, 0];
    const [bx, by] = beside ?? [0, 0];
    let [way, count, along] = [0, 0, 0];
    for (let i = 0; i < off.x.length; i++) {
      const [vx, vy] = [off.planX[i]! - base.planX[i]!, off.planY[i]! - base.planY[i]!];
      if (Number.isNaN(vx + vy)) continue;
      shift.x[i]! += a * vx - b * vy + bx;
      shift.y[i]! += b * vx + a * vy + by;
      const long = Math.hypot(vx, vy);
      way += long;
      along += long > 0 ? (bx * vx + by * vy) / long : 0;
      count++;
    }
    const mean = way / count;
    const sizeMm = Math.hypot(a, b) * mean + Math.hypot(bx, by);
    throughout.push({ joint, carrier, furtherMm: a * mean + along / count, sizeMm, sdMm: median(off.sd) });
  }
  const out = new Map<Joint, Off>();
  for (const [joint, off] of offs) {
    const shift = shifts.get(joint);
    out.set(
      joint,
      shift ? { ...off, x: off.x.map((v, i) => v - shift.x[i]!), y: off.y.map((v, i) => v - shift.y[i]!) } : off,
    );
  }
  return { offs: out, throughout };
}

/** What a joint is off by as against what carries it. */
function against(off: Off, base: Off): Pick<Off, 'x' | 'y' | 'sd'> {
  return {
    x: off.x.map((v, i) => v - base.x[i]!),
    y: off.y.map((v, i) => v - base.y[i]!),
    sd: off.sd.map((sd, i) => Math.hypot(sd, base.sd[i]!)),
  };
}

/** Where a joint lies off its place in nearly all exposures; null where there is no such place. */
function middleOff({ x, y, sd }: Pick<Off, 'x' | 'y' | 'sd'>): [number, number] | null {
  const known = [...x.keys()].filter((i) => Number.isFinite(x[i]! + y[i]!));
  const [mx, my] = [median(known.map((i) => x[i]!)), median(known.map((i) => y[i]!))];
  const near = known.filter((i) => Math.hypot(x[i]! - mx, y[i]! - my) < nearSds * sd[i]!);
  return known.length >= leastExposures && near.length >= throughoutShare * known.length ? [mx, my] : null;
}

/**
 * By how much a piece is longer (a) and turned (b) in nearly all exposures: what its ends are off against each other is (a + ib) times the
 * planned piece, by least squares reweighted after Tukey's biweight. Null where it is not so in nearly all of them.
 */
function turnAndLength(off: Off, base: Off): [number, number] | null {
  const rows: { dx: number; dy: number; vx: number; vy: number; sd: number }[] = [];
  for (let i = 0; i < off.x.length; i++) {
    const row = {
      dx: off.x[i]! - base.x[i]!,
      dy: off.y[i]! - base.y[i]!,
      vx: off.planX[i]! - base.planX[i]!,
      vy: off.planY[i]! - base.planY[i]!,
      sd: Math.hypot(off.sd[i]!, base.sd[i]!),
    };
    if (Number.isFinite(row.dx + row.dy + row.vx + row.vy) && row.sd > 0) rows.push(row);
  }
  if (rows.length < leastExposures) return null;
  let [a, b] = [0, 0];
  const left = (r: (typeof rows)[number]) => Math.hypot(r.dx - a * r.vx + b * r.vy, r.dy - b * r.vx - a * r.vy) / r.sd;
  let width = Number.POSITIVE_INFINITY;
  for (let round = 0; round < 12; round++) {
    let [squares, dot, cross] = [0, 0, 0];
    for (const r of rows) {
      const share = left(r) / width;
      const w = share < 1 ? (1 - share * share) ** 2 / r.sd ** 2 : 0;
      squares += w * (r.vx * r.vx + r.vy * r.vy);
      dot += w * (r.vx * r.dx + r.vy * r.dy);
      cross += w * (r.vx * r.dy - r.vy * r.dx);
    }
    if (!(squares > 0)) return null;
    [a, b] = [dot / squares, cross / squares];
    width = 5 * Math.max(1, median(rows.map(left)) / Math.sqrt(2 * Math.LN2));
  }
  return rows.filter((r) => left(r) < nearSds).length >= throughoutShare * rows.length ? [a, b] : null;
}

/** So many joints are named. */
const mostNamed = 3;

/**
 * Says on paper which joints were found elsewhere in all of the shot; "" for none.
 * @param leftOut the furthest first.
 * @param unsure joints that are hardly recognised: they are told to be that.
 */
export function leftOutSentence(leftOut: readonly Throughout[], unsure: readonly Joint[]): string {
  const left = leftOut.filter(({ joint }) => !unsure.includes(joint));
  if (left.length === 0) return '';
  const named = left.slice(0, mostNamed).map((t) => `${jointWords(t.joint)} ${mmWords(t.sizeMm)}`);
  const rest = left.length > mostNamed ? ` and ${left.length - mostNamed} more` : '';
  return `Found beside where it was planned in all of the shot, and so not counted: ${named.join(', ')}${rest}.`;
}

/** The same, with what may be done; "" for none. */
export function leftOutWords(leftOut: readonly Throughout[], unsure: readonly Joint[]): string {
  const sentence = leftOutSentence(leftOut, unsure);
  return (
    sentence &&
    `${sentence} The puppet is seen or built otherwise than its profile says: compare its lengths on the Puppet screen.`
  );
}
