import { afterAll, describe, expect, it } from 'vitest';
import { cocoJoints, detectedJoints } from '../../src/base/joints.ts';
import { readTake, TakeReader } from '../../src/detect/client.ts';
import type { ReadingState } from '../../src/detect/gathered.ts';
import type { TakeReading } from '../../src/detect/protocol.ts';
import { openTake } from '../../src/ingest/openTake.ts';
import { readingOfChanged } from '../../src/project/reading.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import { cell, type Sightings } from '../../src/track/sighting.ts';
import { clipFile } from '../ingest/corpus.ts';

async function takeFile(name: string): Promise<File> {
  const response = await fetch(new URL(`../../fixtures/takes/${name}`, import.meta.url));
  if (!response.ok) throw new Error(`${name}: ${response.status}`);
  return new File([await response.blob()], name);
}

/** Some pictures of a take as numbered stills. */
async function stillsOf(take: File, indices: readonly number[]): Promise<File[]> {
  const opened = await openTake(take);
  if (!opened.ok) throw new Error(opened.failure.sentence);
  const { widthPx, heightPx } = opened.value.footage;
  const stills: File[] = [];
  for await (const picture of opened.value.pictures()) {
    if (indices.includes(picture.index)) {
      const rgba = new Uint8ClampedArray(4 * widthPx * heightPx);
      await picture.sample({ x: 0, y: 0, width: widthPx, height: heightPx }, widthPx, heightPx, rgba);
      const canvas = new OffscreenCanvas(widthPx, heightPx);
      canvas.getContext('2d')!.putImageData(new ImageData(rgba, widthPx, heightPx), 0, 0);
      const blob = await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.95 });
      stills.push(new File([blob], `lamp_${picture.index}.jpg`, { type: 'image/jpeg' }));
    }
    picture.close();
  }
  opened.value.close();
  return stills;
}

interface Truth {
  readonly width: number;
  readonly height: number;
  readonly pose: readonly TruePose[];
  /** Of other people in the picture. */
  readonly others?: readonly { readonly pose: readonly TruePose[] }[];
}

interface TruePose {
  readonly t: number;
  readonly joints: Record<string, readonly [number, number, number]>;
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
      const [x, y, seen] = pose.joints[inTruth(joint)] ?? [0, 0, 0];
      // Not every model sees hands and feet.
      if (!seen || (j >= cocoJoints.length && Number.isNaN(sightings.xPx[cell(i, j)]!))) continue;
      const dx = sightings.xPx[cell(i, j)]! - (x * shift.scale + shift.x);
      const dy = sightings.yPx[cell(i, j)]! - (y * shift.scale + shift.y);
      errors.push((100 * Math.hypot(dx, dy)) / (torso * shift.scale));
    }
  }
  errors.sort((a, b) => a - b);
  return errors[errors.length >> 1]!;
}

/** Distance of the middle of shoulders and hips from the truth's, in % of the torso. Shape [picture]. */
function trunkErrors(sightings: Sightings, truth: Truth): number[] {
  const trunk = (['leftShoulder', 'rightShoulder', 'leftHip', 'rightHip'] as const).map((joint) => ({
    place: detectedJoints.indexOf(joint),
    name: inTruth(joint),
  }));
  return truth.pose.map((pose, i) => {
    const at = trunk.map(({ name }) => pose.joints[name]!);
    // From the hips up to the shoulders, twice.
    const along = (axis: 0 | 1) => at[0]![axis] + at[1]![axis] - at[2]![axis] - at[3]![axis];
    const torso = Math.hypot(along(0), along(1)) / 2;
    const off = (column: Float32Array, axis: 0 | 1) =>
      trunk.reduce((sum, { place }, k) => sum + column[cell(i, place)]! - at[k]![axis], 0) / 4;
    return (100 * Math.hypot(off(sightings.xPx, 0), off(sightings.yPx, 1))) / torso;
  });
}

