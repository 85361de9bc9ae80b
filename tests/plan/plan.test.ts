import { csvParse } from 'd3-dsv';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { csvLine } from '../../src/base/csv.ts';
import { shotRates } from '../../src/base/frameRate.ts';
import { type Joint, joints } from '../../src/base/joints.ts';
import type { Plan } from '../../src/plan/plan.ts';
import { planJson } from '../../src/plan/planJson.ts';
import { listPopThrough } from '../../src/plan/popThrough.ts';
import { heavyLineEvery, rowsPerPage, writeSheet } from '../../src/plan/sheet.ts';
import { sheetCsv } from '../../src/plan/sheetCsv.ts';
import type { JointPath } from '../../src/track/motion.ts';
import { madePlan } from './madeTiming.ts';

/** The plan with one joint's path changed. */
function withPath(plan: Plan, joint: 'leftWrist', change: (path: JointPath) => JointPath): Plan {
  const paths = new Map(plan.timing.motion.paths);
  paths.set(joint, change(paths.get(joint)!));
  return { ...plan, timing: { ...plan.timing, motion: { ...plan.timing.motion, paths } } };
}

describe('poses', () => {
  it('are numbered without gaps and their frames add up to the shot', () => {
    for (const on of [1, 2, 3, 4] as const) {
      const { poses, timing } = madePlan({ on, frameCount: 121 });
      expect(poses.map((p) => p.number)).toEqual(poses.map((_, i) => i + 1));
      expect(poses.reduce((sum, p) => sum + p.frames, 0)).toBe(timing.grid.frameCount);
    }
  });

  it('count a hold once', () => {
    const { poses, timing } = madePlan();
    const hold = timing.holds[0]!;
    const held = poses.find((p) => p.firstFrame === hold.firstFrame)!;
    expect(held.frames).toBe(12);
    expect(poses.length).toBe(timing.exposures.length - 5);
  });
});

describe('planJson', () => {
  const sections = [
    'format', 'version', 'take', 'detector', 'grid', 'takeTimeSec', 'tracks', 'keys', 'holds', 'exposures', 'moves',
    'angles', 'phases', 'lags', 'rhythm', 'arcFaults', 'puppet', 'replans', 'together', 'weight', 'limits', 'balance', 'doubts',
  ]; // biome-ignore format: one glance

  it('has the sections of the contract and no others', () => {
    expect(Object.keys(planJson(madePlan()))).toEqual(sections);
  });

  it('tracks every joint, an unknown one as nulls', () => {
    const plan = madePlan({ frameCount: 24 });
    const paths = new Map([...plan.timing.motion.paths].filter(([joint]) => joint !== 'chin'));
    const json = planJson({ ...plan, timing: { ...plan.timing, motion: { ...plan.timing.motion, paths } } });
    expect(Object.keys(json.tracks)).toEqual(joints);
    expect(json.tracks.chin.xPx).toEqual(new Array(24).fill(null));
    expect(json.tracks.nose.xPx.every((x) => typeof x === 'number')).toBe(true);
  });

  it('writes null, never NaN, and reads back as what it was', () => {
    const plan = withPath(madePlan({ frameCount: 48 }), 'leftWrist', (path) => ({
      ...path,
      xPx: path.xPx.map((x, k) => (k < 10 ? Number.NaN : x)),
      sdPx: path.sdPx.map(() => Number.NaN),
    }));
    const json = planJson({ ...plan, detector: { ...plan.detector, readSeconds: Number.POSITIVE_INFINITY } });
    const bad: string[] = [];
    const text = JSON.stringify(json, (key, value: unknown) => {
      if (value === undefined || (typeof value === 'number' && !Number.isFinite(value))) bad.push(key);
      return value;
    });
    expect(bad).toEqual([]);
    expect(JSON.parse(text)).toEqual(json);
    expect(json.tracks.leftWrist.xPx.slice(8, 11)).toEqual([null, null, expect.any(Number)]);
    expect(json.detector.millisecondsPerFrame).toBeNull();
  });

  it('measures moves that the puppet’s own places bear out, along the performer’s tracks', () => {
    const json = planJson(madePlan());
    for (const move of json.moves.filter((m) => (m.distanceMm ?? 0) > 1)) {
      const joint = move.joint as Joint;
      const track = json.tracks[joint];
      const its = json.puppet.joints[joint]!;
      const [a, b] = [json.exposures[move.exposure - 1]!.firstFrame, json.exposures[move.exposure]!.firstFrame];
      const [dx, dy] = [track.xPx[b]! - track.xPx[a]!, track.yPx[b]! - track.yPx[a]!];
      const [x, y] = [its.xMm[b]! - its.xMm[a]!, its.yMm[b]! - its.yMm[a]!];
      expect(move.distanceMm).toBeCloseTo(Math.hypot(x, y), 3);
      const off = Math.abs(move.directionDeg! - (Math.atan2(x, y) * 180) / Math.PI);
      expect(Math.min(off % 360, 360 - (off % 360))).toBeLessThan(0.1);
      // A puppet like a person goes nearly as the performer does at its scale.
      expect(Math.hypot(x - dx * (250 / 400), y + dy * (250 / 400))).toBeLessThan(0.35 * move.distanceMm! + 0.5);
    }
  });

  it('says which frames a doubt touches', () => {
    const doubt = {
      code: 'hidden',
      joint: 'leftWrist',
      startSec: 1,
      endSec: 1.25,
      sentence: 'Hidden.',
      headline: '',
      worth: 0,
      plane: null,
    } as const;
    const late = { ...doubt, startSec: 90, endSec: 91 };
    const json = planJson(madePlan({ doubts: [doubt, late] }));
    expect(json.doubts.map((d) => [d.firstFrame, d.frames])).toEqual([
      [23, 8],
      [0, 0],
    ]);
  });
});

