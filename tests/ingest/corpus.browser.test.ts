import { describe, expect, it } from 'vitest';
import type { Footage } from '../../src/base/footage.ts';
import { type OpenTake, openTake } from '../../src/ingest/openTake.ts';
import type { Settled } from '../../src/ingest/settle.ts';
import { clipFile, corpus, numberExpected, numberIn, stampsOf } from './corpus.ts';

async function opened(name: string): Promise<OpenTake> {
  const outcome = await openTake(await clipFile(name));
  if (!outcome.ok) throw new Error(`${name}: ${outcome.failure.sentence}`);
  return outcome.value;
}

interface Decoded {
  readonly promised: Footage;
  readonly settled: Settled;
  /** Promised places of the pictures that came. */
  readonly got: number[];
  /** The numbers painted into them. */
  readonly numbers: number[];
}

/** Decodes a clip to its end. */
async function decoded(name: string): Promise<Decoded> {
  const take = await opened(name);
  const got: number[] = [];
  const numbers: number[] = [];
  for await (const picture of take.pictures()) {
    got.push(picture.index);
    numbers.push(await numberIn(picture, take.footage.widthPx, take.footage.heightPx));
    picture.close();
  }
  const settled = take.settle();
  take.close();
  return { promised: take.footage, settled, got, numbers };
}

const range = (from: number, to: number) => Array.from({ length: to - from }, (_, i) => from + i);

describe('the corpus of takes', () => {
  it('is all there', () => {
    expect(corpus.size).toBe(67);
  });

  for (const [name, clip] of corpus) {
    if (clip.outcome === 'refused')
      it(`${name} is refused as ${clip.code}, naming "${clip.names}" and a way out`, async () => {
        const outcome = await openTake(await clipFile(name));
        expect(outcome.ok).toBe(false);
        if (outcome.ok) return;
        expect(outcome.failure.code).toBe(clip.code);
        expect(outcome.failure.sentence).toContain(clip.names);
        expect(outcome.failure.sentence).toMatch(/Choose|choose|Copy|Convert|Export|export/);
      });
    else
      it(`${name} has ffprobe's ${stampsOf(clip).length} pictures at ffprobe's times`, async () => {
        const { settled, got, numbers } = await decoded(name);
        const { footage } = settled;
        const stamps = stampsOf(clip);
        // Damage may cost pictures at the end, which are then cut off; all others are there, if empty.
        const tail = clip.note === 'damaged' ? footage.timesSec.length : stamps.length;
        const times = stamps.slice(0, tail).map((stamp) => stamp - stamps[0]!);
        expect(footage.timesSec.length).toBe(tail);
        const worst = Math.max(...times.map((time, i) => Math.abs(time - footage.timesSec[i]!)));
        expect(worst).toBeLessThan(2e-6);
        expect(footage.firstStampSec).toBeCloseTo(stamps[0]!, 6);
        expect([footage.widthPx, footage.heightPx, footage.turnedDeg]).toEqual([
          clip.width,
          clip.height,
          clip.turnedDeg,
        ]);
        expect(footage.endSec).toBeGreaterThan(footage.timesSec[tail - 1]!);
        const codes = footage.notes
          .map((note) => note.code)
          .filter((code) => code !== 'variable-rate' && code !== 'gap');
        expect([...new Set(codes)]).toEqual(clip.note ? [clip.note] : []);
        // Each is the picture that it claims to be: the number painted into it says so.
        const places = got.map((place) => settled.kept.indexOf(place));
        expect(numbers).toEqual(places.map((place) => numberExpected(clip, place)));
        if (!clip.note) expect(got).toEqual(range(0, stamps.length));
        for (const note of footage.notes) {
          expect(note.firstPicture).toBeGreaterThanOrEqual(0);
          expect(note.lastPicture).toBeLessThan(tail);
        }
      });
  }
});

describe('damage', () => {
  it.each(['damaged_p.mp4', 'damaged_flip.mp4'])(
    '%s loses pictures 11–30 and keeps those after the next key picture',
    async (name) => {
      const { settled, got } = await decoded(name);
      expect(got).toEqual([...range(0, 10), ...range(30, 60)]);
      expect(settled.footage.notes.map((n) => [n.code, n.firstPicture, n.lastPicture])).toEqual([['damaged', 10, 29]]);
      expect(settled.footage.notes[0]!.sentence).toContain('Pictures 11–30 (0:00.33–0:01.00) are damaged');
    },
  );

  it('loses nothing more when the receiver is slow: pictures waiting at the time of the error are fetched again', async () => {
    const take = await opened('damaged_p.mp4');
    const got: number[] = [];
    for await (const picture of take.pictures()) {
      got.push(picture.index);
      // A model at work blocks the thread: the decoder runs ahead into the damage.
      const until = performance.now() + 25;
      while (performance.now() < until);
      await new Promise((resolve) => requestAnimationFrame(resolve));
      picture.close();
    }
    take.close();
    expect(got).toEqual([...range(0, 10), ...range(30, 60)]);
  });

  it('without a later key picture cuts the take and says so', async () => {
    const { settled, got } = await decoded('damaged_key.mp4');
    expect(got).toEqual(range(0, got.length));
    expect(got.length).toBeGreaterThanOrEqual(28);
    expect(settled.footage.timesSec.length).toBe(got.length);
    expect(settled.footage.notes[0]!.sentence).toMatch(/damaged from picture \d+ .* to its end: \d+ of 59|60 pictures/);
  });

  it('says how much of a truncated file could be read', async () => {
    const { settled } = await decoded('trunc_faststart.mp4');
    expect(settled.footage.notes.map((n) => n.sentence)).toEqual([
      'The file ends early: 41 of 90 pictures could be read (to 0:01.33). Times up to there are exact. Copy it from the camera again to get the rest.',
    ]);
  });
});

describe('a packet without a picture', () => {
  it('is no picture, and those after it keep their own times', async () => {
    const { settled, got, promised } = await decoded('nopicture_av1.webm');
    expect(promised.timesSec.length).toBe(48);
    expect(got).toEqual([...range(0, 15), ...range(16, 48)]);
    expect(settled.footage.timesSec[15]).toBeCloseTo(0.533, 6);
  });
});

describe('rates', () => {
  it.each([
    ['h264_cfr23976.mp4', 24000 / 1001],
    ['h264_cfr2997.mp4', 30000 / 1001],
    ['h264_cfr60.mp4', 60],
    ['vp9.webm', 30],
  ])('%s is steady at %f', async (name, fps) => {
    const take = await opened(name);
    expect(take.footage.variableFrameRate).toBe(false);
    // WebM rounds to milliseconds: 33 instead of 33.33.
    expect(Math.abs(take.footage.medianFps / fps - 1)).toBeLessThan(name.endsWith('webm') ? 0.011 : 1e-9);
    take.close();
  });

  it.each(['h264_vfr_phone.mp4', 'mediarecorder_vp8.webm'])('%s varies, and says so', async (name) => {
    const take = await opened(name);
    expect(take.footage.variableFrameRate).toBe(true);
    expect(take.footage.notes.map((n) => n.code)).toContain('variable-rate');
    take.close();
  });
});
