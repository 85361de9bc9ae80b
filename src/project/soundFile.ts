import { type Soundtrack, soundBinsPerSec } from '../base/sound.ts';

/** The words part of a kept soundtrack, as JSON; the numbers stand in `soundNumbers`. */
export function soundHead({ startSec, binsPerSec, codec, channels, rms }: Soundtrack): string {
  return JSON.stringify({
    format: 'nudgebook-sound',
    version: 1,
    startSec,
    binsPerSec,
    bins: rms.length,
    codec,
    channels,
  });
}

/**
 * The number columns of a soundtrack, little-endian, one after another, each of shape [bin]: low, high and rms as 16-bit whole
 * numbers, rise as 32-bit floats. Ten bytes a bin, less when zipped.
 */
export function soundNumbers(sound: Soundtrack): Uint8Array {
  const n = sound.rms.length;
  const bytes = new Uint8Array(10 * n);
  const view = new DataView(bytes.buffer);
  for (const [c, column] of [sound.low, sound.high, sound.rms].entries())
    for (let b = 0; b < n; b++) view.setInt16(2 * (c * n + b), column[b]!, true);
  for (let b = 0; b < n; b++) view.setFloat32(6 * n + 4 * b, sound.rise[b]!, true);
  return bytes;
}

/** The soundtrack back; null where head or numbers are not what this version writes (the take's sound is then read again). */
export function soundFrom(head: string, bytes: Uint8Array): Soundtrack | null {
  const about = parsed(head);
  const n = Number(about.bins);
  const startSec = Number(about.startSec);
  const isOurs = about.format === 'nudgebook-sound' && about.version === 1 && about.binsPerSec === soundBinsPerSec;
  if (!isOurs || !Number.isFinite(startSec) || !Number.isInteger(n) || bytes.byteLength !== 10 * n) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const whole = (c: number) => Int16Array.from({ length: n }, (_, b) => view.getInt16(2 * (c * n + b), true));
  return {
    startSec,
    binsPerSec: soundBinsPerSec,
    low: whole(0),
    high: whole(1),
    rms: whole(2),
    rise: Float32Array.from({ length: n }, (_, b) => view.getFloat32(6 * n + 4 * b, true)),
    codec: String(about.codec),
    channels: Number(about.channels),
  };
}

function parsed(text: string): Record<string, unknown> {
  try {
    const value: unknown = JSON.parse(text);
    return typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {};
  } catch {
    return {};
  }
}
