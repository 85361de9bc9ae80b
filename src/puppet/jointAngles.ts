import { type Facing, facingOf, placeOf } from './facing.ts';
import { type LimitName, limitOf } from './profile.ts';
import type { PuppetJoint, PuppetMotion, Side } from './puppetMotion.ts';

/** Joints that have a limit, as they are looked at: elbows and knees once for bending and once for bending the wrong way. */
export type LimitedJoint = 'neck' | `${Side}${'Shoulder' | 'Elbow' | 'Wrist' | 'Hip' | 'Knee' | 'Ankle'}`;

/** One joint in one frame, in the direction in which it is furthest beyond its limit or nearest to it. */
export interface JointAngle {
  readonly name: LimitName | 'elbowBack' | 'kneeBack';
  /** How far it goes in that direction, degrees; where depth is not known, the least that it can be. */
  readonly deg: number;
  readonly limitDeg: number;
  /** The limit is a person's, because the puppet's own is not known. */
  readonly isPersons: boolean;
  /** Standard deviation of `deg`, from the tracks. */
  readonly sdDeg: number;
  /** How the body is seen; null where it does not matter. */
  readonly view: Facing['view'] | null;
  /** By what angle (degrees, anticlockwise in the picture) what hangs on the joint must turn so that it goes `deg` far; NaN = no turn does. */
  readonly turnTo: (deg: number) => number;
}

/**
 * Elbows and knees of people overstretch by 1 to 5° on average (CDC, Soucie et al. 2011, adults, from memory) and by 10° without being
 * ill (from memory); of puppets by what they were built for, which the profile does not tell.
 */
export const backwardDeg = 10;
/** An arm or thigh that is this much foreshortened has no angle that can be told. */
const leastShare = 0.6;
/** For the wrong way, limbs must lie in the picture plane nearly. */
const inPlane = 0.85;
/** An upper arm further than this from hanging may be rolled so that the elbow's back is not where it seems. */
const rolledDeg = 60;

type Vector = readonly [number, number];
const deg = (radians: number) => (radians * 180) / Math.PI;
const rad = (degrees: number) => (degrees * Math.PI) / 180;
const acosDeg = (cosine: number) => deg(Math.acos(Math.max(-1, Math.min(1, cosine))));
/** From a to b, degrees anticlockwise, −180 to 180. */
const between = (a: Vector, b: Vector) => deg(Math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]));

interface Limb {
  readonly v: Vector;
  readonly planeMm: number;
  /** Of its length in the picture, 0..1. */
  readonly share: number;
  /** Out of the picture, without a sign. */
  readonly z: number;
  readonly lengthMm: number;
  readonly sdDeg: number;
}

function limb(motion: PuppetMotion, from: PuppetJoint, to: PuppetJoint, lengthMm: number, k: number): Limb | null {
  const [a, b] = [placeOf(motion, from, k), placeOf(motion, to, k)];
  const v: Vector = [b[0] - a[0], b[1] - a[1]];
  const planeMm = Math.hypot(...v);
  if (!(planeMm > 0)) return null;
  const sd = Math.hypot(motion.paths.get(from)!.sdMm[k]!, motion.paths.get(to)!.sdMm[k]!);
  const long = Math.max(lengthMm, planeMm);
  return {
    v,
    planeMm,
    share: planeMm / long,
    z: Math.sqrt(long * long - planeMm * planeMm),
    lengthMm: long,
    sdDeg: deg(Math.atan2(sd, planeMm)),
  };
}

/** The joint in a frame; null where it cannot be told. Of several directions the one furthest beyond. */
export function jointAngleAt(motion: PuppetMotion, joint: LimitedJoint, k: number): JointAngle | null {
  if (joint === 'neck') return neckAt(motion, k);
  const side: Side = joint.startsWith('left') ? 'left' : 'right';
  const { sizes: s } = motion.profile;
  switch (joint.slice(side.length)) {
    case 'Shoulder':
      return ballAt(motion, 'Shoulder', side, limb(motion, joint, `${side}Elbow`, s.upperArmMm, k), k);
    case 'Hip':
      return ballAt(motion, 'Hip', side, limb(motion, joint, `${side}Knee`, s.thighMm, k), k);
    case 'Elbow': {
      const upper = limb(motion, `${side}Shoulder`, joint, s.upperArmMm, k);
      const fore = limb(motion, joint, `${side}Wrist`, s.forearmMm, k);
      return furthest([hinge(motion, upper, fore, ['elbowBend']), backward(motion, 'elbowBack', side, upper, fore, k)]);
    }
    case 'Knee': {
      const thigh = limb(motion, `${side}Hip`, joint, s.thighMm, k);
      const shank = limb(motion, joint, `${side}Ankle`, s.shankMm, k);
      return furthest([hinge(motion, thigh, shank, ['kneeBend']), backward(motion, 'kneeBack', side, thigh, shank, k)]);
    }
    case 'Wrist':
      // One camera does not tell the palm from the back of the hand.
      return hinge(
        motion,
        limb(motion, `${side}Elbow`, joint, s.forearmMm, k),
        limb(motion, joint, `${side}Hand`, s.handMm, k),
        ['wristBend', 'wristBack'],
      );
    default:
      return ankleAt(motion, side, k);
  }
}