/** Median error of a COCO joint's step from one picture to the next, pixels. */
function stepError(sightings: Sightings, truth: Truth): number {
  const errors: number[] = [];
  for (const [j, joint] of cocoJoints.entries())
    for (let i = 1; i < sightings.readCount; i++) {
      const [a, b] = [truth.pose[i - 1]!.joints[inTruth(joint)]!, truth.pose[i]!.joints[inTruth(joint)]!];
      if (!a[2] || !b[2]) continue;
      const dx = sightings.xPx[cell(i, j)]! - sightings.xPx[cell(i - 1, j)]! - (b[0] - a[0]);
      const dy = sightings.yPx[cell(i, j)]! - sightings.yPx[cell(i - 1, j)]! - (b[1] - a[1]);
      errors.push(Math.hypot(dx, dy));
    }
  errors.sort((a, b) => a - b);
  return errors[errors.length >> 1]!;
}

const reader = new TakeReader();
afterAll(() => reader.close());

async function read(source: File | File[], hooks = {}): Promise<TakeReading> {
  // On wasm, since headless machines draw by software.
  const outcome = await reader.read(source, { depth: 'quick', backend: 'wasm' }, hooks);
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
    // Where several are about, they are looked for more often.
    expect(sightings.peopleSeen.length).toBeGreaterThan(12);
    expect(new Set(sightings.peopleSeen.map((p) => p.count))).toEqual(new Set([2]));
  });

  it('reads an actor at the far left of a large picture', async () => {
    const { sightings } = await read(await takeFile('far_left.mp4'));
    expect(sightings.readCount).toBe(75);
    const truth = await truthOf('far_left');
    expect(medianError(sightings, truth)).toBeLessThan(8);
    expect(trunkErrors(sightings, truth).filter((e) => !(e < 25))).toEqual([]);
  });

  it('sees nobody before somebody enters, and who enters from then on', async () => {
    const { sightings } = await read(await takeFile('enters.mp4'));
    const truth = await truthOf('enters');
    const sureness = (i: number) => {
      const row = sightings.confidence.subarray(cell(i, 0), cell(i, cocoJoints.length));
      return row.reduce((sum, c) => sum + c, 0) / row.length;
    };
    // The nose comes into the picture in picture 38.
    for (let i = 0; i < 30; i++) expect(sureness(i)).toBeLessThan(0.3);
    const errors = trunkErrors(sightings, truth);
    expect(errors.slice(50).filter((e) => !(e < 30))).toEqual([]);
    expect(medianError(sightings, truth)).toBeLessThan(8);
  });

  it('keeps to the performer when others pass behind and before', async () => {
    const { sightings } = await read(await takeFile('passed_by.mp4'));
    const truth = await truthOf('passed_by');
    expect(medianError(sightings, truth)).toBeLessThan(8);
    const strange = trunkErrors(sightings, truth).flatMap((e, i) => (e < 40 ? [] : [`${i}: ${e.toFixed(0)} %`]));
    expect(strange).toEqual([]);
  });

  it('follows whom the animator points out', async () => {
    const truth = await truthOf('two_people');
    const other = truth.others![0]!;
    const [x, y] = other.pose[0]!.joints.pelvis!;
    const source = await takeFile('two_people.mp4');
    for (const [performer, pose] of [
      [[], truth.pose],
      [[{ timeSec: 0.5, xPx: x, yPx: y }], other.pose],
    ] as const) {
      const outcome = await reader.read(source, { depth: 'quick', backend: 'wasm', performer });
      if (!outcome.ok) throw new Error(outcome.failure.sentence);
      expect(medianError(outcome.value.sightings, { ...truth, pose })).toBeLessThan(10);
    }
  });

  it('looks finely after the quick reading: hands and feet too, and steadier', async () => {
    let quick: TakeReading | null = null;
    const passes: string[] = [];
    const source = await takeFile('short.mp4');
    const outcome = await reader.read(
      source,
      { backend: 'wasm' },
      {
        onQuick: (reading) => {
          quick = reading;
        },
        onProgress: ({ pass, picturesDone }) => passes.push(`${pass} ${picturesDone}`),
      },
    );
    if (!outcome.ok) throw new Error(outcome.failure.sentence);
    const { sightings } = outcome.value;
    const truth = await truthOf('short');
    expect([sightings.readCount, sightings.fineCount]).toEqual([36, 36]);
    expect(sightings.detector.model).toBe('movenet-thunder + blazepose-full');
    expect(passes).toContain('fine 36');
    const hand = detectedJoints.indexOf('leftHand');
    expect(quick!.sightings.xPx[cell(20, hand)]).toBeNaN();
    const torsoPx = 60;
    const [handX, handY] = truth.pose[20]!.joints.left_hand!;
    const off = Math.hypot(sightings.xPx[cell(20, hand)]! - handX, sightings.yPx[cell(20, hand)]! - handY);
    expect(off).toBeLessThan(0.3 * torsoPx);
    expect(sightings.depthPx[cell(20, hand)]).not.toBeNaN();
    expect(stepError(sightings, truth)).toBeLessThan(0.8 * stepError(quick!.sightings, truth));
  });

  it('goes on with a fine reading where it was stopped, several workers sharing it', async () => {
    const stop = new AbortController();
    let last: ReadingState | null = null;
    const source = await takeFile('short.mp4');
    const stopped = await reader.read(
      source,
      { backend: 'wasm' },
      {
        signal: stop.signal,
        onProgress: (state) => {
          last = state;
          if (state.pass === 'fine' && state.picturesDone >= 4) stop.abort();
        },
      },
    );
    expect(stopped.ok).toBe(false);
    const state = last as ReadingState | null;
    const kept = { footage: state!.footage!, sightings: state!.sightingsSoFar()! };
    expect(kept.sightings.readCount).toBe(36);
    const done = kept.sightings.fineCount!;
    expect(done).toBeGreaterThanOrEqual(4);
    expect(done).toBeLessThan(36);
    const seen: number[] = [];
    const outcome = await reader.read(
      source,
      { backend: 'wasm', resume: kept, workers: 2 },
      { onProgress: (s) => s.pass === 'fine' && seen.push(s.picturesDone) },
    );
    if (!outcome.ok) throw new Error(outcome.failure.sentence);
    expect(Math.min(...seen)).toBeGreaterThanOrEqual(done);
    expect(outcome.value.sightings.fineCount).toBe(36);
    // What had been seen finely is as it was.
    const first = kept.sightings.xPx.slice(0, cell(done, 0));
    expect(outcome.value.sightings.xPx.slice(0, first.length)).toEqual(first);
    expect(outcome.value.sightings.xPx[cell(35, 17 + 1)]).not.toBeNaN();
  });

  it('looks only at stills that were added to a shot', async () => {
    const stills = await stillsOf(await takeFile('short.mp4'), [0, 6, 12, 18, 24, 30]);
    const options = { backend: 'wasm', workers: 1 } as const;
    const begun = await reader.read(stills.slice(0, 4), options);
    if (!begun.ok) throw new Error(begun.failure.sentence);
    expect(begun.value.sightings.fineCount).toBe(4);
    const opened = await openTake(stills);
    if (!opened.ok) throw new Error(opened.failure.sentence);
    const resume = readingOfChanged(begun.value, 4, opened.value.footage);
    opened.value.close();
    const looked = { quick: [] as number[], fine: [] as number[], follow: [] as number[] };
    const outcome = await reader.read(
      stills,
      { ...options, resume },
      { onProgress: (s) => s.newest && looked[s.pass].push(s.picturesDone) },
    );
    if (!outcome.ok) throw new Error(outcome.failure.sentence);
    const { sightings } = outcome.value;
    expect([sightings.readCount, sightings.fineCount, sightings.followCount]).toEqual([6, 6, 6]);
    // Each pass begins behind what it did before; the step from the last still leads to a new one now.
    expect(Math.min(...looked.quick)).toBeGreaterThanOrEqual(4);
    expect(Math.min(...looked.fine)).toBeGreaterThanOrEqual(4);
    expect(Math.min(...looked.follow)).toBeGreaterThanOrEqual(3);
    expect(sightings.xPx.slice(0, cell(4, 0))).toEqual(begun.value.sightings.xPx);
    const nose = detectedJoints.indexOf('nose');
    expect(sightings.depthPx[cell(5, nose)]).not.toBeNaN();
    expect(sightings.onwardSdPx[cell(3, nose)]).not.toBeNaN();
  });

  it('goes on with a quick reading where it was stopped', async () => {
    const stop = new AbortController();
    let last: ReadingState | null = null;
    const source = await takeFile('snap60.mp4');
    const options = { depth: 'quick', backend: 'wasm' } as const;
    await reader.read(source, options, {
      signal: stop.signal,
      onProgress: (state) => {
        last = state;
        if (state.picturesDone >= 20) stop.abort();
      },
    });
    const state = last as ReadingState | null;
    const kept = { footage: state!.footage!, sightings: state!.sightingsSoFar()! };
    const seen: number[] = [];
    const outcome = await reader.read(
      source,
      { ...options, resume: kept },
      { onProgress: (s) => s.pass === 'quick' && s.newest && seen.push(s.newest.picture) },
    );
    if (!outcome.ok) throw new Error(outcome.failure.sentence);
    expect(outcome.value.sightings.readCount).toBe(150);
    expect(Math.min(...seen)).toBeGreaterThanOrEqual(kept.sightings.readCount);
    expect(medianError(outcome.value.sightings, await truthOf('snap60'))).toBeLessThan(8);
  });

  it('tells progress: the footage, the model, then the newest joints and a growing count', async () => {
    const states: ReadingState[] = [];
    await read(await takeFile('short.mp4'), { onProgress: (state: ReadingState) => states.push(state) });
    expect(states[0]!.pictureCount).toBe(36);
    expect(states[0]!.newest).toBeNull();
    expect(states[1]!.detector?.model).toBe('movenet-lightning');
    const quick = states.filter((s) => s.pass === 'quick');
    const done = quick.map((s) => s.picturesDone);
    expect(done).toEqual([...done].sort((a, b) => a - b));
    expect(done[done.length - 1]).toBe(36);
    const last = quick[quick.length - 1]!;
    expect(last.newest?.picture).toBe(35);
    expect(last.newest?.xPx.length).toBe(detectedJoints.length);
    expect(last.picturesPerSecond).toBeGreaterThan(0);
    expect(last.secondsLeft).toBe(0);
    expect(last.sightingsSoFar()?.readCount).toBe(36);
  });

  it('stops when told to, and leaves what was seen', async () => {
    const stop = new AbortController();
    let last: ReadingState | null = null;
    const outcome = await reader.read(
      await takeFile('keeper.mp4'),
      { depth: 'quick', backend: 'wasm' },
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
    const looked: number[] = [];
    const { footage, sightings } = await read(await clipFile('damaged_p.mp4'), {
      onProgress: ({ pass, newest }: ReadingState) => pass === 'quick' && newest && looked.push(newest.picture),
    });
    expect(footage.notes.map((n) => n.code)).toEqual(['damaged']);
    expect(sightings.readCount).toBe(60);
    expect(looked.some((picture) => picture < 10)).toBe(true);
    expect(looked.filter((picture) => picture >= 10 && picture < 30)).toEqual([]);
    expect(looked.some((picture) => picture >= 30)).toBe(true);
    expect(sightings.xPx[cell(10, 0)]).toBeNaN();
    expect(sightings.confidence[cell(29, 0)]).toBe(0);
  });

  it('hands the reason over when a file is refused', async () => {
    const outcome = await readTake(await clipFile('hevc_hvc1.mp4'));
    expect(!outcome.ok && outcome.failure.code).toBe('codec-unsupported');
  });

  it('says so when a backend does not run here', async () => {
    const outcome = await readTake(await takeFile('short.mp4'), { depth: 'quick', backend: 'webgpu' });
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
