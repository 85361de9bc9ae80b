import { z } from 'zod';
import { failed, good, type Outcome } from '../base/failure.ts';
import type { Footage, FootageNote } from '../base/footage.ts';
import { detectedJoints, joints } from '../base/joints.ts';
import { pageKinds } from '../base/paper.ts';
import { layings } from '../compare/laying.ts';
import { numberGaps } from '../compare/pictureNumbers.ts';
import { pictureOrders } from '../compare/shotFrames.ts';
import { puppetOfHeight } from '../puppet/profile.ts';
import { usualReachSec } from '../track/correction.ts';
import type { Prop } from '../track/prop.ts';
import type { SightingColumns, Sightings } from '../track/sighting.ts';
import { type Book, mostReplans, newBook, nothingAside, usualChecks } from './book.ts';
import { puppetProfile } from './puppetSchema.ts';
import { readingVersion, type StoredColumns, storedInVersion1 } from './reading.ts';
import { notBegun, type Shooting } from './shooting.ts';

/** The newest version of `book.json` that this program writes; raise it with a migration when the shape changes. */
export const bookVersion = 3;

// JSON has no NaN or Infinity, but hand-written files have strings and nulls in their place: z.number() refuses those.
const seconds = z.number().finite();
const joint = z.enum(joints as unknown as [string, ...string[]]);
const detectedJoint = z.enum(detectedJoints);

const correction = z.discriminatedUnion('kind', [
  z.object({
    kind: z.literal('place'),
    joint: detectedJoint,
    takeSec: seconds,
    xPx: z.number(),
    yPx: z.number(),
    // Books of before the reach could be chosen.
    reachSec: seconds.min(0).default(usualReachSec),
  }),
  z.object({ kind: z.literal('hide'), joint: detectedJoint, startSec: seconds, endSec: seconds }),
  z.object({
    kind: z.literal('swapSides'),
    startSec: seconds,
    endSec: seconds,
    part: z.enum(['all', 'arms', 'legs']).default('all'),
  }),
  z.object({ kind: z.literal('performer'), takeSec: seconds, xPx: z.number(), yPx: z.number() }),
]);

const pinnedKey = z.object({
  id: z.string().min(1),
  takeSec: seconds,
  kind: z.enum(['key', 'breakdown']),
  name: z.string(),
});

const onFrames = z.union([z.literal(1), z.literal(2), z.literal(3), z.literal(4)]);
const prop = z.string().startsWith('prop:');
const frame = z.number().int().min(0);

const bodyPiece = z.string().regex(/^(head|trunk|(left|right)(UpperArm|Forearm|Thigh|Shank))$/);
const retiming = z.object({
  knots: z
    .array(z.object({ takeSec: seconds, shotSec: seconds }))
    .refine(
      (knots) =>
        knots.every((k, i) => i === 0 || (k.takeSec >= knots[i - 1]!.takeSec && k.shotSec >= knots[i - 1]!.shotSec)),
      'times must not run backwards',
    ),
});

const exposureSpan = { frames: z.number().int().min(1), onFrames };
const stancePose = z
  .array(z.object({ joint, xMm: z.number(), yMm: z.number(), sdMm: z.number().min(0) }))
  .refine((pose) => new Set(pose.map((p) => p.joint)).size === pose.length, 'each joint has one place');
const replan = z.object({
  stance: z.object({
    firstFrame: frame,
    frames: z.number().int().min(1),
    // Before the shot begins, where what was shot late lost its beginning.
    planFrame: z.number(),
    pose: stancePose,
    before: z.object({ frames: z.number().int().min(1), planFrame: z.number(), pose: stancePose }).nullable(),
  }),
  takeSec: seconds,
  heightMm: z.number().positive(),
  keySec: seconds,
  // Books of when a key that was cut away was chosen no more.
  keyAside: z
    .object({ partId: z.string().min(1), takeId: z.string().min(1), sec: seconds })
    .nullable()
    .default(null),
});

const setAside = z.object({
  corrections: z.array(correction),
  pinnedKeys: z.array(pinnedKey),
  // Books of when only those two were set aside.
  removedKeysSec: z.array(seconds).default([]),
  knots: retiming.shape.knots.default([]),
  frames: z
    .object({
      notes: z.array(z.object({ frame: z.number().int(), action: z.string(), camera: z.string() })),
      exposed: z.array(z.number().int()),
      spans: z.array(z.object({ firstFrame: z.number().int(), ...exposureSpan })),
      // Books of when re-plans stayed behind.
      replans: z.array(z.object({ frame: z.number().int(), awaySec: seconds, replan })).default([]),
    })
    .default({ notes: [], exposed: [], spans: [], replans: [] }),
});

