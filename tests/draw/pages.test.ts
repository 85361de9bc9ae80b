import { describe, expect, it } from 'vitest';
import { draftChartPages } from '../../src/draw/chartPages.ts';
import { measureBundled } from '../../src/draw/measure.ts';
import { type PaperName, pageRoom } from '../../src/draw/paper.ts';
import { printedPages } from '../../src/draw/printedPages.ts';
import { boxOf, type Mark, type PathMark, type Scene, type TextMark } from '../../src/draw/scene.ts';
import { layOutColumns } from '../../src/draw/sheetColumns.ts';
import { draftSheetPages } from '../../src/draw/sheetPages.ts';
import { themes } from '../../src/draw/tokens.ts';
import { toSvg } from '../../src/draw/toSvg.ts';
import { movesOf, spacingOfMove } from '../../src/timing/spacingChart.ts';
import { type MadeShot, madePlan, twelveParts } from '../plan/madeTiming.ts';

const long =
  'He thinks he hears the gull again & turns <slowly>, "very" slowly, toward the lamp, the stairs, the sea. '.repeat(6);
const wide = '灯台守は重い油缶を持ち上げてから振り返る'.repeat(8);
const noSpace = 'mmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmm';

const hardest: MadeShot = {
  frameCount: 300,
  on: 1,
  rate: { frames: 30000, seconds: 1001 },
  doubts: [
    { code: 'out-of-plane', joint: null, startSec: 0, endSec: 9, sentence: '', headline: '', worth: 0, plane: null },
  ],
  book: {
    shotName: `${noSpace} ${long}`,
    notes: long,
    puppetHeightMm: 1200,
    sheetJoints: twelveParts,
    frameNotes: new Map(
      [0, 1, 2, 40, 88, 89, 90, 178, 179, 299].map((k, i) => [
        k,
        {
          action: [long, wide, noSpace][i % 3]!,
          dialogue: [wide, noSpace, long][i % 3]!,
          camera: [noSpace, long, wide][i % 3]!,
        },
      ]),
    ),
  },
};
const shots: readonly (readonly [string, MadeShot])[] = [
  ['an ordinary shot', {}],
  ['the hardest shot', hardest],
  ['a single frame', { frameCount: 1 }],
  ['no parts', { frameCount: 60, book: { sheetJoints: [], puppetHeightMm: 80 } }],
];
const cases = shots.flatMap(([name, shot]) => (['A4', 'Letter'] as const).map((paper) => [name, paper, shot] as const));

function texts(scene: Scene): TextMark[] {
  return scene.marks.filter((m): m is TextMark => m.kind === 'text');
}

function sideways(mark: Mark): { left: number; right: number } {
  if (mark.kind !== 'text') return mark.kind === 'path' ? boxOf(mark.d) : { left: mark.x, right: mark.x + mark.width };
  const width = measureBundled(mark.text, mark);
  const left = mark.anchor === 'start' ? mark.x : mark.anchor === 'end' ? mark.x - width : mark.x - width / 2;
  return { left, right: left + width };
}

