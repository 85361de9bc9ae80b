import { describe, expect, it } from 'vitest';
import { type FrameRate, frameStartSec, shotRates } from '../../src/base/frameRate.ts';
import { encodeMovie, evenSize, type MovieForm, movieForm } from '../../src/encode/movie.ts';
import { openTake } from '../../src/ingest/openTake.ts';

const never = new AbortController().signal;

/** How bright the picture of each hold is: far enough apart to be told after any encoder. */
const greys = [20, 200, 90, 240, 140];

async function* paint(canvas: OffscreenCanvas, holds: readonly number[]): AsyncGenerator<number> {
  const ink = canvas.getContext('2d')!;
  for (const [i, frames] of holds.entries()) {
    const grey = greys[i % greys.length]!;
    ink.fillStyle = `rgb(${grey} ${grey} ${grey})`;
    ink.fillRect(0, 0, canvas.width, canvas.height);
    yield frames;
  }
}

async function written(holds: readonly number[], rate: FrameRate, form: MovieForm, width = 320, height = 180) {
  const canvas = new OffscreenCanvas(width, height);
  const outcome = await encodeMovie({ canvas, rate, form, holds: paint(canvas, holds), signal: never });
  if (!outcome.ok) throw new Error(outcome.failure.sentence);
  const file = new File([outcome.value as BlobPart], `made.${form.ending}`, { type: form.type });
  const opened = await openTake(file);
  if (!opened.ok) throw new Error(opened.failure.sentence);
  const take = opened.value;
  const seen: number[] = [];
  for await (const picture of take.pictures()) {
    const out = new Uint8ClampedArray(4);
    await picture.sample({ x: width / 4, y: height / 4, width: width / 2, height: height / 2 }, 1, 1, out);
    seen.push(out[1]!);
    picture.close();
  }
  const { footage } = take.settle();
  take.close();
  return { footage, seen };
}

/** The hold whose brightness is nearest. */
const holdSeen = (grey: number) =>
  greys.map((g, i) => [Math.abs(g - grey), i] as const).sort((a, b) => a[0] - b[0])[0]![1];

async function formOf(codec: MovieForm['codec']): Promise<MovieForm> {
  const form = await movieForm(320, 180, [codec]);
  if (!form) throw new Error(`this browser does not encode ${codec}`);
  return form;
}

describe('a movie', () => {
  it('is written in the best form that the browser knows', async () => {
    expect((await movieForm(320, 180))?.codec).toBe('avc');
    expect((await movieForm(320, 180, ['vp8', 'vp9']))?.codec).toBe('vp9');
    expect(await movieForm(320, 180, [])).toBeNull();
  });

  for (const rate of shotRates)
    it(`has every frame at its time, at ${rate.label} a second`, async () => {
      const holds = [3, 1, 7, 2, 5];
      const { footage, seen } = await written(holds, rate, await formOf('avc'));
      const frames = holds.reduce((sum, n) => sum + n, 0);
      expect(footage.timesSec).toHaveLength(frames);
      // The clock of the file is the rate itself, so only the last digits of a double are between.
      for (const [k, sec] of footage.timesSec.entries()) expect(sec).toBeCloseTo(frameStartSec(rate, k), 9);
      expect(footage.endSec).toBeCloseTo(frameStartSec(rate, frames), 9);
      expect(footage.variableFrameRate).toBe(false);
      expect(seen.map(holdSeen)).toEqual(holds.flatMap((n, i) => Array<number>(n).fill(i)));
    });

  it('is as exact in VP9, and to a millisecond in VP8', async () => {
    const rate = { frames: 24000, seconds: 1001 };
    for (const [codec, digits] of [
      ['vp9', 9],
      ['vp8', 2.9],
    ] as const) {
      const form = await formOf(codec);
      const { footage, seen } = await written([6, 6, 12], rate, form);
      expect(footage.timesSec).toHaveLength(24);
      for (const [k, sec] of footage.timesSec.entries()) expect(sec).toBeCloseTo(frameStartSec(rate, k), digits);
      expect(seen.map(holdSeen)).toEqual([...Array(6).fill(0), ...Array(6).fill(1), ...Array(12).fill(2)]);
    }
  });

  it('has the size that was asked for, in whole pairs of pixels', async () => {
    const { widthPx, heightPx } = evenSize(607, 1081);
    expect([widthPx, heightPx]).toEqual([606, 1080]);
    const { footage } = await written([2], { frames: 24, seconds: 1 }, await formOf('avc'), widthPx, heightPx);
    expect([footage.widthPx, footage.heightPx]).toEqual([606, 1080]);
  });

  it('stops where it is called off, and asks for no more pictures', async () => {
    const stop = new AbortController();
    const canvas = new OffscreenCanvas(64, 64);
    let asked = 0;
    async function* holds() {
      for await (const frames of paint(canvas, [4, 4, 4, 4])) {
        asked++;
        yield frames;
      }
    }
    const outcome = await encodeMovie({
      canvas,
      rate: { frames: 24, seconds: 1 },
      form: await formOf('avc'),
      holds: holds(),
      signal: stop.signal,
      onFrame: (done) => done === 5 && stop.abort(),
    });
    expect(outcome).toMatchObject({ ok: false, failure: { code: 'cancelled' } });
    expect(asked).toBe(2);
  });
});
