import { afterAll, describe, expect, it } from 'vitest';
import { detectedJoints } from '../../src/base/joints.ts';
import { type ReadingState, readTake, TakeReader } from '../../src/detect/client.ts';
import type { TakeReading } from '../../src/detect/protocol.ts';
import { openTake } from '../../src/ingest/openTake.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import { cell, type Sightings } from '../../src/track/sighting.ts';
import { clipFile } from '../ingest/corpus.ts';

async function takeFile(name: string): Promise<File> {
  const response = await fetch(new URL(`../../fixtures/takes/${name}`, import.meta.url));
  if (!response.ok) throw new Error(`${name}: ${response.status}`);
  return new File([await response.blob()], name);
}

interface Truth {
  readonly width: number;
  readonly height: number;
  readonly pose: readonly { readonly t: number; readonly joints: Record<string, readonly [number, number, number]> }[];
}

async function truthOf(name: string): Promise<Truth> {
  return (await fetch(new URL(`../../fixtures/takes/${name}.truth.json`, import.meta.url))).json();
}

/** "leftEye" → "left_eye", as the truth files name joints. */
const inTruth = (joint: string) => joint.replace(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`);

/** Median distance from the truth over all visible joints and pictures, in % of the torso. */
function medianError(sightings: Sightings, truth: Truth, shift = { x: 0, y: 0, scale: 1 }): number {
  const errors: number[] = [];
  for (const [i, pose] of truth.pose.slice(0, sightings.readCount).entries()) {
    const at = (name: string) => pose.joints[name]!;
    const torso = Math.hypot(
      (at('left_shoulder')[0] + at('right_shoulder')[0] - at('left_hip')[0] - at('right_hip')[0]) / 2,
      (at('left_shoulder')[1] + at('right_shoulder')[1] - at('left_hip')[1] - at('right_hip')[1]) / 2,
    );
    for (const [j, joint] of detectedJoints.entries()) {
      const [x, y, seen] = at(inTruth(joint));
      if (!seen) continue;
      const dx = sightings.xPx[cell(i, j)]! - (x * shift.scale + shift.x);
      const dy = sightings.yPx[cell(i, j)]! - (y * shift.scale + shift.y);
      errors.push((100 * Math.hypot(dx, dy)) / (torso * shift.scale));
    }
  }
  errors.sort((a, b) => a - b);
  return errors[errors.length >> 1]!;
}

const reader = new TakeReader();
afterAll(() => reader.close());

async function read(source: File | File[], hooks = {}): Promise<TakeReading> {
  // On wasm, since headless machines draw by software.
  const outcome = await reader.read(source, { model: 'fast', backend: 'wasm' }, hooks);
  if (!outcome.ok) throw new Error(outcome.failure.sentence);
  return outcome.value;
}

describe('reading a take', () => {
  it('sees the joints where they are, in every picture at its own time', async () => {
    const truth = await truthOf('short');
    const { footage, sightings, detector } = await read(await takeFile('short.mp4'));
    expect(sightings.readCount).toBe(36);
    expect(sightings.timesSec).toEqual(footage.timesSec);
    truth.pose.forEach((pose, i) => {
      expect(Math.abs(pose.t - sightings.timesSec[i]!)).toBeLessThan(1e-4);
    });
    expect(medianError(sightings, truth)).toBeLessThan(8);
    expect([detector.model, detector.backend]).toEqual(['movenet-lightning', 'wasm']);
    expect(sightings.detector.model).toBe('movenet-lightning');
    expect(sightings.detector.millisecondsPerFrame).toBeGreaterThan(0);
    expect(sightings.peopleSeen.map((p) => p.count)).toEqual([1, 1, 1]);
  });

  it('sees a take upright that was stored lying on its side', async () => {
    const { sightings, footage } = await read(await takeFile('sideways25.mp4'));
    expect([footage.widthPx, footage.heightPx]).toEqual([360, 640]);
    expect(medianError(sightings, await truthOf('sideways25'))).toBeLessThan(8);
  });

  it('finds an actor at the far left of a wide picture, given as numbered stills out of order', async () => {
    const stills = await farLeftStills(3);
    const { sightings, footage } = await read(stills);
    expect([footage.codec, footage.widthPx, footage.heightPx]).toEqual(['stills', 1920, 1080]);
    expect([...sightings.timesSec].map((t) => Math.round(t * 24))).toEqual([0, 1, 2]);
    const truth = await truthOf('short');
    expect(medianError(sightings, truth, { x: -240, y: 400, scale: 1.5 })).toBeLessThan(10);
  });

  it('believes little where nobody is, and counts nobody', async () => {
    const { sightings } = await read(await takeFile('nobody.mp4'));
    expect(sightings.peopleSeen.map((p) => p.count)).toEqual([0, 0]);
    // What counts is that the tracks are not taken in by the faint body that any detector sees in an empty room.
    expect(fitTracks(sightings, []).joints).toEqual([]);
  });

  it('counts two people', async () => {
    const { sightings } = await read(await takeFile('two_people.mp4'));
    expect(sightings.peopleSeen.map((p) => p.count)).toEqual([2, 2, 2, 2]);
  });

  it('tells progress: the footage, the model, then the newest joints and a growing count', async () => {
    const states: ReadingState[] = [];
    await read(await takeFile('short.mp4'), { onProgress: (state: ReadingState) => states.push(state) });
    expect(states[0]!.pictureCount).toBe(36);
    expect(states[0]!.newest).toBeNull();
    expect(states[1]!.detector?.model).toBe('movenet-lightning');
    const done = states.map((s) => s.picturesDone);
    expect(done).toEqual([...done].sort((a, b) => a - b));
    expect(done[done.length - 1]).toBe(36);
    const last = states[states.length - 1]!;
    expect(last.newest?.picture).toBe(35);
    expect(last.newest?.xPx.length).toBe(17);
    expect(last.picturesPerSecond).toBeGreaterThan(0);
    expect(last.secondsLeft).toBe(0);
    expect(last.sightingsSoFar()?.readCount).toBe(36);
  });

  it('stops when told to, and leaves what was seen', async () => {
    const stop = new AbortController();
    let last: ReadingState | null = null;
    const outcome = await reader.read(
      await takeFile('keeper.mp4'),
      { model: 'fast', backend: 'wasm' },
      {
        signal: stop.signal,
        onProgress: (state) => {
          last = state;
          if (state.picturesDone >= 3) stop.abort();
        },
      },
    );
    expect(outcome.ok).toBe(false);
    expect(!outcome.ok && outcome.failure.code).toBe('cancelled');
    const seen = (last as ReadingState | null)?.sightingsSoFar();
    expect(seen?.readCount).toBeGreaterThanOrEqual(3);
    expect(seen?.readCount).toBeLessThan(210);
    expect(seen?.xPx[cell(0, 0)]).toBeGreaterThan(0);
    expect(seen?.xPx[cell(209, 0)]).toBeNaN();
  });

  it('reads on after such a stop, with the same model', async () => {
    const { sightings } = await read(await takeFile('two_frames.mp4'));
    expect(sightings.readCount).toBe(2);
  });

  it('leaves damaged pictures empty and keeps the others', async () => {
    const { footage, sightings } = await read(await clipFile('damaged_p.mp4'));
    expect(footage.notes.map((n) => n.code)).toEqual(['damaged']);
    expect(sightings.readCount).toBe(60);
    expect(sightings.xPx[cell(9, 0)]).not.toBeNaN();
    expect(sightings.xPx[cell(10, 0)]).toBeNaN();
    expect(sightings.confidence[cell(29, 0)]).toBe(0);
    expect(sightings.xPx[cell(30, 0)]).not.toBeNaN();
  });

  it('hands the reason over when a file is refused', async () => {
    const outcome = await readTake(await clipFile('hevc_hvc1.mp4'));
    expect(!outcome.ok && outcome.failure.code).toBe('codec-unsupported');
  });

  it('says so when a backend does not run here', async () => {
    const outcome = await readTake(await takeFile('short.mp4'), { model: 'fast', backend: 'webgpu' });
    // On a machine with a graphics card it runs; without one it is refused by name.
    if (outcome.ok) expect(outcome.value.detector.backend).toBe('webgpu');
    else {
      expect(outcome.failure.code).toBe('model-unavailable');
      expect(outcome.failure.sentence).toContain('webgpu');
    }
  });
});

/** The first pictures of a take, enlarged by 1.5 and moved to the left edge of 1920 × 1080, as PNG files, last first. */
async function farLeftStills(count: number): Promise<File[]> {
  const outcome = await openTake(await takeFile('short.mp4'));
  if (!outcome.ok) throw new Error(outcome.failure.sentence);
  const take = outcome.value;
  const { widthPx, heightPx } = take.footage;
  const files: File[] = [];
  for await (const picture of take.pictures()) {
    const rgba = new Uint8ClampedArray(4 * widthPx * heightPx);
    await picture.sample({ x: 0, y: 0, width: widthPx, height: heightPx }, widthPx, heightPx, rgba);
    picture.close();
    const canvas = new OffscreenCanvas(1920, 1080);
    const context = canvas.getContext('2d')!;
    context.fillStyle = '#777';
    context.fillRect(0, 0, 1920, 1080);
    const bitmap = await createImageBitmap(new ImageData(rgba, widthPx, heightPx));
    context.drawImage(bitmap, -240, 400, widthPx * 1.5, heightPx * 1.5);
    bitmap.close();
    files.unshift(new File([await canvas.convertToBlob()], `still_${files.length + 8}.png`, { type: 'image/png' }));
    if (files.length === count) break;
  }
  take.close();
  return files;
}
