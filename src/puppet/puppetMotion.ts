import type { Joint } from '../base/joints.ts';
import type { PuppetProfile } from './profile.ts';

/** A joint of the tail, from its first piece's far end (1) outwards. */
export type TailJoint = `tail${number}`;
/** Whatever of the puppet has a place. */
export type PuppetJoint = Joint | TailJoint;

/**
 * Where one joint of the puppet is, as seen from the camera, millimetres on the set: x to the right in the picture, y up from the
 * floor, z out of the picture plane (only its size is sure, since one camera does not tell toward from away; see `depthIsSure`).
 * Shape [frame]; NaN = the performer's joint is not known there.
 */
export interface PuppetPath {
  readonly xMm: Float64Array;
  readonly yMm: Float64Array;
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

/** Left and right, the performer's own. */
export type Side = 'left' | 'right';

/** A foot that stands still, and on what. Its planted point does not move by a hair within the run. */
export interface Planted extends FrameRun {
  readonly side: Side;
  readonly on: 'foot' | 'heel' | 'toe';
  /** Where it stands: the ankle's foot point of a whole foot, else the heel or the toe; millimetres. */
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
  /** Puppet millimetres for one picture pixel of the performer, by standing height. */
  readonly mmPerPx: number;
  readonly paths: ReadonlyMap<PuppetJoint, PuppetPath>;
  /** Runs of standing feet, rising; both feet may stand at once. */
  readonly planted: readonly Planted[];
  /** Neither foot stands. */
  readonly airborne: readonly FrameRun[];
  readonly outOfReach: readonly OutOfReach[];
}
