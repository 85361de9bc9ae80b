import type { Joint } from '../base/joints.ts';
import type { Motion } from '../track/motion.ts';
import type { PuppetProfile } from './profile.ts';
import type { Walk } from './steps.ts';
import type { Unplanted } from './unplanted.ts';

/** A joint of the tail, from its first piece's far end (1) outwards. */
export type TailJoint = `tail${number}`;
/** Whatever of the puppet has a place. */
export type PuppetJoint = Joint | TailJoint;

/**
 * Where one joint of the puppet is, as seen from the camera, millimetres on the set: x to the right in the picture, y up from the
 * floor. Shape [frame]; NaN = the performer's joint is not known there.
 */
export interface PuppetPath {
  readonly xMm: Float64Array;
  readonly yMm: Float64Array;
  /**
   * How far it lies out of the picture plane from the joint that carries it, without a sign: one camera does not tell toward from
   * away. 0 for what is not a limb's end.
   */
  readonly zMm: Float64Array;
  /** Standard deviation along one axis of the picture, from the tracks behind it. */
  readonly sdMm: Float64Array;
  /** 1 where a track behind it is filled in rather than seen. */
  readonly guessed: Uint8Array;
}

/** Frames of the shot, from 0. */
export interface FrameRun {
  readonly firstFrame: number;
  /** At least 1. */
  readonly frames: number;
}

/** How a walk is done on legs of another length: with the performer's steps, shorter or longer, or over the performer's ground. */
export type StepPlan = 'sameSteps' | 'sameGround';

/** Left and right, the performer's own. */
export type Side = 'left' | 'right';

/** A foot that stands still, and on what. Its planted point does not move by a hair within the run. */
export interface Planted extends FrameRun {
  readonly side: Side;
  readonly on: 'foot' | 'heel' | 'toe';
  /** Where it stands, millimetres: the ankle of a whole foot, else the heel or the toe. */
  readonly xMm: number;
  readonly yMm: number;
}

/** A hand that holds on to something: its wrist keeps this place for the run, or is too short for it. */
export interface Held extends FrameRun {
  readonly side: Side;
  readonly xMm: number;
  readonly yMm: number;
}

/** A limb that cannot reach where it should be. */
export interface OutOfReach extends FrameRun {
  readonly limb: `${Side}Arm` | `${Side}Leg`;
  /** By how much at worst, millimetres. */
  readonly worstMm: number;
  readonly worstFrame: number;
}

/** The performer's movement on the puppet. Limbs have the puppet's lengths in all frames (in space: x, y and z together). */
export interface PuppetMotion {
  readonly profile: PuppetProfile;
  /** What it follows, frame by frame: the performer's motion, under "same ground" with other steps than the performer took. */
  readonly followed: Motion;
  /** Puppet millimetres for one picture pixel of the performer, by standing height. */
  readonly mmPerPx: number;
  /** Where the set's x = 0, y = 0 lies in the performer's picture at the first frame, pixels: for showing one beside the other. */
  readonly originPx: readonly [number, number];
  readonly paths: ReadonlyMap<PuppetJoint, PuppetPath>;
  /** Runs of standing feet, rising; both feet may stand at once. */
  readonly planted: readonly Planted[];
  /** Hands in contact, rising. */
  readonly held: readonly Held[];
  /** Stretches of walking as the performer does them. */
  readonly walks: readonly Walk[];
  /** The puppet's legs over the performer's at the scale of the standing height; NaN where no leg was seen. */
  readonly legRatio: number;
  /** Feet were seen: else nothing is known of the ground, and the body goes as the performer's hips do. */
  readonly feetSeen: boolean;
  /** No foot stands still: the body is in the air, or a foot slides or turns; or it rests on something else. Rising. */
  readonly unplanted: readonly Unplanted[];
  readonly outOfReach: readonly OutOfReach[];
}

/** Does this foot stand in any of the frames, both ends included? */
export function standsWithin({ planted }: PuppetMotion, side: Side, first: number, last: number): boolean {
  return planted.some((p) => p.side === side && p.firstFrame <= last && p.firstFrame + p.frames > first);
}
