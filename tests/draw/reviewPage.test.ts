import { describe, expect, it } from 'vitest';
import type { Finding, FindingKind } from '../../src/compare/finding.ts';
import type { KeyTiming } from '../../src/compare/keyTiming.ts';
import type { Review } from '../../src/compare/review.ts';
import { layOutReview } from '../../src/draw/reviewPage.ts';
import type { PictureMark, Scene } from '../../src/draw/scene.ts';
import type { Plan } from '../../src/plan/plan.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { puppetOfHeight } from '../../src/puppet/profile.ts';
import type { Fault } from '../compare/madeFaults.ts';
import { madeReview } from '../compare/madeReview.ts';
import { type MadeShot, madePlan } from '../plan/madeTiming.ts';
import { expectGolden } from './expectGolden.ts';
import { around, collisions, texts } from './markBoxes.ts';

const long = 'The left wrist thinks it hears the gull again & turns <slowly>, "very" slowly, toward the lamp. '.repeat(
  6,
);
const wide = '灯台守は重い油缶を持ち上げてから振り返る'.repeat(8);
const noSpace = 'mmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmm';

const papers = (['A4', 'Letter'] as const).flatMap((paper) =>
  (['portrait', 'landscape'] as const).map((orientation) => ({ paper, orientation, words: `${paper} ${orientation}` })),
);

function reviewOf(plan: Plan, fault: Fault | null, given: Partial<Review> = {}): Review {
  const { keys, holds, exposures } = plan.timing;
  const planned = { motion: plan.puppet, rate: plan.book.rate, keys, holds, exposures };
  return madeReview(planned, fault, { seed: 11, noisePx: 0.5 }, given).review;
}

/** The review as if just these had been found. */
function withFindings(review: Review, findings: readonly Partial<Finding>[]): Review {
  const whole = findings.map(
    (given, i): Finding => ({
      ...{ kind: 'offPose', joint: 'leftWrist', also: [], firstFrame: 0, frames: 2, atFrame: given.firstFrame ?? 0 },
      ...{ size: 6, unit: 'mm', sd: 0.5, weight: 40 - i, sentence: `The left wrist is off, number ${i}.` },
      ...given,
    }),
  );
  return { ...review, comparison: { ...review.comparison, findings: whole } };
}

/** The review as if the plan had so many keys, every third one late. */
function withKeys(review: Review, count: number): Review {
  const keys = Array.from(
    { length: count },
    (_, i): KeyTiming => ({
      key: { id: `k${i}`, frameIndex: 4 * i, kind: i % 4 === 3 ? 'breakdown' : 'key', name: long },
      ...{ number: i + 1, late: i % 3 === 0 ? -12.5 : 0.2, sd: 0.3 },
    }),
  );
  return { ...review, comparison: { ...review.comparison, keys } };
}

const hard: MadeShot = {
  frameCount: 300,
  on: 1,
  rate: { frames: 30000, seconds: 1001 },
  book: { shotName: `${noSpace} ${long}`, notes: `${long} ${wide}`, puppet: puppetOfHeight(newPuppet, 1200) },
};
const kinds: readonly FindingKind[] = ['offPose', 'keyTiming', 'footSlide', 'shortHold', 'throughout', 'arc'];

/** The review as if so many joints had been found elsewhere in all of the shot. */
function withLeftOut(review: Review, count: number): Review {
  const joints = ['leftElbow', 'rightShoulder', 'nose', 'leftWrist', 'rightElbow'] as const;
  const leftOut = joints
    .slice(0, count)
    .map((joint, i) => ({ joint, carrier: 'neck' as const, furtherMm: 9 - i, sizeMm: 118.5 - i, sdMm: 0.4 }));
  const hardly = ['rightWrist', 'leftAnkle', 'rightAnkle', 'leftKnee', 'rightKnee'] as const;
  const astray = joints
    .slice(0, count)
    .map((joint, i) => ({ joint, first: 2 * i, last: 2 * i + 3, worst: 2 * i, offMm: 40 }));
  return { ...review, comparison: { ...review.comparison, leftOut, unsure: hardly.slice(0, count), astray } };
}

function hardest(plan: Plan): Review {
  const many = Array.from({ length: 40 }, (_, i) => ({
    kind: kinds[i % kinds.length]!,
    joint: (['leftWrist', null, 'rightAnkle', null, 'nose', 'neck'] as const)[i % 6]!,
    firstFrame: i % 5 === 4 ? 0 : (i * 37) % 300,
    frames: i % 5 === 4 ? 300 : 1 + (i % 7),
    sentence: [long, wide, noSpace][i % 3]!,
  }));
  const flickers = Array.from({ length: 12 }, (_, i) => ({
    kind: 'flicker' as const,
    joint: null,
    sentence: long,
    firstFrame: 9 * i,
  }));
  const found = withFindings(reviewOf(plan, null, { shotName: `${noSpace} ${wide}` }), [...many, ...flickers]);
  return withLeftOut(withKeys(found, 75), 5);
}