const shooting = z.object({
  atFrame: frame,
  taken: z.array(
    z.object({
      firstFrame: frame,
      frames: z.number().int().min(1),
      takeSec: seconds,
      isHeld: z.boolean(),
      atMs: z.number().min(0),
    }),
  ),
  speaks: z.boolean(),
  rehearses: z.boolean(),
  clicks: z.enum(['poses', 'beats', 'frames']),
  // Not in books of before it.
  stepsByPicture: z.boolean().default(false),
  changes: z.number().int().min(0),
});

const props = z.array(
  z.object({
    id: prop,
    name: z.string().min(1),
    marks: z.array(z.object({ takeSec: seconds, xPx: z.number(), yPx: z.number() })),
    absent: z.array(z.object({ startSec: seconds, endSec: seconds })),
  }),
);

const bookFile = z.object({
  format: z.literal('nudgebook'),
  version: z.literal(bookVersion),
  shotName: z.string(),
  notes: z.string(),
  mirrored: z.boolean(),
  trimStartSec: seconds.nullable(),
  trimEndSec: seconds.nullable(),
  rate: z.object({ frames: z.number().int().positive(), seconds: z.number().int().positive() }),
  onFrames,
  keyCount: z.number().int().min(2).nullable(),
  pinnedKeys: z.array(pinnedKey),
  removedKeysSec: z.array(seconds),
  retiming,
  // Books of before the neutral pose could be chosen.
  exaggeration: z.object({ amount: z.number().min(0.5).max(2), neutralSec: seconds.nullable().default(null) }),
  exposureBudget: z.number().int().min(1).nullable(),
  exposureSpans: z.array(z.object({ firstFrame: frame, ...exposureSpan })),
  exposedFrames: z.array(frame),
  phaseNames: z.array(z.object({ id: z.string().min(1), name: z.string().min(1) })),
  chains: z.array(z.object({ id: z.string().min(1), name: z.string(), parts: z.array(z.union([joint, prop])) })),
  sound: z.object({
    nudgeSec: seconds,
    beatsPerMinute: z.number().positive().max(1000).nullable(),
    firstBeatSec: seconds,
  }),
  props,
  puppet: puppetProfile,
  steps: z.enum(['sameSteps', 'sameGround']).default('sameSteps'),
  handContacts: z
    .array(
      z.object({
        id: z.string().min(1),
        hand: z.enum(['leftWrist', 'rightWrist']),
        startSec: seconds,
        endSec: seconds,
      }),
    )
    .default([]),
  tailChain: z.string().nullable().default(null),
  animated: z
    .object({
      bookId: z.string().min(1),
      pictures: z.enum(pictureOrders).nullable(),
      gaps: z.enum(numberGaps).nullable().default(null),
      firstFrame: frame,
      mirrored: z.boolean(),
      ruler: z
        .object({
          from: z.tuple([z.number(), z.number()]),
          to: z.tuple([z.number(), z.number()]),
          lengthMm: z.number().positive(),
        })
        .nullable(),
      // Books of before it could be chosen how a shot is laid over its plan.
      laid: z.enum(layings).optional(),
      joints: z.array(joint).nullable().default(null),
      frames: z
        .object({ firstFrame: frame, frames: z.number().int().min(1) })
        .nullable()
        .default(null),
    })
    // There a ruler counted as soon as it was there.
    .transform((shot) => ({ ...shot, laid: shot.laid ?? (shot.ruler ? ('ruler' as const) : ('joints' as const)) }))
    .nullable()
    .default(null),
  // Books of before moves could be laid anew.
  replans: z
    .array(replan)
    .max(mostReplans)
    .refine(
      (all) => all.every((r, i) => i === 0 || r.stance.firstFrame > all[i - 1]!.stance.firstFrame),
      'one for each frame, rising',
    )
    .default([]),
  poseFixes: z
    .array(
      z.discriminatedUnion('kind', [
        z.object({
          kind: z.literal('limit'),
          id: z.string().min(1),
          startSec: seconds,
          endSec: seconds,
          joint: z.string().regex(/^(neck|(left|right)(Shoulder|Elbow|Wrist|Hip|Knee|Ankle))$/),
        }),
        z.object({ kind: z.literal('overFeet'), id: z.string().min(1), startSec: seconds, endSec: seconds }),
        z.object({
          kind: z.literal('reach'),
          id: z.string().min(1),
          startSec: seconds,
          endSec: seconds,
          limb: z.enum(['leftArm', 'rightArm']),
        }),
        z.object({
          kind: z.literal('apart'),
          id: z.string().min(1),
          startSec: seconds,
          endSec: seconds,
          moving: bodyPiece,
          other: bodyPiece,
        }),
      ]),
    )
    .default([]),
  corrections: z.array(correction),
  // Books of before shots could be cut together.
  cut: z
    .array(
      z.object({
        // Stretches of before they could be changed have none of what is marked so.
        id: z.string().default(''),
        takeId: z.string(),
        name: z.string(),
        firstOfTake: z.number().int().min(-1).default(-1),
        firstPicture: frame,
        pictures: z.number().int().min(1),
        startSec: seconds,
        fromSec: seconds,
        lengthSec: seconds.min(0).default(0),
        firstStampSec: seconds,
        aside: setAside.default(nothingAside as z.output<typeof setAside>),
      }),
    )
    .refine(
      (parts) =>
        parts.every((p, i) => p.firstPicture === (i === 0 ? 0 : parts[i - 1]!.firstPicture + parts[i - 1]!.pictures)),
      'parts must follow one another',
    )
    .default([]),
  sheetJoints: z.array(joint),
  frameNotes: z.array(z.object({ frameIndex: frame, action: z.string(), dialogue: z.string(), camera: z.string() })),
  // Books of before there was a shot card and a choice of pages.
  minutesPerExposure: z.number().positive().max(10_000).default(newBook('').minutesPerExposure),
  checks: z.array(z.string()).default([...usualChecks]),
  printed: z
    .object({ pages: z.array(z.enum(pageKinds)).min(1), orientation: z.enum(['portrait', 'landscape']) })
    .default({ pages: ['popThrough', 'sheet'], orientation: 'portrait' }),
  // Books of before the place at the set was kept.
  shooting: shooting.default({ ...notBegun, taken: [] }),
});

