import type { Joint } from '../../src/base/joints.ts';
import { asFilmed, type TimingChoices } from '../../src/timing/timing.ts';
import type { Tracks } from '../../src/track/motion.ts';
import { tracksThrough } from './authored.ts';

/** Choices of a new shot over a whole take: 24 fps on twos, a puppet of 250 mm. */
export function choicesFor(endSec: number, changes: Partial<TimingChoices> = {}): TimingChoices {
  return {
    rate: { frames: 24, seconds: 1 },
    startSec: 0,
    endSec,
    onFrames: 2,
    keyCount: null,
    pinnedKeys: [],
    removedKeysSec: [],
    retiming: { knots: [] },
    exaggeration: asFilmed,
    handContacts: [],
    exposureBudget: null,
    exposureSpans: [],
    exposedFrames: [],
    puppetHeightMm: 250,
    smallestStepMm: 0.3,
    ...changes,
  };
}

/** Exact tracks of one joint that goes where `x` and `y` say (pixels), seen `fps` times a second for `seconds`. */
export function oneJoint(
  joint: Joint,
  fps: number,
  seconds: number,
  bodyHeightPx: number,
  x: (sec: number) => number,
  y: (sec: number) => number,
): Tracks {
  const timesSec = Float64Array.from({ length: Math.round(seconds * fps) }, (_, i) => i / fps);
  const place = { x: timesSec.map(x), y: timesSec.map(y) };
  return tracksThrough({ timesSec, places: new Map([[joint, place]]) }, bodyHeightPx, 0);
}