describe('printed pages', () => {
  it.each(cases)('keep everything on the paper: %s on %s', (_, paper, shot) => {
    for (const scene of printedPages(madePlan(shot), { paper, withCharts: true, withMoves: true })) {
      for (const mark of scene.marks) {
        const { left, right } = sideways(mark);
        expect(left, `${scene.title}: ${mark.id}`).toBeGreaterThan(6);
        expect(right, `${scene.title}: ${mark.id}`).toBeLessThan(scene.width - 6);
        if (mark.kind === 'path') continue;
        const bottom = mark.kind === 'text' ? mark.y + mark.size * 0.25 : mark.y + mark.height;
        const top = mark.kind === 'text' ? mark.y - mark.size : mark.y;
        expect(top, mark.id).toBeGreaterThan(6);
        expect(bottom, mark.id).toBeLessThan(scene.height - 6);
      }
    }
  });

  it.each(cases)('keep every number and word of the sheet in its column: %s on %s', (_, paper, shot) => {
    const style = { paper, measure: measureBundled };
    const plan = madePlan(shot);
    const columns = layOutColumns(plan.book.sheetJoints, pageRoom(style));
    expect(columns.at(-1)!.left + columns.at(-1)!.width).toBeCloseTo(pageRoom(style).right, 6);
    for (const page of draftSheetPages(plan, style)) {
      for (const mark of page.marks) {
        const joint = /^row-\d+-(?:doubt-)?([a-z]+[A-Z]?\w*)$/.exec(mark.id)?.[1];
        const column = columns.find(
          (c) => c.kind === mark.role || (mark.kind === 'text' && c.joint !== null && c.joint === joint),
        );
        if (mark.kind !== 'text' || !column) continue;
        const { left, right } = sideways(mark);
        expect(left, mark.id).toBeGreaterThanOrEqual(column.left - 1e-9);
        expect(right, mark.id).toBeLessThanOrEqual(column.left + column.width + 1e-9);
      }
    }
  });

  it.each(cases)('number every frame once from 1, and every page: %s on %s', (_, paper, shot) => {
    const plan = madePlan(shot);
    const pages = printedPages(plan, { paper });
    const frames = pages
      .flatMap(texts)
      .filter((t) => t.role === 'frame')
      .map((t) => t.text);
    expect(frames).toEqual(Array.from({ length: plan.timing.grid.frameCount }, (_, k) => String(k + 1)));
    const numbers = pages.map((page) => texts(page).find((t) => t.role === 'page number')!.text);
    expect(numbers).toEqual(pages.map((_, i) => `${i + 1} of ${pages.length}`));
  });

  it('never let one row’s words run into another’s', () => {
    for (const page of draftSheetPages(madePlan(hardest), { paper: 'A4', measure: measureBundled })) {
      const places = page.marks.flatMap((m) =>
        m.kind === 'text' && ['action', 'sound', 'camera'].includes(m.role) ? [`${m.x} ${m.y}`] : [],
      );
      expect(new Set(places).size).toBe(places.length);
    }
  });

  it('call a pose by one number in the list and on the sheet', () => {
    const pages = printedPages(madePlan(), { paper: 'A4' });
    const listed = texts(pages[0]!)
      .filter((t) => t.role === 'pose')
      .map((t) => t.text);
    const ringed = pages.slice(1).flatMap((page) => {
      const keys = page.marks.filter((m) => m.role === 'key').map((m) => m.id.replace('ring', 'pose'));
      return texts(page)
        .filter((t) => keys.includes(t.id))
        .map((t) => t.text);
    });
    expect(listed).toEqual(ringed);
  });

  it('give a picture slot of the take’s shape to each pose, at the pose’s time', () => {
    const plan = madePlan();
    const slots = printedPages(plan, { paper: 'A4' })[0]!.marks.filter((m) => m.kind === 'picture');
    expect(slots.map((s) => s.takeSec)).toEqual(plan.timing.keys.filter((k) => k.kind === 'key').map((k) => k.takeSec));
    for (const slot of slots) expect(slot.width / slot.height).toBeCloseTo(960 / 540, 1);
  });
});

