import { csvParse, csvParseRows } from 'd3-dsv';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { isOfCamera, notesOf, plannedExposures, type Review, seenExposures } from '../../src/compare/review.ts';
import { deviationsCsv, findingsCsv } from '../../src/compare/reviewCsv.ts';
import { reviewJson } from '../../src/compare/reviewJson.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { madeReview } from './madeReview.ts';
import { madePlan } from './madeShots.ts';

const planned = madePlan('keeper', newPuppet);
const seeing = { seed: 11, noisePx: 0.5 };
const { review: late, made: lateMade } = madeReview(planned, 'lateKey', seeing);
const { review: bumped } = madeReview(planned, 'cameraBump', seeing);
const { review: off, made: offMade } = madeReview(planned, 'offPose', seeing);

/** The review as if one joint had not been seen in one exposure. */
function unseen(review: Review, exposure: number): Review {
  const deviations = review.comparison.deviations.map((d) =>
    d.joint === 'leftWrist' && d.exposure === exposure
      ? { ...d, xMm: Number.NaN, yMm: Number.NaN, deg: Number.NaN }
      : d,
  );
  return { ...review, comparison: { ...review.comparison, deviations } };
}

describe('notes', () => {
  it('are all findings but those of the camera, in their order', () => {
    expect(bumped.comparison.findings.some(isOfCamera)).toBe(true);
    expect(notesOf(bumped)).toEqual(bumped.comparison.findings.filter((f) => f.kind !== 'cameraBump'));
    expect(notesOf(off)).toEqual(off.comparison.findings);
  });

  it('stand on the exposures of the plan, wherever the shot was taken up', () => {
    const upTo = { planned: { rate: planned.rate, exposures: planned.exposures } };
    const { firstFrame } = planned.exposures[7]!;
    expect(plannedExposures(upTo, { firstFrame, frames: 1 })).toEqual([7, 7]);
    // Twos: the second frame of one and the first of the next.
    expect(plannedExposures(upTo, { firstFrame: firstFrame + 1, frames: 2 })).toEqual([7, 8]);
    expect(plannedExposures(upTo, { firstFrame: 0, frames: 100_000 })).toEqual([0, planned.exposures.length - 1]);
  });

  it('tell how many exposures show anything of the puppet', () => {
    const hidden = { ...off, comparison: { ...off.comparison, registration: { ...off.comparison.registration } } };
    expect(seenExposures(off)).toBe(off.comparison.exposures.length);
    const at = new Map([...off.comparison.registration.places.at].map(([j, c]) => [j, { ...c, x: c.x.slice() }]));
    for (const { x } of at.values()) x.fill(Number.NaN, 3, 5);
    hidden.comparison.registration.places = { ...off.comparison.registration.places, at };
    expect(seenExposures(hidden)).toBe(off.comparison.exposures.length - 2);
  });
});