function furthest(angles: readonly (JointAngle | null)[]): JointAngle | null {
  return angles.reduce((a, b) => (a && b ? (b.deg - b.limitDeg > a.deg - a.limitDeg ? b : a) : (a ?? b)), null);
}

/** The largest of these limits: what counts where the picture does not tell which of them does. */
function generous(motion: PuppetMotion, names: readonly LimitName[]) {
  return names.map((name) => ({ name, ...limitOf(motion.profile, name) })).reduce((a, b) => (b.deg > a.deg ? b : a));
}

/** How far two pieces in a row are bent from straight: the least, whichever way each points out of the picture. */
function hinge(motion: PuppetMotion, a: Limb | null, b: Limb | null, names: readonly LimitName[]): JointAngle | null {
  if (!a || !b) return null;
  const seen = between(a.v, b.v);
  const [flat, deep, long] = [a.planeMm * b.planeMm, a.z * b.z, a.lengthMm * b.lengthMm];
  const { name, deg: limitDeg, isPersons } = generous(motion, names);
  return {
    name,
    deg: acosDeg((flat * Math.cos(rad(seen)) + deep) / long),
    limitDeg,
    isPersons,
    sdDeg: Math.hypot(a.sdDeg, b.sdDeg),
    view: null,
    turnTo: (bend) => {
      const cosine = (long * Math.cos(rad(bend)) - deep) / flat;
      return cosine > 1 ? Number.NaN : Math.sign(seen) * acosDeg(cosine) - seen;
    },
  };
}

/** An elbow or a knee that bends the wrong way, in a side view that leaves no doubt. */
function backward(
  motion: PuppetMotion,
  name: 'elbowBack' | 'kneeBack',
  side: Side,
  a: Limb | null,
  b: Limb | null,
  k: number,
): JointAngle | null {
  if (!a || !b || Math.min(a.share, b.share) < inPlane) return null;
  const facing = facingOf(motion, name === 'kneeBack' ? 'Hip' : 'Shoulder', k);
  if (facing?.view !== 'side') return null;
  const { toward, right, up } = facing;
  if (name === 'kneeBack') {
    const [heel, toe] = [placeOf(motion, `${side}Heel`, k), placeOf(motion, `${side}Toe`, k)];
    const ahead = toward * ((toe[0] - heel[0]) * right[0] + (toe[1] - heel[1]) * right[1]);
    // A leg that is turned out bends to the side.
    if (!(ahead > inPlane * motion.profile.sizes.footMm)) return null;
  } else if (Math.abs(between([-up[0], -up[1]], a.v)) > rolledDeg) return null;
  const wrong = name === 'kneeBack' ? toward : -toward;
  const seen = between(a.v, b.v);
  return {
    name,
    deg: wrong * seen,
    limitDeg: backwardDeg,
    isPersons: true,
    sdDeg: Math.hypot(a.sdDeg, b.sdDeg),
    view: 'side',
    turnTo: (bend) => wrong * bend - seen,
  };
}

/** A shoulder or hip: how far the limb is from hanging along the trunk, forward and back in a side view, out in a front view. */
function ballAt(motion: PuppetMotion, line: 'Shoulder' | 'Hip', side: Side, a: Limb | null, k: number) {
  const facing = facingOf(motion, line, k);
  if (!a || !facing || a.share < leastShare) return null;
  const [forward, back, out] = (
    line === 'Shoulder' ? ['shoulderForward', 'shoulderBack', 'shoulderOut'] : ['hipForward', 'hipBack', 'hipOut']
  ) as [LimitName, LimitName, LimitName];
  const seen = between([-facing.up[0], -facing.up[1]], a.v);
  const sdDeg = Math.hypot(a.sdDeg, trunkSdDeg(motion, k));
  const direction = (name: LimitName, sign: number) =>
    towards(name, limitOf(motion.profile, name), sign, seen, sdDeg, facing.view);
  if (facing.view === 'side') {
    const [ahead, behind] = [direction(forward, facing.toward), direction(back, -facing.toward)];
    // Behind the limit of one lies that of the other, the long way round: the nearer counts.
    return within(ahead) || within(behind)
      ? nearer(ahead, behind)
      : behind.deg - behind.limitDeg < ahead.deg - ahead.limitDeg
        ? behind
        : ahead;
  }
  if (facing.view === 'threeQuarter') {
    const most = generous(motion, [forward, back, out]);
    return towards(most.name, most, Math.sign(seen) || 1, seen, sdDeg, facing.view);
  }
  // Facing the lens the left limbs are right in the picture. Inwards a limb goes before the body, which has no limit here.
  const outwards = (facing.view === 'front' ? 1 : -1) * (side === 'left' ? 1 : -1);
  return outwards * seen > 0 ? direction(out, outwards) : null;
}

