import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { Session } from '../../src/app/session.svelte.ts';
import { newBook } from '../../src/project/book.ts';
import { packBookFile } from '../../src/project/bookFile.ts';
import type { Edit } from '../../src/project/edits.ts';
import { longTake } from '../journey/longTake.ts';

/** The page's clock, turned by hand. */
let nowMs = 0;
let wanted: FrameRequestCallback | null = null;

beforeEach(() => {
  nowMs = 5000;
  wanted = null;
  vi.spyOn(performance, 'now').mockImplementation(() => nowMs);
  vi.stubGlobal('requestAnimationFrame', (callback: FrameRequestCallback) => {
    wanted = callback;
    return 1;
  });
  vi.stubGlobal('cancelAnimationFrame', () => {
    wanted = null;
  });
});

afterEach(() => {
  vi.unstubAllGlobals();
  vi.restoreAllMocks();
});

async function openSession(): Promise<Session> {
  const sightings = longTake(5);
  const footage = {
    name: 'made.mp4',
    widthPx: 960,
    heightPx: 540,
    timesSec: sightings.timesSec,
    endSec: 5,
    firstStampSec: 0,
    medianFps: 30,
    variableFrameRate: false,
    codec: 'none',
    turnedDeg: 0,
    notes: [],
  };
  const session = new Session();
  const packed = packBookFile({ book: newBook('made'), reading: { footage, sightings } });
  expect(await session.opening.bookFile(new File([packed as BlobPart], 'made.nudgebook'))).toBe(true);
  // What is computed behind everything else is there.
  await session.whenIdle();
  session.screen = 'timing';
  return session;
}

const ways: readonly (readonly [string, readonly Edit[]])[] = [
  ['ones', [{ kind: 'setOnFrames', onFrames: 1 }]],
  ['twos', []],
  ['threes', [{ kind: 'setOnFrames', onFrames: 3 }]],
  ['fours', [{ kind: 'setOnFrames', onFrames: 4 }]],
  ['exposures that are spent', [{ kind: 'setExposureBudget', exposures: 45 }]],
  [
    'a span by hand and locked frames',
    [
      { kind: 'setExposureSpans', spans: [{ firstFrame: 31, frames: 14, onFrames: 3 }] },
      { kind: 'setExposedFrames', frames: [64, 65] },
    ],
  ],
  [
    'a shot that was given another length',
    [
      {
        kind: 'retime',
        retiming: {
          knots: [
            { takeSec: 0, shotSec: 0 },
            { takeSec: 5, shotSec: 7 },
          ],
        },
        moves: [],
      },
      { kind: 'setExposureBudget', exposures: 50 },
    ],
  ],
];

describe('while a shot plays, every pose stays until the next is exposed', () => {
  for (const [name, edits] of ways)
    it(name, async () => {
      const session = await openSession();
      for (const edit of edits) session.edit(edit);
      const { exposures, grid } = session.shotTiming!;
      const held = exposures.flatMap((e) => Array.from({ length: e.frames }, () => e.firstFrame));
      expect(held).toHaveLength(grid.frameCount);

      const { playhead } = session;
      playhead.goTo(0);
      playhead.play();
      const seen: number[] = [];
      for (let frame = 0; frame < grid.frameCount; frame++) {
        // In the middle of each frame of the shot, 24 a second.
        nowMs = 5000 + (1000 * (frame + 0.5)) / 24;
        const paint = wanted;
        wanted = null;
        paint?.(nowMs);
        expect(playhead.frame).toBe(frame);
        seen.push(session.shownFrame(playhead.frame));
      }
      playhead.pause();
      expect(seen).toEqual(held);
      // One picture for each exposure, no more.
      expect(new Set(seen).size).toBe(exposures.length);
    });
});