describe('the tables', () => {
  it('have a row for each finding with frames and exposures from 1', () => {
    const rows = csvParse(findingsCsv(off));
    expect(rows).toHaveLength(off.comparison.findings.length);
    const made = offMade.made!;
    const row = rows.find((r) => Number(r['frame to look at']) === made.firstFrame + 1)!;
    const exposure = planned.exposures.findIndex((e) => e.firstFrame === made.firstFrame) + 1;
    expect([row['first exposure'], row['last exposure']].map(Number)).toEqual([exposure, exposure]);
    expect(row.unit).toBe('mm');
    expect(Math.abs(Number(row.size) - 6)).toBeLessThan(4 * Number(row.sd));
    expect(row.note).toBe(String(rows.indexOf(row) + 1));
  });

  it('leave the note empty for the camera, and the joint for the whole body', () => {
    const bump = csvParse(findingsCsv(bumped)).find((r) => r.kind === 'cameraBump')!;
    expect([bump.note, bump.joint, bump.unit]).toEqual(['', '', 'px']);
    const key = csvParse(findingsCsv(late)).find((r) => r.kind === 'keyTiming')!;
    expect(key.joint).toBe('');
    expect(Number(key['frame to look at'])).toBe(lateMade.made!.firstFrame + 1);
    const by = Number(/by (-?\d)/.exec(lateMade.made!.what)![1]);
    expect(Math.abs(Number(key.size) - by)).toBeLessThan(1);
    expect(Math.sign(Number(key.size))).toBe(Math.sign(by));
  });

  it('quote what holds commas, and end lines as RFC 4180 has it', () => {
    const [first] = off.comparison.findings;
    const sentence = 'A "long" one, with\nall of it.';
    const changed = { ...off, comparison: { ...off.comparison, findings: [{ ...first!, sentence }] } };
    const csv = findingsCsv(changed);
    expect(csv).toContain('"A ""long"" one, with\nall of it."\r\n');
    expect(csvParseRows(csv)[1]!.at(-1)).toBe(sentence);
    expect(csv.charCodeAt(0)).not.toBe(0xfeff);
  });

  it('tell how far each joint is off in each exposure, as made', () => {
    const made = offMade.made!;
    const at = planned.exposures.findIndex((e) => e.firstFrame === made.firstFrame);
    const rows = csvParse(deviationsCsv(unseen(off, 0)));
    expect(rows).toHaveLength(off.comparison.deviations.length);
    const words = made.what.replace(/[A-Z]/g, (l) => ` ${l.toLowerCase()}`);
    const row = rows.find((r) => r.exposure === String(at + 1) && r.joint === words)!;
    const size = Math.hypot(Number(row['x mm']), Number(row['y mm']));
    expect(Math.abs(size - 6)).toBeLessThan(1.5);
    // To the right, and up: as the shot was made.
    const { x, y } = offMade.truth.get(made.what as 'nose')!;
    const path = planned.motion.paths.get(made.what as 'nose')!;
    const [dx, dy] = [x[at]! - path.xMm[made.firstFrame]!, -y[at]! - path.yMm[made.firstFrame]!];
    expect(Math.abs(Number(row['x mm on its frame']) - dx)).toBeLessThan(1.5);
    expect(Math.abs(Number(row['y mm on its frame']) - dy)).toBeLessThan(1.5);
    const blank = rows.find((r) => r.exposure === '1' && r.joint === 'left wrist')!;
    expect([blank['x mm'], blank.degrees, blank['planned step mm']]).toEqual(['', '', '']);
  });

  it('tell the steps of a move, which add up to its way', () => {
    const move = off.comparison.moves.find((m) => m.planMm > 20 && m.exposures.length > 4)!;
    const rows = csvParse(deviationsCsv(off));
    const words = move.joint.replace(/[A-Z]/g, (l) => ` ${l.toLowerCase()}`);
    const frames = move.exposures.slice(1).map((i) => String(off.comparison.exposures[i]!.firstFrame + 1));
    const steps = rows.filter((r) => r.joint === words && frames.includes(r.frame!));
    const sum = (column: string) => steps.reduce((all, r) => all + Number(r[column]), 0);
    expect(sum('planned step mm')).toBeCloseTo(move.planMm, 0);
    expect(sum('shot step mm')).toBeCloseTo(move.shotMm, 0);
  });
});

const maybe = z.number().nullable();
const day = z
  .string()
  .regex(/^\d{4}-\d\d-\d\d$/)
  .nullable();
const frame = z.number().int().min(0);
/** What other programs may count on: a name more or less here is a new version. */
const schema = z.strictObject({
  format: z.literal('nudgebook-review'),
  version: z.literal(1),
  shot: z.strictObject({
    ...{ name: z.string(), firstDay: day, lastDay: day },
    pictures: z.enum(['exposures', 'frames', 'poses']),
  }),
  grid: z.strictObject({ fps: maybe, fpsExact: z.tuple([z.number(), z.number()]) }),
  registration: z.strictObject({
    kind: z.enum(['similarity', 'ruler', 'none']),
    ...{ mmPerPx: maybe, rotationDeg: maybe, mirrored: z.boolean() },
  }),
  exposures: z.array(z.strictObject({ firstFrame: frame, frames: frame, planFrame: maybe })),
  camera: z.strictObject({ xPx: z.array(maybe), yPx: z.array(maybe) }).nullable(),
  keys: z.array(
    z.strictObject({
      number: frame,
      kind: z.enum(['key', 'breakdown']),
      frameIndex: frame,
      ...{ name: z.string(), lateFrames: maybe, sdFrames: maybe, off: z.boolean() },
    }),
  ),
  findings: z.array(
    z.strictObject({
      note: frame.min(1).nullable(),
      ...{ kind: z.string(), joint: z.string().nullable(), also: z.array(z.string()) },
      ...{ firstFrame: frame, frames: frame, atFrame: frame },
      ...{ size: maybe, unit: z.enum(['mm', 'frames', 'px', '%']), sd: maybe, weight: maybe, sentence: z.string() },
    }),
  ),
  leftOut: z.array(
    z.strictObject({ joint: z.string(), carrier: z.string(), sizeMm: maybe, furtherMm: maybe, sdMm: maybe }),
  ),
  unsure: z.array(z.string()),
  astray: z.array(z.strictObject({ joint: z.string(), firstFrame: frame, frames: frame, offMm: maybe })),
  mistaken: z.array(z.strictObject({ limbs: z.enum(['arms', 'legs']), firstFrame: frame, frames: frame })),
  deviations: z.record(
    z.string(),
    z.strictObject({
      ...{ xMm: z.array(maybe), yMm: z.array(maybe), sdMm: z.array(maybe) },
      ...{ frameXMm: z.array(maybe), frameYMm: z.array(maybe), deg: z.array(maybe), sdDeg: z.array(maybe) },
    }),
  ),
  moves: z.array(
    z.strictObject({
      ...{ joint: z.string(), fromFrame: frame, toFrame: frame, exposures: z.array(frame) },
      ...{ planMm: maybe, shotMm: maybe, planFractions: z.array(maybe), shotFractions: z.array(maybe) },
      ...{ besideMm: maybe, sdMm: maybe },
    }),
  ),
});

