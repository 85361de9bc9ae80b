import type { Part } from '../base/joints.ts';
import type { Tracks } from '../track/motion.ts';
import { type Extreme, extremesOf } from './extremes.ts';
import { samplePoses } from './poseSamples.ts';
import { type SizeUnit, sizeUnitOf } from './sizeUnit.ts';
import type { Timing } from './timing.ts';

/** An extreme with its place in the shot. */
export interface ExtremeInShot extends Pick<Extreme, 'takeSec' | 'kind'> {
  /** The frame nearest to it, from 0. */
  readonly frame: number;
  /** How far the part goes back from there, in the shot's unit. */
  readonly prominence: number;
  readonly unit: SizeUnit['name'];
  /** A key stands on the frame or on one beside it: the same pose. */
  readonly isKey: boolean;
}

/** A key within this of an extreme is the same pose, frames of the shot. */
const sameFrames = 1;

/** The extremes of a part within the shot, rising. */
export function extremesInShot(tracks: Tracks, timing: Timing, part: Part): ExtremeInShot[] {
  const { startSec, endSec, rate } = timing.choices;
  const { name: unit, perPx } = sizeUnitOf(timing);
  const lastSec = Math.max(startSec, tracks.timesSec.at(-1) ?? endSec);
  const samples = samplePoses(tracks, startSec, Math.min(endSec, lastSec));
  return extremesOf(tracks, part, samples).map((extreme) => {
    const exact = (timing.map.shotAt(extreme.takeSec) * rate.frames) / rate.seconds;
    const frame = Math.max(0, Math.min(timing.grid.frameCount - 1, Math.round(exact)));
    return {
      takeSec: extreme.takeSec,
      kind: extreme.kind,
      frame,
      prominence: extreme.prominence * timing.bodyHeightPx * perPx,
      unit,
      isKey: timing.keys.some((k) => Math.abs(k.frameIndex - frame) <= sameFrames),
    };
  });
}