const ordinary = madePlan();
const large = madePlan(hard);
const cases: readonly (readonly [string, Plan, Review])[] = [
  ['an ordinary shot', ordinary, reviewOf(ordinary, 'offPose')],
  ['a shot without faults', ordinary, reviewOf(ordinary, null)],
  ['one note', ordinary, withFindings(reviewOf(ordinary, null), [{}])],
  ['so many that a few do not fit', ordinary, withFindings(reviewOf(ordinary, null), new Array<object>(9).fill({}))],
  ['the hardest shot', large, hardest(large)],
];

const said = (scene: Scene) => texts(scene).map((t) => t.text);
const byRole = (scene: Scene, role: string) => texts(scene).flatMap((t) => (t.role === role ? [t.text] : []));

describe('the review sheet', () => {
  const all = cases.flatMap(([name, plan, review]) =>
    papers.map((page) => [name, page.words, plan, review, page] as const),
  );

  it.each(all)(
    'is one page with everything on the paper and no word over another: %s on %s',
    (_, __, plan, review, page) => {
      const scene = layOutReview(plan, review, page);
      expect(byRole(scene, 'page number')).toEqual(['1 of 1']);
      expect(byRole(scene, 'looked-at')[0]).toMatch(/ of \d+ exposures looked at, frames 1 to \d+$/);
      expect(new Set(scene.marks.map((m) => m.id)).size).toBe(scene.marks.length);
      for (const mark of scene.marks) {
        const { left, right, top, bottom } = around(mark);
        expect(left, mark.id).toBeGreaterThan(6);
        expect(right, mark.id).toBeLessThan(scene.width - 6);
        expect(top, mark.id).toBeGreaterThan(6);
        expect(bottom, mark.id).toBeLessThan(scene.height - 6);
      }
      expect(collisions(scene)).toEqual([]);
      for (const mark of texts(scene)) expect((mark.size / 25.4) * 72, mark.text).toBeGreaterThanOrEqual(7);
      // A number whose end is cut off is another number.
      for (const mark of texts(scene)) if (/^note-\d+-exposures$/.test(mark.id)) expect(mark.text).toMatch(/\d$/);
      // Nothing of a note runs into the line below it or onto the foot.
      const foot = texts(scene).find((t) => t.id === 'foot')!;
      for (const mark of scene.marks)
        if (mark.id.startsWith('note-')) expect(around(mark).bottom).toBeLessThan(foot.y - 2);
    },
  );

  it.each(all)(
    'has each note with a box to tick and a line to write on, and counts the rest: %s on %s',
    (_, __, plan, review, page) => {
      const scene = layOutReview(plan, review, page);
      const notes = review.comparison.findings.filter((f) => f.kind !== 'flicker').length;
      const numbers = byRole(scene, 'note').map(Number);
      expect(numbers).toEqual(numbers.map((_, i) => i + 1));
      for (const role of ['tick box', 'line to write on'])
        expect(scene.marks.filter((m) => m.role === role)).toHaveLength(numbers.length);
      const left = /^and (\d+) smaller ones?: in the CSV$/.exec(
        byRole(scene, 'left-out')[0] ?? 'and 0 smaller ones: in the CSV',
      );
      expect(numbers.length + Number(left![1])).toBe(notes);
      if (notes > 0) expect(numbers.length).toBeGreaterThanOrEqual(Math.min(notes, 3));
      expect(said(scene).some((t) => t.startsWith('Nothing differs'))).toBe(review.comparison.findings.length === 0);
    },
  );

  it('says what lies elsewhere in all of the shot and is no note', () => {
    const told = (count: number) =>
      texts(layOutReview(ordinary, withLeftOut(reviewOf(ordinary, null), count), { paper: 'Letter' }))
        .filter((t) => t.id.startsWith('not-counted'))
        .map((t) => t.text)
        .join(' ');
    expect(told(0)).toBe('');
    expect(told(1)).toBe(
      'Found beside where it was planned in all of the shot, and so not counted: left elbow 119 mm. ' +
        'Hardly recognised, and so judged only by what they do from one picture to the next: right wrist. Not judged, as the marked point may have left its joint: left elbow at frames 1 to 8.',
    );
    expect(told(5)).toMatch(
      /not counted: left elbow 119 mm, right shoulder .*, nose .* and 2 more\. Hardly recognised, .*: right wrist, .*\.$/,
    );
  });

  it('says what was looked at, how it was laid over, and what the camera did', () => {
    const scene = layOutReview(ordinary, reviewOf(ordinary, 'cameraBump'), { paper: 'A4' });
    const words = said(scene).join('\n');
    expect(words).toContain(
      '“Keeper 04, animated” · 12 to 14 March 2026 · 84 of 84 exposures looked at, frames 1 to 168',
    );
    expect(words).toMatch(/Laid over the plan by its joints: 0\.\d{3} mm to a pixel/);
    expect(words).toMatch(/The whole picture jumps by 5\.\d px at frame \d+/);
    const blind = layOutReview(ordinary, reviewOf(ordinary, null, { isCameraMeasured: false, days: null }), {
      paper: 'A4',
    });
    expect(said(blind)).toContain('Camera and light were not measured.');
    expect(said(blind)).toContain('“Keeper 04, animated” · 84 of 84 exposures looked at, frames 1 to 168');
  });

  it('tells for each key by how many frames it was early or late, bold where that is sure', () => {
    const review = withKeys(reviewOf(ordinary, null), 5);
    const scene = layOutReview(ordinary, review, { paper: 'A4' });
    expect(byRole(scene, 'planned')).toEqual(['1', '5', '9', '13', '17']);
    expect(byRole(scene, 'late')).toEqual(['−12.5', '0', '0', '−12.5', '0']);
    const weights = texts(scene).flatMap((t) => (t.role === 'late' ? [t.weight] : []));
    expect(weights).toEqual([700, 400, 400, 700, 400]);
    // Of too many, all that are off are shown.
    const many = layOutReview(ordinary, withKeys(review, 75), { paper: 'A4' });
    expect(byRole(many, 'late').filter((t) => t === '−12.5')).toHaveLength(25);
    const shown = byRole(many, 'late').length;
    expect(said(many)).toContain(`and ${75 - shown} more keys: in the JSON`);
  });

  it('crops the shot’s own picture of the exposure, around the joint that is off', () => {
    const review = reviewOf(ordinary, 'offPose', { pictureOf: ordinary.timing.exposures.map((_, i) => 100 + i) });
    const [finding] = review.comparison.findings;
    const scene = layOutReview(ordinary, review, { paper: 'A4' });
    const picture = scene.marks.find((m): m is PictureMark => m.kind === 'picture')!;
    const i = ordinary.timing.exposures.findIndex((e) => e.firstFrame === finding!.atFrame);
    expect(picture.crop!.picture).toBe(100 + i);
    const { toMm, places, mmPerPx } = review.comparison.registration;
    const of = places.at.get(finding!.joint!)!;
    // Back from the set's millimetres to the picture, by the made camera's own numbers.
    const { left, top, width, height } = picture.crop!;
    expect(width).toBeCloseTo((height * picture.width) / picture.height, 6);
    const angle = (toMm[i]!.rotationDeg * Math.PI) / 180;
    const [dx, dy] = [of.x[i]! - toMm[i]!.shiftX, of.y[i]! - toMm[i]!.shiftY];
    const px = (Math.cos(angle) * dx + Math.sin(angle) * dy) / mmPerPx;
    const py = (-Math.sin(angle) * dx + Math.cos(angle) * dy) / mmPerPx;
    expect(px).toBeGreaterThan(left);
    expect(px).toBeLessThan(left + width);
    expect(py).toBeGreaterThan(top);
    expect(py).toBeLessThan(top + height);
    // The mark of the joint lies where the joint is in the picture.
    const here = around(scene.marks.find((m) => m.role === 'shotHere')!);
    expect((here.left + here.right) / 2).toBeCloseTo(picture.x + ((px - left) / width) * picture.width, 1);
    expect((here.top + here.bottom) / 2).toBeCloseTo(picture.y + ((py - top) / height) * picture.height, 1);
  });

  it('golden: faults on A4', () => {
    const review = reviewOf(ordinary, 'offPose');
    const more = ['lateKey', 'holdDrift', 'cameraBump'] as const;
    const findings = [...review.comparison.findings, ...more.flatMap((f) => reviewOf(ordinary, f).comparison.findings)];
    const { camera, ...rest } = review.comparison;
    const scene = layOutReview(ordinary, { ...review, comparison: { ...rest, camera, findings } }, { paper: 'A4' });
    expectGolden('review-a4', scene, 'paper');
  });

  it('golden: more than fits on a page that lies', () => {
    const review = withFindings(reviewOf(ordinary, 'footSlide'), [
      ...reviewOf(ordinary, 'footSlide').comparison.findings,
      ...Array.from({ length: 9 }, (_, i) => ({ firstFrame: 16 * i, joint: 'rightWrist' as const })),
    ]);
    expectGolden(
      'review-letter-lying',
      layOutReview(ordinary, review, { paper: 'Letter', orientation: 'landscape' }),
      'paper',
    );
  });
});