/** `book.json` as text. Reading it again gives the same book. */
export function writeBook(book: Book): string {
  const notes = [...book.frameNotes].sort(([a], [b]) => a - b);
  const file = {
    format: 'nudgebook',
    ...book,
    phaseNames: [...book.phaseNames].map(([id, name]) => ({ id, name })),
    frameNotes: notes.map(([frameIndex, note]) => ({ frameIndex, ...note })),
  };
  return JSON.stringify(file, null, 1);
}

/**
 * A book from the text of `book.json`. Fails with 'book-newer' for a file of a later version, with 'book-unreadable'
 * (naming the place in the file) for anything else that is not a book.
 */
export function readBook(text: string): Outcome<Book> {
  let raw: unknown;
  try {
    raw = JSON.parse(text);
  } catch {
    return failed(
      'book-unreadable',
      'This book file is not valid JSON, so nothing was opened. Open the last autosave, or another copy of the file.',
    );
  }
  const version = (raw as { version?: unknown } | null)?.version;
  if (typeof version === 'number' && version > bookVersion)
    return failed(
      'book-newer',
      `This book was saved by a newer Nudgebook (file version ${version}; this one reads up to ${bookVersion}). Open it there, or update this one.`,
    );
  const parsed = bookFile.safeParse(migrate(raw));
  if (!parsed.success) {
    const issue = parsed.error.issues[0];
    const place = issue?.path.join(' → ') || 'the top of the file';
    return failed(
      'book-unreadable',
      `This book file has a value that cannot be right at “${place}” (${issue?.message ?? 'unknown'}), so nothing was opened. What you had open is still here. Correct that value, or open another copy.`,
    );
  }
  const { format: _format, frameNotes, phaseNames, ...rest } = parsed.data;
  const book = {
    ...newBook(rest.shotName),
    ...rest,
    phaseNames: new Map(phaseNames.map(({ id, name }) => [id, name])),
    frameNotes: new Map(frameNotes.map(({ frameIndex, ...note }) => [frameIndex, note])),
  };
  return good(book as Book);
}

/** The shooting from what `writeBook` would have written of it; null for anything else. */
export function readShooting(text: string): Shooting | null {
  try {
    return shooting.safeParse(JSON.parse(text)).data ?? null;
  } catch {
    return null;
  }
}

/** The marked points from what `JSON.stringify` wrote of them; null for anything else. */
export function readProps(text: string): readonly Prop[] | null {
  try {
    return (props.safeParse(JSON.parse(text)).data as readonly Prop[] | undefined) ?? null;
  } catch {
    return null;
  }
}

