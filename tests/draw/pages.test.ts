import { describe, expect, it } from 'vitest';
import { type PaperName, pageKinds } from '../../src/base/paper.ts';
import { measureBundled } from '../../src/draw/measure.ts';
import { pageRoom } from '../../src/draw/paper.ts';
import { printedPages } from '../../src/draw/printedPages.ts';
import type { PathMark } from '../../src/draw/scene.ts';
import { layOutColumns } from '../../src/draw/sheetColumns.ts';
import { draftSheetPages } from '../../src/draw/sheetPages.ts';
import { themes } from '../../src/draw/tokens.ts';
import { toSvg } from '../../src/draw/toSvg.ts';
import { listPopThrough } from '../../src/plan/popThrough.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { puppetOfHeight } from '../../src/puppet/profile.ts';
import { type MadeShot, madePlan, twelveParts, withHitches } from '../plan/madeTiming.ts';
import { around, boxAround, collisions, sideways, texts } from './markBoxes.ts';

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
    notes: `${long} ${wide} ${noSpace}`.repeat(9),
    checks: [long, wide, noSpace, ...Array.from({ length: 40 }, (_, i) => `check ${i}`)],
    minutesPerExposure: 1234.5,
    puppet: puppetOfHeight(newPuppet, 1200),
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
const findings = [0, 7, 60, 250].map((firstFrame) => ({
  firstFrame,
  frames: 30,
  sentence: [long, wide, noSpace][firstFrame % 3]!,
  support: 'rig' as const,
}));
const shots: readonly (readonly [string, MadeShot])[] = [
  ['an ordinary shot', {}],
  ['the hardest shot', hardest],
  ['a single frame', { frameCount: 1 }],
  ['no parts', { frameCount: 60, book: { sheetJoints: [], puppet: puppetOfHeight(newPuppet, 80) } }],
];
const papers = (['A4', 'Letter'] as const).flatMap((paper) =>
  (['portrait', 'landscape'] as const).map((orientation) => ({ paper, orientation, words: `${paper} ${orientation}` })),
);
const cases = shots.flatMap(([name, shot]) => papers.map((page) => [name, page.words, page, shot] as const));

const points = (sizeMm: number) => (sizeMm / 25.4) * 72;

/** Each shot's plan, made once: the tests only read it. */
const plans = new Map(shots.map(([, shot]) => [shot, madePlan(shot)]));
const planOf = (shot: MadeShot) => plans.get(shot)!;

/** Where the middles of a capsule's round ends are: x, y, x, y. */
function capsuleEnds({ d }: PathMark): [number, number, number, number] {
  const n = d.match(/-?[\d.]+/g)!.map(Number);
  return [(n[0]! + n[7]!) / 2, (n[1]! + n[8]!) / 2, (n[9]! + n[16]!) / 2, (n[10]! + n[17]!) / 2];
}

