import type { PoseSamples, SampledJoint } from './poseSamples.ts';

/** How fast the body and each joint move, per sample. Body heights per second. */
export interface Speeds {
  /** Root of the weighted sum of squares over the joints, each counted less the less its place is known. Shape [sample]. */
  readonly body: Float64Array;
  /** Largest speed of any joint after taking off what its noise alone would show. Shape [sample]. */
  readonly surest: Float64Array;
}

/** Speed is taken over this many samples to either side: 0.08 s in all, two frames at 24 fps. */
const reach = 2;
/** Sightings err alike for about this long: an error that changes over 0.2 s moves 0.6 of its size in 0.08 s. */
const noiseSpeedPerSd = 0.6 / 0.083;
/** Noise of one joint stays below this many standard deviations; over a dozen joints one in twenty samples does not. */
const noiseSds = 2.5;
/** A joint known to 1 % of the body height counts half. */
const halfTrustSd = 0.01;

/** Speeds of the whole body and of the joint that moves most surely. */
export function speedsOf(samples: PoseSamples): Speeds {
  const body = new Float64Array(samples.count);
  const surest = new Float64Array(samples.count);
  for (const joint of samples.joints) {
    for (let k = 0; k < samples.count; k++) {
      const speed = speedAt(joint, k, samples);
      const sd = joint.sd[k] ?? 0;
      const trust = joint.weight / (1 + (sd / halfTrustSd) ** 2);
      body[k] = (body[k] ?? 0) + trust * speed * speed;
      surest[k] = Math.max(surest[k] ?? 0, speed - noiseSds * noiseSpeedPerSd * sd);
    }
  }
  return { body: body.map(Math.sqrt), surest };
}

function speedAt(joint: SampledJoint, k: number, samples: PoseSamples): number {
  const a = Math.max(0, k - reach);
  const b = Math.min(samples.count - 1, k + reach);
  if (b === a) return 0;
  const dx = (joint.x[b] ?? 0) - (joint.x[a] ?? 0);
  const dy = (joint.y[b] ?? 0) - (joint.y[a] ?? 0);
  return Math.hypot(dx, dy) / ((b - a) * samples.stepSec);
}

/** A run of samples, both ends included. */
export interface SampleSpan {
  readonly first: number;
  readonly last: number;
}

/** Runs in which `values` stay at or below `limit`. */
export function runsBelow(values: Float64Array, limit: number): SampleSpan[] {
  const runs: SampleSpan[] = [];
  let first = -1;
  for (let k = 0; k <= values.length; k++) {
    const below = k < values.length && (values[k] ?? 0) <= limit;
    if (below && first < 0) first = k;
    if (!below && first >= 0) {
      runs.push({ first, last: k - 1 });
      first = -1;
    }
  }
  return runs;
}
