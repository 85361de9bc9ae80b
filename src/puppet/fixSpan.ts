import { soft } from './pieces.ts';
import type { PoseFix } from './poseFix.ts';
import type { PuppetMotion } from './puppetMotion.ts';

/** A fix fades in and out over so many frames beside its span. */
export const softFrames = 4;

/** First and last frame of a fix; null = it lies outside the shot. */
export function spanOf(
  { followed: { timesSec } }: PuppetMotion,
  { startSec, endSec }: Pick<PoseFix, 'startSec' | 'endSec'>,
): [number, number] | null {
  const within = [...timesSec.keys()].filter((k) => timesSec[k]! >= startSec - 1e-6 && timesSec[k]! <= endSec + 1e-6);
  return within.length === 0 ? null : [within[0]!, within.at(-1)!];
}

/** 1 within a span, softly to 0 beside it. */
export function fading(k: number, first: number, last: number): number {
  return soft(1 - Math.max(0, first - k, k - last) / softFrames);
}

/**
 * What is needed at the frames of a span, never less there, led softly in and out beside it and over what differs from frame to frame:
 * at each frame the largest need around, fading. NaN counts as none.
 * @param needs from frame `first` on.
 * @returns frames within the shot and how much at each.
 */
export function* spread(needs: readonly number[], first: number, frameCount: number): Generator<[number, number]> {
  const last = first + needs.length - 1;
  for (let k = Math.max(0, first - softFrames); k <= Math.min(frameCount - 1, last + softFrames); k++) {
    let most = 0;
    for (let j = Math.max(first, k - softFrames); j <= Math.min(last, k + softFrames); j++) {
      const part = (needs[j - first]! || 0) * soft(1 - Math.abs(j - k) / softFrames);
      if (Math.abs(part) > Math.abs(most)) most = part;
    }
    yield [k, most];
  }
}