const within = (angle: JointAngle) => angle.deg <= angle.limitDeg;
/** The one in whose direction the limb is. */
const nearer = (a: JointAngle, b: JointAngle) => (a.deg <= b.deg ? a : b);

/** How far along a direction, 0 to 360°. */
function towards(
  name: LimitName,
  limit: { readonly deg: number; readonly isPersons: boolean },
  sign: number,
  seen: number,
  sdDeg: number,
  view: Facing['view'],
): JointAngle {
  const along = (sign * seen + 360) % 360;
  return {
    name,
    deg: along,
    limitDeg: limit.deg,
    isPersons: limit.isPersons,
    sdDeg,
    view,
    turnTo: (wanted) => sign * (wanted - along),
  };
}

function trunkSdDeg(motion: PuppetMotion, k: number): number {
  return limb(motion, 'pelvis', 'neck', motion.profile.sizes.trunkMm, k)?.sdDeg ?? 0;
}

/** The head against the trunk, by the middle of the ears. */
function neckAt(motion: PuppetMotion, k: number): JointAngle | null {
  const facing = facingOf(motion, 'Shoulder', k);
  if (!facing) return null;
  const { headMm, neckMm } = motion.profile.sizes;
  const [neck, left, right] = (['neck', 'leftEar', 'rightEar'] as const).map((j) => placeOf(motion, j, k)) as [
    Vector,
    Vector,
    Vector,
  ];
  const head: Vector = [(left[0] + right[0]) / 2 - neck[0], (left[1] + right[1]) / 2 - neck[1]];
  const long = Math.hypot(...head);
  // A head that leans at the lens or away.
  if (!(long > leastShare * (neckMm + headMm / 2))) return null;
  const seen = between(facing.up, head);
  const ears = motion.paths.get('leftEar')!;
  const sdDeg = Math.hypot(deg(Math.atan2(ears.sdMm[k]!, long)), trunkSdDeg(motion, k));
  const sign = Math.sign(seen) || 1;
  const of = (limit: { name: LimitName; deg: number; isPersons: boolean }) =>
    towards(limit.name, limit, sign, seen, sdDeg, facing.view);
  if (facing.view === 'threeQuarter') return of(generous(motion, ['neckForward', 'neckBack', 'neckSide']));
  if (facing.view !== 'side') return of(generous(motion, ['neckSide']));
  // To the right in the picture is clockwise.
  return of(generous(motion, [sign === -facing.toward ? 'neckForward' : 'neckBack']));
}

/** The foot against the shank, from a right angle: the least that it can be up or down. */
function ankleAt(motion: PuppetMotion, side: Side, k: number): JointAngle | null {
  const { shankMm, footMm } = motion.profile.sizes;
  const shank = limb(motion, `${side}Ankle`, `${side}Knee`, shankMm, k);
  const foot = limb(motion, `${side}Heel`, `${side}Toe`, footMm, k);
  if (!shank || !foot) return null;
  const seen = between(shank.v, foot.v);
  const [flat, deep, long] = [shank.planeMm * foot.planeMm, shank.z * foot.z, shank.lengthMm * foot.lengthMm];
  const one = (name: 'ankleUp' | 'ankleDown', sign: 1 | -1): JointAngle => {
    const { deg: limitDeg, isPersons } = limitOf(motion.profile, name);
    return {
      name,
      deg: sign * (acosDeg((flat * Math.cos(rad(seen)) + sign * deep) / long) - 90),
      limitDeg,
      isPersons,
      sdDeg: Math.hypot(shank.sdDeg, foot.sdDeg),
      view: null,
      turnTo: (wanted) => {
        const cosine = (long * Math.cos(rad(90 + sign * wanted)) - sign * deep) / flat;
        return Math.abs(cosine) > 1 ? Number.NaN : (Math.sign(seen) || 1) * acosDeg(cosine) - seen;
      },
    };
  };
  return furthest([one('ankleUp', -1), one('ankleDown', 1)]);
}
