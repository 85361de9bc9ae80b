import { describe, expect, it } from 'vitest';
import type { Steps } from '../../src/base/steps.ts';
import { readStory, type StoryChoices, storySteps } from '../../src/timing/story.ts';
import type { Correction } from '../../src/track/correction.ts';
import { fitTracks, TrackFitter } from '../../src/track/fitTracks.ts';
import type { Tracks } from '../../src/track/motion.ts';
import { longTake } from '../journey/longTake.ts';

const seen = longTake(8);
const placed: readonly Correction[] = [
  { kind: 'place', joint: 'leftWrist', takeSec: 3, xPx: 500, yPx: 300, reachSec: 0.5 },
  { kind: 'swapSides', startSec: 5, endSec: 6, part: 'arms' },
];
const choices: StoryChoices = {
  rate: { frames: 24, seconds: 1 },
  onFrames: 2,
  startSec: 0,
  endSec: 8,
  smallestStepMm: 0.3,
  puppetHeightMm: 200,
};

/** Runs computations by turns, a step of each, as they run where one is left for another. */
function byTurns<T>(...all: readonly Steps<T>[]): T[] {
  const results = new Map<number, T>();
  while (results.size < all.length)
    all.forEach((steps, i) => {
      if (results.has(i)) return;
      const step = steps.next();
      if (step.done) results.set(i, step.value);
    });
  return all.map((_, i) => results.get(i)!);
}

/** All that tracks say, as plain data. */
function said(tracks: Tracks): unknown {
  const timesSec = Float64Array.from({ length: 200 }, (_, i) => i / 25);
  return { joints: tracks.joints, doubts: tracks.doubts, paths: [...tracks.at(timesSec).paths] };
}

describe('computed in steps, by turns with something else,', () => {
  it('tracks are what they are when they are fitted in one go', () => {
    const fitter = new TrackFitter();
    const [plain, corrected] = byTurns(fitter.steps(seen, []), fitter.steps(seen, placed), fitter.steps(seen, placed));
    expect(said(plain!)).toEqual(said(fitTracks(seen, [])));
    expect(said(corrected!)).toEqual(said(fitTracks(seen, placed)));
    expect(said(plain!)).not.toEqual(said(corrected!));
  });

  it('what was given up in the middle leaves nothing behind', () => {
    const fitter = new TrackFitter();
    const givenUp = fitter.steps(seen, placed);
    for (let i = 0; i < 12; i++) givenUp.next();
    expect(said(fitter.fit(seen, [placed[0]!]))).toEqual(said(fitTracks(seen, [placed[0]!])));
    expect(said(fitter.fit(seen, placed))).toEqual(said(fitTracks(seen, placed)));
  });

  it('the story is what it is when it is read in one go', () => {
    const later = { ...choices, startSec: 1 };
    const tracks = fitTracks(seen, []);
    const [whole, trimmed] = byTurns(storySteps(tracks, choices), storySteps(tracks, later));
    const plain = ({ poses, at }: ReturnType<typeof readStory>) => ({ poses, at });
    expect(plain(whole!)).toEqual(plain(readStory(fitTracks(seen, []), choices)));
    expect(plain(trimmed!)).toEqual(plain(readStory(fitTracks(seen, []), later)));
    expect(plain(whole!)).not.toEqual(plain(trimmed!));
    // What was read last is at hand; the other is read again.
    expect(plain(readStory(tracks, choices))).toEqual(plain(whole!));
    expect(plain(readStory(tracks, later))).toEqual(plain(trimmed!));
  });
});
