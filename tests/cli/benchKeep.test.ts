import { mkdtempSync, readdirSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import type { Footage } from '../../src/base/footage.ts';
import { measureTake } from '../../src/cli/benchAccuracy.ts';
import { accuraciesFrom, accuracyJson } from '../../src/cli/benchFile.ts';
import { keepReading, takeKept } from '../../src/cli/benchKeep.ts';
import { comparison } from '../../src/cli/benchReport.ts';
import { keptSightings, takeTruth } from '../track/keptSightings.ts';

const sightings = keptSightings('snap60');
const footage: Footage = {
  name: 'snap60.mp4',
  widthPx: sightings.widthPx,
  heightPx: sightings.heightPx,
  timesSec: sightings.timesSec,
  endSec: sightings.timesSec.at(-1)! + 1 / 60,
  firstStampSec: 0,
  medianFps: 60,
  variableFrameRate: false,
  codec: 'avc',
  turnedDeg: 0,
  notes: [],
};
const reading = { footage, sightings };

describe('kept readings', () => {
  let folder = '';
  let video = '';
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'nudgebook-kept-'));
    video = join(folder, 'take.mp4');
    writeFileSync(video, 'one video');
  });
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  it('come back as they were, every column', () => {
    keepReading(folder, 'take', 'fine', video, reading);
    const kept = takeKept(folder, 'take', 'fine', video);
    expect(kept?.sameCode).toBe(true);
    expect(kept?.reading.footage).toEqual(footage);
    expect(kept?.reading.sightings).toEqual(sightings);
  });

  it('are not taken for another video of the same name, nor for another model', () => {
    keepReading(folder, 'take', 'fine', video, reading);
    expect(takeKept(folder, 'take', 'quick', video)).toBeNull();
    writeFileSync(video, 'another video');
    expect(takeKept(folder, 'take', 'fine', video)).toBeNull();
  });

  it('of which half is lost are not there', () => {
    keepReading(folder, 'take', 'fine', video, reading);
    const numbers = readdirSync(folder).find((file) => file.endsWith('.bin'))!;
    truncateSync(join(folder, numbers), 1000);
    expect(takeKept(folder, 'take', 'fine', video)).toBeNull();
    rmSync(join(folder, numbers));
    expect(takeKept(folder, 'take', 'fine', video)).toBeNull();
  });
});

describe('comparison', () => {
  const take = {
    name: 'snap60',
    videoPath: '',
    truth: takeTruth('snap60'),
    keys: null,
    holds: null,
    isShared: false,
    stops: [],
  };
  const measured = measureTake(take, reading);

  it('reads its own file, unknown numbers included', () => {
    const [back] = accuraciesFrom(accuracyJson([measured]));
    expect(back).toEqual(measured);
    expect(back!.scores.raw.within1Sd).toBeNaN();
    expect(() => accuraciesFrom('{"takes":[]}')).toThrow('--json');
  });

  it('prints what has changed, with its sign, for takes that both runs have', () => {
    const worse = { ...measured, scores: { ...measured.scores, ours: { ...measured.scores.ours, onesMedian: 2 } } };
    const better = { ...measured, scores: { ...measured.scores, ours: { ...measured.scores.ours, onesMedian: 1.5 } } };
    const ones = (text: string) =>
      text
        .split('\n')
        .find((line) => line.includes('change'))
        ?.split(/ +/)[4];
    expect(ones(comparison([worse], [better], false))).toBe('-0.500');
    expect(ones(comparison([better], [worse], false))).toBe('+0.500');
    expect(comparison([{ ...measured, name: 'other' }], [measured], false)).toContain('none of these takes');
  });
});