describe('the sheet', () => {
  it('gives the pages of the trade', () => {
    const page = (label: string) => rowsPerPage(shotRates.find((r) => r.label === label)!);
    expect(['23.976', '24', '25', '12', '30', '60'].map(page)).toEqual([96, 96, 100, 96, 90, 60]);
    expect(shotRates.every((r) => rowsPerPage(r) % heavyLineEvery(r) === 0)).toBe(true);
    expect(heavyLineEvery({ frames: 24, seconds: 1 })).toBe(8);
  });

  it('marks keys, breakdowns, in-betweens, dashes and holds', () => {
    const { rows } = writeSheet(madePlan());
    const kinds = (from: number, to: number) => rows.slice(from, to).map((r) => r.mark.kind);
    expect(kinds(0, 5)).toEqual(['key', 'dash', 'inBetween', 'dash', 'inBetween']);
    expect(kinds(20, 34)).toEqual(['key', ...new Array(11).fill('hold'), 'inBetween', 'dash']);
    expect(rows.filter((r) => r.mark.kind === 'hold' && r.mark.ends).map((r) => r.frameIndex)).toEqual([31]);
    expect(rows.filter((r) => r.mark.kind === 'breakdown').map((r) => r.frameIndex)).toEqual([60]);
  });

  it('prints moves only where a pose begins, for the parts asked for', () => {
    const sheet = writeSheet(madePlan({ book: { sheetJoints: ['leftWrist', 'nose'] } }));
    expect(sheet.rows[40]!.moves.map((m) => m.joint)).toEqual(['leftWrist', 'nose']);
    expect(sheet.rows[41]!.moves).toEqual([]);
    expect(sheet.rows[24]!.moves).toEqual([]);
  });

  it('puts the animator’s words before ours', () => {
    const frameNotes = new Map([[20, { action: 'ANTIC', dialogue: 'm', camera: 'pan' }]]);
    const { rows } = writeSheet(madePlan({ book: { frameNotes } }));
    expect(rows[20]).toMatchObject({ action: 'ANTIC', actionIsWritten: true, dialogue: 'm', camera: 'pan' });
    expect(rows[50]).toMatchObject({ action: 'bends to the can', actionIsWritten: false });
  });

  it('heads the page with the shot’s length in every unit', () => {
    const { header } = writeSheet(madePlan());
    expect(header).toMatchObject({
      length: '7.00 s',
      frames: 168,
      feetAndFrames: '10 + 08',
      fps: '24',
      on: 'twos',
      puppet: '250 mm',
    });
  });
});

describe('the pop-through list', () => {
  it('adds up to the shot and opens on its first frame', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 300 }), fc.constantFrom(1, 2, 3, 4), (frameCount, on) => {
        const list = listPopThrough(madePlan({ frameCount, on: on as 1 | 2 | 3 | 4 }));
        expect(list.reduce((sum, p) => sum + p.frames, 0)).toBe(frameCount);
        expect(list[0]!.firstFrame).toBe(0);
        expect(list.every((p, i) => p.frames > 0 && (i === 0 || p.firstFrame === list[i - 1]!.lastFrame + 1))).toBe(
          true,
        );
      }),
      { numRuns: 60 },
    );
  });

  it('uses the sheet’s pose numbers and leaves breakdowns to the final pass', () => {
    const plan = madePlan();
    const rows = writeSheet(plan).rows;
    const list = listPopThrough(plan);
    expect(list.length).toBe(6);
    for (const pose of list)
      expect(rows[pose.poseFrame]!.mark).toMatchObject({ kind: 'key', poseNumber: pose.poseNumber });
  });
});

describe('sheetCsv', () => {
  it('quotes as RFC 4180 says', () => {
    expect(csvLine(['a', 'b,c', 'say "m"', 'two\r\nlines', 3])).toBe('a,"b,c","say ""m""","two\r\nlines",3\r\n');
  });

  it('is one row per frame from 1, and another reader reads it', () => {
    const frameNotes = new Map([[3, { action: 'he said "no", then\nwent', dialogue: 'é – ü', camera: '' }]]);
    const rows = csvParse(sheetCsv(madePlan({ book: { frameNotes } })));
    expect(rows.length).toBe(168);
    expect([rows[0]!.frame, rows[167]!.frame]).toEqual(['1', '168']);
    expect(rows[3]!.action).toBe('he said "no", then\nwent');
    expect(rows[3]!.sound).toBe('é – ü');
    expect(rows.columns).toContain("left wrist o'clock");
  });
});