/** What an older program wrote, in the newest version's shape; anything else unchanged. */
function migrate(raw: unknown): unknown {
  if (typeof raw !== 'object' || raw === null) return raw;
  const { version } = raw as { version?: unknown };
  if (version === 1) return toVersion3(toVersion2(raw));
  return version === 2 ? toVersion3(raw) : raw;
}

/** Version 2 brought what the animator does to time, exposures, sound and marked points. */
function toVersion2(raw: object): object {
  const { retiming, exaggeration, exposureBudget, exposureSpans, exposedFrames, chains, sound, props } = newBook('');
  const added = { retiming, exaggeration, exposureBudget, exposureSpans, exposedFrames, chains, sound, props };
  return { ...added, phaseNames: [], ...raw, version: 2 };
}

/** Version 3 knows the puppet's limbs, where there had been its height and the smallest step alone. */
function toVersion3(raw: object): object {
  const { puppetHeightMm, smallestStepMm, ...rest } = raw as { puppetHeightMm?: unknown; smallestStepMm?: unknown };
  const { puppet } = newBook('');
  // A height that cannot be right is refused below, by the shape, rather than quietly replaced.
  const sized =
    typeof puppetHeightMm === 'number' ? puppetOfHeight(puppet, puppetHeightMm) : { ...puppet, sizes: null };
  return { ...rest, puppet: { ...sized, smallestStepMm }, version: 3 };
}

const unknownNumber = z
  .number()
  .nullable()
  .transform((n) => n ?? Number.NaN);

const readingFile = z.object({
  format: z.literal('nudgebook-reading'),
  version: z.number().int(),
  joints: z.array(z.string()).optional(),
  columns: z.array(z.string()).optional(),
  footage: z.object({
    name: z.string(),
    widthPx: z.number().int().positive(),
    heightPx: z.number().int().positive(),
    timesSec: z
      .array(seconds)
      .min(1)
      .refine((t) => t.every((sec, i) => i === 0 || sec > t[i - 1]!), 'picture times must rise'),
    endSec: seconds,
    firstStampSec: seconds,
    medianFps: unknownNumber,
    variableFrameRate: z.boolean(),
    codec: z.string(),
    turnedDeg: z.number(),
    notes: z.array(
      z.object({
        code: z.string(),
        firstPicture: z.number().int(),
        lastPicture: z.number().int(),
        sentence: z.string(),
      }),
    ),
  }),
  sightings: z.object({
    detector: z.object({
      model: z.string(),
      backend: z.string(),
      millisecondsPerFrame: unknownNumber,
      readSeconds: unknownNumber,
    }),
    widthPx: z.number().int().positive(),
    heightPx: z.number().int().positive(),
    readCount: z.number().int().min(0),
    fineCount: z.number().int().min(0).optional(),
    followCount: z.number().int().min(0).optional(),
    peopleSeen: z.array(z.object({ timeSec: seconds, count: z.number().int().min(0) })),
  }),
});

/** Footage and sightings from the text of `reading.json`, still without the number columns. Fails with 'book-unreadable'. */
export function readReadingHead(text: string): Outcome<{
  footage: Footage;
  sightings: Omit<Sightings, 'timesSec' | keyof SightingColumns>;
  stored: StoredColumns;
}> {
  let raw: unknown;
  try {
    raw = JSON.parse(text);
  } catch {
    raw = null;
  }
  const parsed = readingFile.safeParse(raw);
  if (!parsed.success) {
    const place = parsed.error.issues[0]?.path.join(' → ') || 'the top of reading.json';
    return failed(
      'book-unreadable',
      `The stored reading of this book has a value that cannot be right at “${place}”, so nothing was opened. Open another copy, or read the take again.`,
    );
  }
  const { footage, sightings, version, joints, columns } = parsed.data;
  if (version > readingVersion)
    return failed(
      'book-newer',
      `The joints in this book were stored by a newer Nudgebook (version ${version}; this one reads up to ${readingVersion}). Open it there, or update this one.`,
    );
  if (sightings.readCount > footage.timesSec.length)
    return failed('book-unreadable', 'This book says more pictures were read than the take has. Open another copy.');
  return good({
    footage: {
      ...footage,
      timesSec: Float64Array.from(footage.timesSec),
      // Codes of a newer program are carried along as they are: only their sentences are shown.
      notes: footage.notes as FootageNote[],
    },
    sightings,
    stored: joints && columns ? { joints, columns } : storedInVersion1,
  });
}
