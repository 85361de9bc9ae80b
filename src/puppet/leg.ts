import { directionOf, putFoot } from './foot.ts';
import { bendSides, limbAt, reach } from './legs.ts';
import type { PieceTrack, PlaneTrack } from './pieces.ts';
import type { Places } from './places.ts';
import type { PuppetProfile } from './profile.ts';
import type { Side } from './puppetMotion.ts';
import type { Root } from './root.ts';
import { type Standing, standingAt } from './standing.ts';
import { floorLift, groundUnder, swingCorrections } from './swing.ts';
import { longestAsBent } from './withinReach.ts';

/** A leg as the performer's angles would hang it from the hips. Shape [frame] throughout. */
export interface HangingLeg {
  readonly thigh: PieceTrack;
  readonly shank: PieceTrack;
  /** Of length 1 at most. */
  readonly foot: PieceTrack;
  /** From the pelvis to the hip joint. */
  readonly hip: PlaneTrack;
  /** From the pelvis to the ankle. */
  readonly chain: PlaneTrack;
  /** How far it reaches in the picture with the bend that it has. */
  readonly longest: Float64Array;
}

/** @param across from the right hip to the left. */
export function hangLeg(
  side: Side,
  across: PieceTrack,
  thigh: PieceTrack,
  shank: PieceTrack,
  foot: PieceTrack,
  { thighMm, shankMm }: PuppetProfile['sizes'],
): HangingLeg {
  const sign = side === 'left' ? 0.5 : -0.5;
  const hip: PlaneTrack = { x: across.x.map((v) => sign * v), y: across.y.map((v) => sign * v) };
  const chain: PlaneTrack = {
    x: hip.x.map((v, k) => v + thigh.x[k]! + shank.x[k]!),
    y: hip.y.map((v, k) => v + thigh.y[k]! + shank.y[k]!),
  };
  return { thigh, shank, foot, hip, chain, longest: longestAsBent(thigh, shank, thighMm, shankMm) };
}

/**
 * Knee, ankle and foot: bent to where the foot stands, else led from where it stood to where it will.
 * @param target where the ankle is to be while the foot stands; NaN elsewhere.
 * @returns how far the leg stays short of where its foot stands at each frame, millimetres.
 */
export function putLeg(
  made: Places,
  side: Side,
  leg: HangingLeg,
  target: PlaneTrack,
  standings: readonly Standing[],
  root: Root,
  { sizes }: PuppetProfile,
): Float64Array {
  const n = target.x.length;
  const { thigh, shank, foot, chain } = leg;
  const bends = bendSides(thigh, shank);
  const ground = groundUnder(standings, root.places, n);
  const swung = (k: number): [number, number] => [root.x[k]! + chain.x[k]!, root.y[k]! + chain.y[k]!];
  const swing = swingCorrections(target, swung);
  const short = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    const hip: [number, number] = [made.x(`${side}Hip`, k), made.y(`${side}Hip`, k)];
    const forward = directionOf(foot, k);
    const isStanding = !Number.isNaN(target.x[k]!);
    const [sx, sy] = swung(k);
    const ankle: [number, number] = isStanding ? [target.x[k]!, target.y[k]!] : [sx + swing.x[k]!, sy + swing.y[k]!];
    if (!isStanding) ankle[1] += floorLift(forward, ankle, ground[k]!, sizes);
    const bent = reach(hip, ankle, limbAt(thigh, shank, k), sizes.thighMm, sizes.shankMm, bends[k]!);
    made.put(`${side}Knee`, k, ...bent.middle, bent.middleZ);
    made.put(`${side}Ankle`, k, ...bent.end, bent.endZ);
    if (isStanding) short[k] = bent.shortMm;
    putFoot(made, side, k, bent.end, forward, standingAt(standings, k), root.places, sizes);
  }
  return short;
}
