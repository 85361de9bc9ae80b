import { assert } from './assert.ts';
import { type FrameRate, fpsOf } from './frameRate.ts';

/** Frames in a foot of 35 mm film with four perforations a frame (24 fps = 90 ft a minute). */
export const framesPerFoot = 16;

/**
 * SMPTE time code of a frame counted from 0, "hh:mm:ss:ff". For 29.97 and 59.94 the drop-frame count with ";" before the
 * frames: numbers 0 and 1 (0 to 3 at 59.94) are skipped at each minute except every tenth, so that the code stays with the
 * clock (SMPTE ST 12-1). 23.976 has no drop-frame count and runs at 24. Runs over at 24 h.
 */
export function timecodeOf(rate: FrameRate, index: number): string {
  assert(Number.isInteger(index) && index >= 0, `time code of frame ${index}`);
  const base = Math.round(fpsOf(rate));
  const drops = rate.seconds === 1001 && base % 30 === 0;
  let number = index;
  if (drops) {
    const skipped = base / 15;
    const perMinute = base * 60 - skipped;
    const perTenMinutes = perMinute * 10 + skipped;
    const tens = Math.floor(index / perTenMinutes);
    const rest = index % perTenMinutes;
    // The first minute of ten skips nothing and is the longer one.
    const minutes = rest < base * 60 ? 0 : 1 + Math.floor((rest - base * 60) / perMinute);
    number += skipped * (9 * tens + minutes);
  }
  const seconds = Math.floor(number / base);
  const two = (n: number) => String(n).padStart(2, '0');
  const clock = `${two(Math.floor(seconds / 3600) % 24)}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
  return `${clock}${drops ? ';' : ':'}${two(number % base)}`;
}

/** A length in frames as feet of 35 mm film and the frames over: 72 frames are "4 + 8". */
export function feetAndFrames(frames: number): string {
  assert(Number.isInteger(frames) && frames >= 0, `length of ${frames} frames`);
  return `${Math.floor(frames / framesPerFoot)} + ${String(frames % framesPerFoot).padStart(2, '0')}`;
}
