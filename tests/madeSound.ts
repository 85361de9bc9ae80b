/** Made sounds with known beginnings, for tests. */
import type { Soundtrack } from '../src/base/sound.ts';
import { SoundEnvelope } from '../src/ingest/soundEnvelope.ts';
import { gaussian, seeded } from './make.ts';

/** A sound laid into a take: its samples begin at `atSec`. */
export interface Laid {
  readonly atSec: number;
  readonly samples: Float32Array;
}

/** Samples a second of made sounds. */
export const madeRate = 48000;

/** One sample, or a few: a click. */
export const click = (amplitude = 0.8): Float32Array => Float32Array.of(amplitude, -amplitude, amplitude / 2);

/** A tone that swells to its amplitude in `attackSec` and dies away in `lengthSec`. */
export function tone(hz: number, lengthSec: number, attackSec = 0.002, amplitude = 0.5): Float32Array {
  return Float32Array.from({ length: Math.round(lengthSec * madeRate) }, (_, i) => {
    const t = i / madeRate;
    return amplitude * Math.min(1, t / attackSec) * (1 - t / lengthSec) * Math.sin(2 * Math.PI * hz * t);
  });
}

/** Noise that begins at once and dies away. */
export function burst(lengthSec: number, amplitude: number, seed: number): Float32Array {
  const draw = gaussian(seeded(seed));
  const n = Math.round(lengthSec * madeRate);
  return Float32Array.from({ length: n }, (_, i) => 0.3 * amplitude * draw() * (1 - i / n));
}

/** Sounds laid over steady noise of an amplitude (root mean square). Shape [sample]. */
export function mix(lengthSec: number, laid: readonly Laid[], noise = 0, seed = 1): Float32Array {
  const draw = gaussian(seeded(seed));
  const out = Float32Array.from({ length: Math.round(lengthSec * madeRate) }, () => (noise > 0 ? noise * draw() : 0));
  for (const { atSec, samples } of laid) {
    const from = Math.round(atSec * madeRate);
    for (const [i, v] of samples.entries()) if (from + i < out.length) out[from + i]! += v;
  }
  return out;
}

/** The soundtrack of samples pushed in pieces, as a decoder would hand them. */
export function soundtrackOf(samples: Float32Array, startSec = 0, rate = madeRate, piece = 1024): Soundtrack {
  const envelope = new SoundEnvelope(rate);
  for (let i = 0; i < samples.length; i += piece) envelope.push(samples.subarray(i, i + piece), startSec + i / rate);
  return envelope.finish({ codec: 'made', channels: 1 })!;
}
