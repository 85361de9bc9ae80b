import { describe, expect, it } from 'vitest';
import { buildPlan, type Plan } from '../../src/plan/plan.ts';
import { planJson } from '../../src/plan/planJson.ts';
import { writeSheet } from '../../src/plan/sheet.ts';
import { sheetCsv } from '../../src/plan/sheetCsv.ts';
import { findOnsets } from '../../src/timing/onsets.ts';
import { click, mix, soundtrackOf } from '../madeSound.ts';
import { madePlan } from './madeTiming.ts';

/** Clicks at 0.5 s and 1.25 s of the take, frames 12 and 30. */
const track = soundtrackOf(
  mix(
    3,
    [0.5, 1.25].map((atSec) => ({ atSec, samples: click() })),
    0.001,
  ),
);
const heard = { track, onsets: findOnsets(track) };

function withSound(nudgeSec = 0): Plan {
  const sound = { nudgeSec, beatsPerMinute: 112, firstBeatSec: 0.1 };
  return { ...madePlan({ frameCount: 48, rate: { frames: 25, seconds: 1 }, book: { sound } }), heard };
}

describe('rhythm of a plan', () => {
  it('is in plan.json: beats rounded from their own time, sounds at the frame they are heard in', () => {
    const { rhythm } = planJson(withSound());
    expect(rhythm.framesPerBeat).toBeCloseTo(13.3929, 4);
    expect(rhythm.beats.map((b) => b.frameIndex)).toEqual([3, 16, 29, 43]);
    expect(rhythm.beats.map((b) => b.number)).toEqual([0, 1, 2, 3]);
    expect(rhythm.sounds.map((s) => s.frameIndex)).toEqual([12, 31]);
    expect(Math.abs(rhythm.sounds[1]!.takeSec - 1.25)).toBeLessThan(0.003);
    const nudged = planJson(withSound(0.2)).rhythm;
    expect(nudged.sounds.map((s) => s.frameIndex)).toEqual([17, 36]);
    expect(nudged.sounds[1]!.takeSec).toBe(rhythm.sounds[1]!.takeSec);
  });

  it('is empty where there is neither sound nor beat', () => {
    const { rhythm } = planJson(madePlan({ frameCount: 48 }));
    expect(rhythm).toMatchObject({
      beatsPerMinute: null,
      framesPerBeat: null,
      firstBeatSec: null,
      beats: [],
      sounds: [],
    });
  });

  it('is on the sheet and in its table', () => {
    const sheet = writeSheet(withSound());
    const beats = sheet.rows.flatMap((row) => (row.beat === null ? [] : [[row.frameIndex, row.beat]]));
    expect(beats).toEqual([
      [3, 1],
      [16, 2],
      [29, 3],
      [43, 4],
    ]);
    expect(sheet.rows.filter((row) => row.isCue).map((row) => row.frameIndex)).toEqual([12, 31]);
    const [head, ...lines] = sheetCsv(withSound())
      .trim()
      .split('\r\n')
      .map((line) => line.split(','));
    const column = (name: string) => lines.map((line) => line[head!.indexOf(name)]);
    expect(column('beat')[16]).toBe('2');
    expect(column('sound begins')[12]).toBe('yes');
    expect(column('sound begins')[13]).toBe('');
  });

  it('goes with what a plan is built from', () => {
    const { book, footage, detector, timing } = madePlan({ frameCount: 24 });
    expect(book.sound.beatsPerMinute).toBeNull();
    const sightings = { detector, peopleSeen: [] } as unknown as Parameters<typeof buildPlan>[0]['sightings'];
    const tracks = { doubts: [] } as unknown as Parameters<typeof buildPlan>[0]['tracks'];
    expect(buildPlan({ book, footage, sightings, tracks, timing, heard }).heard).toBe(heard);
    expect(buildPlan({ book, footage, sightings, tracks, timing }).heard).toBeNull();
  });
});