describe('review.json', () => {
  it('keeps to its format through a file, with null where nothing is known', () => {
    for (const review of [late, bumped, off, unseen(off, 0)]) {
      const json = reviewJson(review);
      const back = schema.parse(JSON.parse(JSON.stringify(json)));
      expect(back).toEqual(json);
      for (const of of Object.values(back.deviations))
        for (const column of Object.values(of)) expect(column).toHaveLength(review.comparison.exposures.length);
    }
    const wrist = reviewJson(unseen(off, 0)).deviations.leftWrist!;
    expect([wrist.xMm[0], wrist.deg[0]]).toEqual([null, null]);
    expect(wrist.xMm[1]).not.toBeNull();
  });

  it('says which joints lie elsewhere in all of the shot, and so does the table', () => {
    const leftOut = [
      { joint: 'leftElbow', carrier: 'leftShoulder', furtherMm: -4.1256, sizeMm: 12.5, sdMm: 0.3 },
    ] as const;
    const review = { ...off, comparison: { ...off.comparison, leftOut } };
    const json = reviewJson(review);
    expect(schema.parse(JSON.parse(JSON.stringify(json)))).toEqual(json);
    expect(json.leftOut).toEqual([
      { joint: 'leftElbow', carrier: 'leftShoulder', sizeMm: 12.5, furtherMm: -4.126, sdMm: 0.3 },
    ]);
    expect(reviewJson(off).leftOut).toEqual([]);
    expect(reviewJson(off).unsure).toEqual([]);
    const unsure = { ...off, comparison: { ...off.comparison, unsure: ['leftWrist'] as const } };
    expect(reviewJson(unsure).unsure).toEqual(['leftWrist']);
    const gone = { joint: 'leftWrist', first: 2, last: 4, worst: 3, offMm: null } as const;
    const astray = reviewJson({ ...off, comparison: { ...off.comparison, astray: [gone] } });
    expect(schema.parse(JSON.parse(JSON.stringify(astray)))).toEqual(astray);
    expect(astray.astray).toEqual([{ joint: 'leftWrist', firstFrame: 4, frames: 6, offMm: null }]);
    expect([reviewJson(off).astray, reviewJson(off).mistaken]).toEqual([[], []]);
    const mistaken = [{ limbs: 'legs', first: 2, last: 4 }] as const;
    expect(reviewJson({ ...off, comparison: { ...off.comparison, mistaken } }).mistaken).toEqual([
      { limbs: 'legs', firstFrame: 4, frames: 6 },
    ]);
    const rows = csvParse(deviationsCsv(review));
    for (const row of rows)
      expect(row['mm in all of the shot'], row.joint).toBe(row.joint === 'left elbow' ? '12.5' : '');
    expect(rows.some((row) => row.joint === 'left elbow')).toBe(true);
  });

  it('says how the picture was laid over the set', () => {
    const { registration } = reviewJson(off);
    // The made camera takes millimetres to pixels; the file says the way back.
    expect(registration.mmPerPx! * offMade.camera.scale).toBeCloseTo(1, 2);
    expect(registration.rotationDeg).toBeCloseTo(-offMade.camera.rotationDeg, 0);
  });

  it('says what was not measured or known', () => {
    const json = reviewJson({ ...off, isCameraMeasured: false, days: null });
    expect([json.camera, json.shot.firstDay, json.shot.lastDay]).toEqual([null, null, null]);
    expect(reviewJson(bumped).camera!.xPx.some((x) => Math.abs(x ?? 0) > 1)).toBe(true);
    expect(reviewJson(bumped).findings.find((f) => f.kind === 'cameraBump')!.note).toBeNull();
    expect(reviewJson(late).keys.filter((k) => k.off).length).toBeGreaterThan(0);
  });
});