describe('printed timing charts', () => {
  const plan = madePlan();
  const style = { paper: 'A4', measure: measureBundled } as const;
  const charts = draftChartPages(plan, style);

  it('are on the pages only where they are wanted', () => {
    const count = (choices: { withCharts?: boolean; withMoves?: boolean }) =>
      printedPages(plan, { paper: 'A4', ...choices }).filter((p) => p.title.startsWith('Timing charts')).length;
    expect([count({}), count({ withMoves: true }), count({ withCharts: true })]).toEqual([0, 0, charts.length]);
    expect(charts.length).toBeGreaterThan(0);
  });

  it('have a tick where each pose stands on the path, with the sheet’s number over it and frames under the ends', () => {
    const move = movesOf(plan.timing)[1]!;
    const chart = spacingOfMove(plan.timing, 'rightWrist', move);
    if (typeof chart === 'string') throw new Error(chart);
    const id = `move-${move.firstFrame}-rightWrist`;
    const marks = charts.flatMap((page) => page.marks);
    const line = boxOf((marks.find((m) => m.id === `${id}-line`) as PathMark).d);
    const xs = ['ticks', 'keys'].flatMap((what) => {
      const path = marks.find((m): m is PathMark => m.kind === 'path' && m.id === `${id}-${what}`);
      return [...(path?.d ?? '').matchAll(/M([\d.]+)/g)].map((m) => Number(m[1]));
    });
    const fractions = xs.map((x) => (x - line.left) / (line.right - line.left)).sort((a, b) => a - b);
    expect(fractions).toHaveLength(chart.ticks.length);
    for (const [i, tick] of chart.ticks.entries()) expect(fractions[i]!).toBeCloseTo(tick.fraction, 4);
    for (const end of [chart.ticks[0]!, chart.ticks.at(-1)!]) {
      const pose = plan.poses.findLast((p) => p.firstFrame <= end.frame)!;
      const text = (name: string) => marks.find((m): m is TextMark => m.kind === 'text' && m.id === name)?.text;
      expect(text(`${id}-${end.exposure}`)).toBe(String(pose.number));
      expect(text(`${id}-${end.exposure}-frame`)).toBe(String(end.frame + 1));
    }
  });

  it('ring keys and underline breakdowns, also the key of a hold that a move leaves', () => {
    const marks = charts.flatMap((page) => page.marks);
    const held = plan.timing.holds[0]!;
    const leaving = plan.timing.exposures.findIndex((e) => e.firstFrame === held.firstFrame + held.frames - 2);
    expect(marks.some((m) => m.role === 'key' && m.id.endsWith(`-${leaving}-ring`))).toBe(true);
    expect(marks.some((m) => m.role === 'breakdown')).toBe(true);
  });

  it.each(cases)('never lay one number over another, and keep a move together: %s on %s', (_, paper, shot) => {
    for (const page of draftChartPages(madePlan(shot), { paper, measure: measureBundled })) {
      const numbers = page.marks.filter((m): m is TextMark => m.kind === 'text' && m.role === 'pose');
      for (const [i, a] of numbers.entries())
        for (const b of numbers.slice(i + 1)) {
          const [one, other] = [sideways(a), sideways(b)];
          expect(a.y !== b.y || one.right <= other.left || other.right <= one.left, `${a.id}, ${b.id}`).toBe(true);
        }
      // Every chart on a page stands under the heading of its move.
      const headings = new Set(page.marks.filter((m) => m.role === 'move').map((m) => m.id.replace('-frames', '')));
      for (const m of page.marks.filter((m) => m.role === 'chart'))
        expect(headings.has(/^move-\d+/.exec(m.id)![0])).toBe(true);
    }
  });
});

describe('toSvg', () => {
  const svg = (paper: PaperName) =>
    printedPages(madePlan(hardest), { paper })
      .map((page) => toSvg(page, { theme: themes.paper }))
      .join('');

  it('escapes what people write', () => {
    const text = svg('A4');
    expect(text).toContain('&lt;slowly&gt;');
    expect(text).not.toContain('<slowly>');
    expect(text).not.toMatch(/&(?!amp;|lt;|gt;|quot;)/);
  });

  it('writes no number that is none', () => {
    expect(svg('Letter')).not.toMatch(/NaN|Infinity|undefined/);
  });

  it('puts the picture into its slot, whole, and leaves a slot without one empty', () => {
    const page = printedPages(madePlan(), { paper: 'A4' })[0]!;
    const filled = toSvg(page, {
      theme: themes.paper,
      pictureHref: (slot) => (slot.takeSec === 0 ? 'data:image/png;base64,AA' : null),
    });
    expect(filled.match(/<image /g)).toHaveLength(1);
    expect(filled).toContain('preserveAspectRatio="xMidYMid meet"');
  });
});