describe('printed pages', () => {
  it.each(cases)('keep everything on the paper: %s on %s', (_, __, page, shot) => {
    const scenes = printedPages(withHitches(planOf(shot), findings), { ...page, pages: pageKinds });
    const numbers = scenes.map((scene) => texts(scene).find((t) => t.role === 'page number')!.text);
    expect(numbers).toEqual(scenes.map((_, i) => `${i + 1} of ${scenes.length}`));
    for (const scene of scenes) {
      expect(new Set(scene.marks.map((m) => m.id)).size, scene.title).toBe(scene.marks.length);
      const off = scene.marks.filter((mark) => {
        const { left, right, top, bottom } = around(mark);
        return !(left > 6 && right < scene.width - 6 && top > 6 && bottom < scene.height - 6);
      });
      expect(
        off.map((mark) => mark.id),
        scene.title,
      ).toEqual([]);
    }
  });

  it.each(cases)('print no letter smaller than 7 points: %s on %s', (_, __, page, shot) => {
    const scenes = printedPages(withHitches(planOf(shot), findings), { ...page, pages: pageKinds });
    const small = scenes.flatMap((scene) => texts(scene).filter((t) => points(t.size) < 7));
    expect(small.map((t) => `${t.id}, ${points(t.size).toFixed(2)} pt`)).toEqual([]);
  });

  it.each(cases)('let no word of a card run into what is beside or below it: %s on %s', (_, __, page, shot) => {
    const kinds = ['card', 'popThrough', 'arcs', 'spacing'] as const;
    for (const scene of printedPages(withHitches(planOf(shot), findings), { ...page, pages: kinds })) {
      expect(collisions(scene), scene.title).toEqual([]);
    }
  });

  it.each(cases)('keep every number and word of the sheet in its column: %s on %s', (_, __, { paper }, shot) => {
    const style = { paper, measure: measureBundled };
    const plan = planOf(shot);
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

  it.each(cases)('number every frame once from 1, and every page: %s on %s', (_, __, page, shot) => {
    const plan = planOf(shot);
    const pages = printedPages(plan, { ...page, pages: ['popThrough', 'sheet'] });
    const frames = pages
      .flatMap(texts)
      .filter((t) => t.role === 'frame')
      .map((t) => t.text);
    expect(frames).toEqual(Array.from({ length: plan.timing.grid.frameCount }, (_, k) => String(k + 1)));
    const numbers = pages.map((page) => texts(page).find((t) => t.role === 'page number')!.text);
    expect(numbers).toEqual(pages.map((_, i) => `${i + 1} of ${pages.length}`));
  });

  it.each(papers)('hold 96 frames of film on one sheet: $words', (page) => {
    const frameCount = 96;
    for (const sheetJoints of [twelveParts.slice(0, 5), twelveParts]) {
      const pages = printedPages(madePlan({ frameCount, book: { sheetJoints } }), { ...page, pages: ['sheet'] });
      // Twelve parts find the width for their numbers on a lying page only where the halves of the sheet are two pages.
      expect(pages).toHaveLength(page.orientation === 'landscape' && sheetJoints.length === 12 ? 2 : 1);
      const numbers = texts(pages[0]!).filter((t) => t.role === 'frame');
      for (const number of numbers) expect(number.size).toBeGreaterThan(2);
    }
  });

  it('never let one row’s words run into another’s', () => {
    for (const page of draftSheetPages(planOf(hardest), { paper: 'A4', measure: measureBundled })) {
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

  it.each(cases)(
    'show each pose by the puppet, as high as its row, beside its picture: %s on %s',
    (_, __, page, shot) => {
      const plan = planOf(shot);
      const scenes = printedPages(plan, { ...page, pages: ['popThrough'] });
      const perMm = new Set<string>();
      const shares: number[] = [];
      for (const [i, pose] of listPopThrough(plan).entries()) {
        const marks = scenes.flatMap((scene) => scene.marks).filter((m) => m.id.startsWith(`pose-${i}-`));
        const figure = boxAround(marks.filter((m) => m.id.includes('-figure-')));
        const photo = around(marks.find((m) => m.kind === 'picture')!);
        const words = boxAround(marks.filter((m) => m.kind === 'text' && m.role !== 'pose'));
        const lines = boxAround(marks.filter((m) => m.id.endsWith('-lines')));
        // From left to right, with nothing over anything else, and all of it in the row.
        expect(figure.left).toBeGreaterThan(photo.right + 2);
        expect(words.left).toBeGreaterThan(figure.right + 2);
        expect(lines.left).toBeGreaterThan(words.right + 2);
        expect(lines.right - lines.left).toBeGreaterThan(19.9);
        expect(figure.top).toBeGreaterThan(photo.top - 0.01);
        expect(figure.bottom).toBeLessThan(photo.bottom);
        expect(figure.bottom).toBeGreaterThan(photo.bottom - 0.5);
        shares.push((figure.bottom - figure.top) / (photo.bottom - photo.top));
        // One scale for all: the thigh is as long in every row as it is in millimetres of the puppet.
        const [hip, knee] = ['Hip', 'Knee'].map((joint) => plan.puppet.paths.get(`right${joint as 'Hip' | 'Knee'}`)!);
        const trueMm = Math.hypot(
          hip!.xMm[pose.poseFrame]! - knee!.xMm[pose.poseFrame]!,
          hip!.yMm[pose.poseFrame]! - knee!.yMm[pose.poseFrame]!,
        );
        const ends = capsuleEnds(marks.find((m) => m.id.endsWith('-figure-rightKnee')) as PathMark);
        perMm.add((Math.hypot(ends[0] - ends[2], ends[1] - ends[3]) / trueMm).toFixed(3));
      }
      expect(perMm.size).toBe(1);
      expect(Math.max(...shares)).toBeGreaterThan(0.97);
    },
  );

  it('give a picture slot of the take’s shape to each pose, at the pose’s time', () => {
    const plan = madePlan();
    const slots = printedPages(plan, { paper: 'A4' })[0]!.marks.filter((m) => m.kind === 'picture');
    expect(slots.map((s) => s.takeSec)).toEqual(plan.timing.keys.filter((k) => k.kind === 'key').map((k) => k.takeSec));
    for (const slot of slots) expect(slot.width / slot.height).toBeCloseTo(960 / 540, 1);
  });
});

describe('toSvg', () => {
  const svg = (paper: PaperName) =>
    printedPages(planOf(hardest), { paper })
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
