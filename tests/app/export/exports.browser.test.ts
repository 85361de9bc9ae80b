import { csvParseRows } from 'd3-dsv';
import { strFromU8, unzipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { movieHolds } from '../../../src/app/export/exportChoices.ts';
import { Exporter } from '../../../src/app/export/exporter.svelte.ts';
import {
  type ExportChoices,
  type ExportSource,
  exportFiles,
  overlayPicture,
} from '../../../src/app/export/exportFiles.ts';
import { type MovieChoices, makeMovie } from '../../../src/app/export/movieFile.ts';
import { pictureAt } from '../../../src/app/pictureAt.ts';
import { showFootage, type TakeOnScreen } from '../../../src/app/takeOnScreen.ts';
import { frameStartSec } from '../../../src/base/frameRate.ts';
import { movieForm } from '../../../src/encode/movie.ts';
import { openTake } from '../../../src/ingest/openTake.ts';
import type { Plan } from '../../../src/plan/plan.ts';
import { readPuppet } from '../../../src/project/puppetSchema.ts';
import { clipFile, numberIn } from '../../ingest/corpus.ts';
import { madePlan } from '../../plan/madeTiming.ts';

const never = new AbortController().signal;
const look = { showsSkeleton: true, arcs: ['rightWrist'], reach: 'shot', showsNumbers: true } as const;

function sourceOf(plan: Plan, take: TakeOnScreen | null = null): ExportSource {
  const at = (sec: number) => (take ? pictureAt(take.footage.timesSec, sec) : 0);
  return { plan, take, pictureAt: at, pictureOfKey: at, book: () => Uint8Array.of(1, 2, 3) };
}

const nothing: ExportChoices = { tables: false, drawings: null, book: false, overlays: null, movies: [] };

async function pixelsOf(png: Blob) {
  const bitmap = await createImageBitmap(png);
  const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
  const ink = canvas.getContext('2d')!;
  ink.drawImage(bitmap, 0, 0);
  const { data, width, height } = ink.getImageData(0, 0, bitmap.width, bitmap.height);
  return {
    ...{ width, height },
    at: (x: number, y: number) => [...data.slice(4 * (Math.round(y) * width + Math.round(x))).slice(0, 4)],
    opaque: data.reduce((n, v, i) => n + (i % 4 === 3 && v > 250 ? 1 : 0), 0),
  };
}

describe('an overlay as PNG', () => {
  const plan = madePlan();

  for (const [widthPx, heightPx] of [
    [960, 540],
    [1920, 1080],
    [640, 640],
    [300, 900],
  ] as const)
    it(`of ${widthPx} × ${heightPx} lets the set through, and covers the joints`, async () => {
      const pixels = await pixelsOf(
        // In the narrowest, numbers would lie over the small body.
        await overlayPicture(plan, 40, { ...look, showsNumbers: widthPx > 300, widthPx, heightPx }),
      );
      expect([pixels.width, pixels.height]).toEqual([widthPx, heightPx]);
      for (const [x, y] of [
        [0, 0],
        [widthPx - 1, 0],
        [0, heightPx - 1],
        [widthPx - 1, heightPx - 1],
      ] as const)
        expect(pixels.at(x, y)[3]).toBe(0);
      const scale = Math.min(widthPx / 960, heightPx / 540);
      const place = (joint: 'leftKnee' | 'rightElbow', dx = 0) => {
        const { xPx, yPx } = plan.timing.motion.paths.get(joint)!;
        return pixels.at(
          (widthPx - 960 * scale) / 2 + scale * (xPx[40]! + dx),
          (heightPx - 540 * scale) / 2 + scale * yPx[40]!,
        );
      };
      // The left's colour in the middle of a left joint, the right's in that of a right one, nothing beside them.
      for (const [joint, colour] of [
        ['leftKnee', [0xf2, 0xc1, 0x4e, 255]],
        ['rightElbow', [0xa8, 0x93, 0xf5, 255]],
      ] as const) {
        const seen = place(joint);
        // In a small picture a joint is a few pixels across, and its rim mixes in.
        for (const [i, value] of colour.entries()) expect(Math.abs(seen[i]! - value)).toBeLessThan(scale < 1 ? 60 : 3);
        expect(seen[3]).toBe(255);
      }
      expect(place('leftKnee', 60)[3]).toBe(0);
    });

  it('has nothing on it where nothing is asked for', async () => {
    const bare = { ...look, showsSkeleton: false, arcs: [], showsNumbers: false, widthPx: 320, heightPx: 180 };
    expect((await pixelsOf(await overlayPicture(plan, 40, bare))).opaque).toBe(0);
  });
});

async function movieOf(plan: Plan, choices: Partial<MovieChoices>, take: TakeOnScreen | null = null) {
  const size = { widthPx: 320, heightPx: 180 };
  const form = (await movieForm(320, 180))!;
  const all: MovieChoices = { of: 'popThrough', shows: 'puppet', showsNumbers: false, form, ...size, ...choices };
  const made = await makeMovie(sourceOf(plan, take), all, { signal: never });
  if (!made.ok) throw new Error(made.failure.sentence);
  const opened = await openTake(new File([made.value.content as BlobPart], made.value.name));
  if (!opened.ok) throw new Error(opened.failure.sentence);
  return { name: made.value.name, movie: opened.value };
}

describe('the pop-through movie', () => {
  for (const rate of [
    { frames: 24, seconds: 1 },
    { frames: 24000, seconds: 1001 },
    { frames: 25, seconds: 1 },
    { frames: 12, seconds: 1 },
  ])
    it(`holds each key for its frames at ${rate.frames}/${rate.seconds}`, async () => {
      const plan = madePlan({ frameCount: 96, rate });
      const { name, movie } = await movieOf(plan, { showsNumbers: true });
      expect(name).toBe('pop-through-puppet.mp4');
      const pictures: Uint8ClampedArray[] = [];
      for await (const picture of movie.pictures()) {
        const out = new Uint8ClampedArray(4 * 160 * 90);
        await picture.sample({ x: 0, y: 0, width: 320, height: 180 }, 160, 90, out);
        pictures.push(out);
        picture.close();
      }
      const { footage } = movie.settle();
      movie.close();
      expect(footage.timesSec).toHaveLength(96);
      for (const [k, sec] of footage.timesSec.entries()) expect(sec).toBeCloseTo(frameStartSec(rate, k), 9);
      expect(footage.endSec).toBeCloseTo(frameStartSec(rate, 96), 9);
      // The picture changes where a pose begins, and nowhere else.
      const changes = pictures.flatMap((now, k) => {
        const before = pictures[k - 1];
        if (!before) return [];
        const most = now.reduce((max, v, i) => Math.max(max, Math.abs(v - before[i]!)), 0);
        return most > 60 ? [k] : [];
      });
      const starts = movieHolds(plan, 'popThrough').map((h) => h.firstFrame);
      expect(changes).toEqual(starts.slice(1));
    });

  it('shows the photo of each exposure, whole shot, frame by frame', async () => {
    const file = await clipFile('h264_cfr24.mp4');
    const opened = await openTake(file);
    if (!opened.ok) throw new Error(opened.failure.sentence);
    for await (const picture of opened.value.pictures()) picture.close();
    const { footage } = opened.value.settle();
    opened.value.close();
    const plan = madePlan({ frameCount: 48, on: 3 });
    const take = showFootage([file], 24, footage);
    const size = { widthPx: footage.widthPx, heightPx: footage.heightPx };
    const { name, movie } = await movieOf(plan, { of: 'asExposed', shows: 'photo', ...size }, take);
    take.close();
    expect(name).toBe('as-exposed.mp4');
    const numbers: number[] = [];
    for await (const picture of movie.pictures()) {
      numbers.push(await numberIn(picture, size.widthPx, size.heightPx));
      picture.close();
    }
    movie.close();
    const first = numbers[0]!;
    // On threes: the number painted into picture 0 of the take three times, that of picture 3 three times, …
    expect(numbers.map((n) => n - first)).toEqual(Array.from({ length: 48 }, (_, k) => 3 * Math.floor(k / 3)));
  });
});

describe('a zip of all', () => {
  const plan = madePlan({ frameCount: 48 });

  it('holds every file, each as it is alone', async () => {
    const size = { widthPx: 320, heightPx: 180 };
    const form = (await movieForm(320, 180))!;
    const choices: ExportChoices = {
      tables: true,
      drawings: { paper: 'A4' },
      book: true,
      overlays: { ...look, ...size, of: 'exposures' },
      movies: [{ of: 'popThrough', shows: 'puppet', showsNumbers: true, form, ...size }],
    };
    const exporter = new Exporter();
    const made = await exporter.run(sourceOf(plan), choices, 'Keeper 04');
    expect(exporter.failure).toBeNull();
    expect(made?.name).toBe('Keeper 04.zip');
    const files = unzipSync(new Uint8Array(await made!.content.arrayBuffer()));
    const names = Object.keys(files);
    expect(names).toHaveLength(made!.files);
    for (const name of [
      'sheet.csv',
      'plan.json',
      'Keeper 04.nudgebook',
      `${plan.puppet.profile.name}.puppet.json`,
      'pages/page-01.svg',
      'charts/timeline.svg',
      'charts/right-wrist/path.svg',
      'pop-through-puppet.mp4',
    ])
      expect(names).toContain(name);
    expect(names.filter((n) => n.startsWith('overlays/'))).toEqual(
      Array.from({ length: 24 }, (_, i) => `overlays/shot_${String(2 * i + 1).padStart(4, '0')}.png`),
    );
    // RFC 4180 as another reader reads it: a head and a row for each frame.
    expect(csvParseRows(strFromU8(files['sheet.csv']!))).toHaveLength(49);
    expect(JSON.parse(strFromU8(files['plan.json']!))).toHaveProperty('puppet');
    expect(readPuppet(strFromU8(files[`${plan.puppet.profile.name}.puppet.json`]!)).ok).toBe(true);
    expect([...files['Keeper 04.nudgebook']!]).toEqual([1, 2, 3]);
    for (const name of names.filter((n) => n.endsWith('.svg'))) {
      const page = new DOMParser().parseFromString(strFromU8(files[name]!), 'image/svg+xml');
      expect(page.querySelector('parsererror'), name).toBeNull();
    }
    const png = new Blob([files['overlays/shot_0001.png'] as BlobPart], { type: 'image/png' });
    expect((await pixelsOf(png)).width).toBe(320);
    const opened = await openTake(new File([files['pop-through-puppet.mp4'] as BlobPart], 'movie.mp4'));
    expect(opened.ok && opened.value.footage.timesSec.length).toBe(48);
  });

  it('is none around a movie alone', async () => {
    const form = (await movieForm(320, 180))!;
    const movie = { of: 'asExposed', shows: 'puppet', showsNumbers: false, form, widthPx: 320, heightPx: 180 } as const;
    const made = await new Exporter().run(sourceOf(plan), { ...nothing, movies: [movie] }, 'x');
    expect(made).toMatchObject({ name: 'as-exposed-puppet.mp4', files: 1 });
  });

  it('tells how far it is, ever further, and stops where it is called off', async () => {
    const overlays = { ...look, widthPx: 160, heightPx: 90, of: 'frames' } as const;
    const shares: number[] = [];
    const stop = new AbortController();
    let made = 0;
    const tell = ({ share }: { share: number }) => shares.push(share);
    for await (const _ of exportFiles(sourceOf(plan), { ...nothing, tables: true, overlays }, stop.signal, tell))
      if (++made === 12) stop.abort();
    expect(made).toBe(12);
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
    expect(shares.at(-1)).toBeGreaterThan(0.2);
    expect(shares.at(-1)).toBeLessThan(0.4);

    const exporter = new Exporter();
    const run = exporter.run(sourceOf(plan), { ...nothing, overlays }, 'x');
    exporter.cancel();
    expect(await run).toBeNull();
    expect([exporter.progress, exporter.made, exporter.failure]).toEqual([null, null, null]);
  });

  it('lets the page draw and listen in between', async () => {
    const overlays = { ...look, widthPx: 640, heightPx: 360, of: 'frames' } as const;
    let turns = 0;
    let isDone = false;
    const count = () => {
      turns++;
      if (!isDone) requestAnimationFrame(count);
    };
    requestAnimationFrame(count);
    await new Exporter().run(sourceOf(plan), { ...nothing, overlays }, 'x');
    isDone = true;
    expect(turns).toBeGreaterThan(5);
  });
});
