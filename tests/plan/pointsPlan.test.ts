import { describe, expect, it } from 'vitest';
import { pageKinds } from '../../src/base/paper.ts';
import { scenesOfPlan } from '../../src/draw/planScenes.ts';
import { printedPages } from '../../src/draw/printedPages.ts';
import { themes } from '../../src/draw/tokens.ts';
import { toSvg } from '../../src/draw/toSvg.ts';
import { buildPlan, type Plan } from '../../src/plan/plan.ts';
import { planJson } from '../../src/plan/planJson.ts';
import { listPopThrough } from '../../src/plan/popThrough.ts';
import { setSpacings } from '../../src/plan/setSpacing.ts';
import { writeSheet } from '../../src/plan/sheet.ts';
import { sheetCsv } from '../../src/plan/sheetCsv.ts';
import { shotFacts } from '../../src/plan/shotFacts.ts';
import { type Book, choicesOf, newBook } from '../../src/project/book.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { heightAt } from '../../src/timing/idealFall.ts';
import { type MadePath, seenPoints, tracksOfPoints } from '../timing/madePoints.ts';

const pxPerMetre = 150;
const ball: MadePath = (sec) => [
  150 + 40 * Math.max(0, sec - 0.5),
  430 - pxPerMetre * heightAt({ dropHeightM: 1.8, restitution: 0.7 }, sec - 0.5),
];
const bob: MadePath = (sec) => {
  const a = 0.6 * Math.cos(2.4 * sec);
  return [320 + 240 * Math.sin(a), 70 + 240 * Math.cos(a)];
};

function planOfPoints(paths: Readonly<Record<string, MadePath>>): Plan {
  const seen = seenPoints(paths, { seconds: 3 });
  const { timesSec } = seen[0]!;
  const book: Book = { ...newBook('Toys 01'), props: seen.map((s) => s.prop) };
  const tracks = tracksOfPoints(seen);
  const timing = computeTiming(tracks, choicesOf(book, 0, 3));
  const footage = {
    ...{ name: 'toys.mp4', widthPx: 640, heightPx: 480, timesSec, endSec: 3, firstStampSec: 0, medianFps: 30 },
    ...{ variableFrameRate: false, codec: 'avc', turnedDeg: 0, notes: [] },
  } as const;
  return buildPlan({ book, footage, sightings: null, tracks, timing, seenProps: seen });
}

/** What is written where a number should be, with what stands around it. */
function nothings(text: string): string[] {
  return [...text.matchAll(/.{0,40}(NaN|Infinity|undefined).{0,20}/g)].map((m) => m[0]);
}

describe('a plan of marked points alone', () => {
  it.each([
    ['mm', { 'red ball': ball }],
    ['px', { bob }],
  ] as const)('goes all the way to paper and files, in %s', (unit, paths) => {
    const plan = planOfPoints(paths);
    const [name] = Object.keys(paths);
    const sheet = writeSheet(plan);
    expect([sheet.unit, sheet.joints]).toEqual([unit, [`prop:${name}`]]);
    const amounts = sheet.rows.flatMap((row) => row.moves.map((m) => m.amount));
    expect(amounts.length).toBeGreaterThan(20);
    expect(amounts.every(Number.isFinite)).toBe(true);
    expect(Math.max(...amounts)).toBeGreaterThan(5);
    const csv = sheetCsv(plan);
    expect(csv.split('\r\n')[0]).toContain(`${name} ${unit},${name} o'clock`);
    expect(listPopThrough(plan).length).toBe(plan.timing.keys.filter((k) => k.kind === 'key').length);
    expect(nothings(JSON.stringify(planJson(plan)))).toEqual([]);
    const scenes = [...scenesOfPlan(plan, { paper: 'A4', pages: pageKinds })];
    expect(scenes.length).toBeGreaterThan(10);
    for (const { name: file, scene } of scenes) {
      expect(nothings(toSvg(scene, { theme: themes.paper })), file).toEqual([]);
    }
    expect(scenes.filter((s) => s.name.startsWith('puppet/pose'))).toEqual([]);
    const [spacing] = printedPages(plan, { paper: 'A4', pages: ['spacing'] });
    expect(toSvg(spacing!, { theme: themes.paper })).toContain(unit === 'mm' ? 'true size' : 'px of the picture');
  });

  it('measures at the scale of the fall: the puppet’s size over a person’s', () => {
    const plan = planOfPoints({ ball });
    const [fall] = setSpacings(plan);
    const { puppetHeightMm } = plan.timing.choices;
    // From the rest to the floor and to the side, as long as it falls.
    const truth = (puppetHeightMm / 1.7) * Math.hypot(1.8, (40 * Math.sqrt((2 * 1.8) / 9.80665)) / pxPerMetre);
    expect(Math.abs(fall!.length / truth - 1)).toBeLessThan(0.04);
    expect(shotFacts(plan).biggestMove?.joint).toBe('prop:ball');
  });

  it('tells moves in whole pixels where nothing tells the scale, each with its direction', () => {
    const plan = planOfPoints({ bob });
    expect(plan.moves.length).toBeGreaterThan(20);
    for (const move of plan.moves) {
      expect([move.distanceMm, move.roundedMm, move.distanceBody]).toEqual([Number.NaN, Number.NaN, Number.NaN]);
      expect(Number.isInteger(move.px!.rounded)).toBe(true);
      expect(Number.isNaN(move.nudgeDeg)).toBe(move.px!.rounded === 0);
    }
    const json = planJson(plan);
    expect(json.moves[3]!.distanceMm).toBeNull();
    expect(json.moves[3]!.roundedPx).toBe(plan.moves[3]!.px!.rounded);
    expect(Object.keys(planJson(planOfPoints({ ball })).moves[0]!)).not.toContain('roundedPx');
    expect(shotFacts(plan).biggestMove).toBeNull();
  });
});
