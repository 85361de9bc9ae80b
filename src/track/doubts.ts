import type { Joint } from '../base/joints.ts';
import { type BodySize, limbs } from './bodySize.ts';
import type { Columns } from './columns.ts';
import type { Correction } from './correction.ts';
import type { FittedJoint } from './fitTracks.ts';
import type { Doubt, Motion } from './motion.ts';
import { hiddenBelow, isSomebodySeen } from './presence.ts';
import type { SettledSides } from './sides.ts';
import type { Sightings } from './sighting.ts';

/** What the doubts are drawn from. */
export interface Evidence {
  readonly sightings: Sightings;
  /** After sides were settled. */
  readonly columns: Columns;
  readonly corrections: readonly Correction[];
  readonly size: BodySize;
  readonly sides: SettledSides;
  readonly fitted: readonly FittedJoint[];
  /** The tracks at the times of the pictures. */
  readonly atPictures: Motion;
}

/** Joints worth a sentence, with the animator's word; eyes, ears and hips would only repeat their neighbours. */
const named: readonly (readonly [Joint, string])[] = [
  ['nose', 'The face'],
  ['leftShoulder', 'The left shoulder'],
  ['rightShoulder', 'The right shoulder'],
  ['leftElbow', 'The left elbow'],
  ['rightElbow', 'The right elbow'],
  ['leftWrist', 'The left hand'],
  ['rightWrist', 'The right hand'],
  ['leftKnee', 'The left knee'],
  ['rightKnee', 'The right knee'],
  ['leftAnkle', 'The left foot'],
  ['rightAnkle', 'The right foot'],
];

/** Spans shorter than this are not worth a sentence, and doubts closer than this are one. */
const shortestSec = 0.2;
const mergeSec = 0.3;
/** Apparent over true limb length below which the picture plane hides more than a third of a move (53° out of plane). */
const foreshortened = 0.6;
const foreshortenedSec = 0.3;
/** A performer lower than this many pixels is measured too coarsely: a step on ones is then below the detector's noise. */
const leastHeightPx = 160;

interface Span {
  startSec: number;
  endSec: number;
}

/** Runs of pictures for which `holds`, near ones merged, short ones dropped. */
function findSpans(
  timesSec: Float64Array,
  holds: (picture: number) => boolean,
  leastSec: number = shortestSec,
): Span[] {
  const spans: Span[] = [];
  for (let i = 0; i < timesSec.length; i++) {
    if (!holds(i)) continue;
    const t = timesSec[i]!;
    const last = spans[spans.length - 1];
    if (last && (t - last.endSec < mergeSec || holds(i - 1))) last.endSec = t;
    else spans.push({ startSec: t, endSec: t });
  }
  return spans.filter((s) => s.endSec - s.startSec >= leastSec);
}

/** Everything doubtful about tracks, in order of time. */
export function findDoubts(e: Evidence): Doubt[] {
  const t = e.columns.timesSec;
  const doubts: Doubt[] = [];
  const add = (code: Doubt['code'], joint: Joint | null, spans: readonly Span[], sentence: string): void => {
    for (const s of spans) doubts.push({ code, joint, startSec: s.startSec, endSec: s.endSec, sentence });
  };
  if (t.length === 0) return doubts;
  const whole: Span = { startSec: t[0]!, endSec: t[t.length - 1]! };
  const absent = findSpans(t, (i) => !isSomebodySeen(e.columns, i));
  if (e.fitted.length === 0) {
    add('nobody', null, [whole], 'Nobody was found in this take. Film with the whole body in view and good light.');
    return doubts;
  }
  add('nobody', null, absent, 'Nobody can be made out here; the movement is filled in from before and after.');
  doubts.push(...doubtPeople(e.sightings));
  if (e.size.heightPx < leastHeightPx)
    add(
      'small',
      null,
      [whole],
      `The performer is only about ${Math.round(e.size.heightPx)} pixels tall; small moves drown. Film closer, or at a higher resolution.`,
    );
  // A single picture set right needs no words.
  const changed = findSpans(t, (i) => e.sides.exchangedPairs[i]! > 0, Number.MIN_VALUE);
  add(
    'swapped',
    null,
    changed,
    'Left and right were exchanged here, because the detector seemed to confuse them. Look, and swap sides if this is wrong.',
  );
  for (const [joint, word] of named) doubts.push(...doubtJoint(e, joint, word, absent));
  doubts.push(...doubtPlane(e));
  return doubts.sort((a, b) => a.startSec - b.startSec);
}

function doubtPeople(s: Sightings): Doubt[] {
  const several = s.peopleSeen.filter((p) => p.count >= 2);
  // One count among many may be a coat on a hook.
  if (several.length < Math.max(1, Math.min(2, s.peopleSeen.length))) return [];
  return [
    {
      code: 'two-people',
      joint: null,
      startSec: several[0]!.timeSec,
      endSec: several[several.length - 1]!.timeSec,
      sentence:
        'More than one person is in the picture; the joints may jump from one to the other. Film alone, or check the skeleton here.',
    },
  ];
}

function doubtJoint(e: Evidence, joint: Joint, word: string, absent: readonly Span[]): Doubt[] {
  const t = e.columns.timesSec;
  const fit = e.fitted.find((f) => f.joint === joint);
  const path = e.atPictures.paths.get(joint);
  const all = (code: Doubt['code'], spans: readonly Span[], sentence: string): Doubt[] =>
    spans.map((s) => ({ code, joint, startSec: s.startSec, endSec: s.endSec, sentence }));
  if (!fit || !path)
    return all(
      'hidden',
      [{ startSec: t[0]!, endSec: t[t.length - 1]! }],
      `${word} is never seen, so nothing is said about it.`,
    );
  const missing = (i: number): boolean => absent.some((s) => t[i]! >= s.startSec && t[i]! <= s.endSec);
  // Outside the picture, or so near its edge that hand or foot is cut off.
  const marginPx = 0.02 * e.size.heightPx;
  const { widthPx, heightPx } = e.sightings;
  const out = (i: number): boolean =>
    path.xPx[i]! < marginPx ||
    path.yPx[i]! < marginPx ||
    path.xPx[i]! > widthPx - marginPx ||
    path.yPx[i]! > heightPx - marginPx;
  const guessed = (i: number): boolean => path.guessed[i] === 1 && !missing(i) && !out(i);
  const unsure = (i: number): boolean =>
    path.guessed[i] === 0 && path.confidence[i]! < hiddenBelow && !missing(i) && !out(i);
  const wild = (i: number): boolean =>
    path.guessed[i] === 0 && path.confidence[i]! >= hiddenBelow && fit.disbelieved[i] === 1;
  const hidden = findSpans(t, unsure);
  // Who hides leaps: once told is enough.
  const leaping = findSpans(t, wild, 0.1).filter(
    (s) => !hidden.some((h) => h.startSec <= s.endSec + mergeSec && s.startSec <= h.endSec + mergeSec),
  );
  return [
    ...all(
      'out-of-frame',
      findSpans(t, (i) => out(i) && !missing(i)),
      `${word} is at or over the picture's edge. Film from further away.`,
    ),
    ...all(
      'guessed',
      findSpans(t, guessed),
      `${word} is not seen here; its way is filled in. Place it by hand if it matters.`,
    ),
    ...all('hidden', hidden, `${word} is hard to see here, probably hidden. Check it, or place it by hand.`),
    ...all('outlier', leaping, `${word} was seen leaping about and this was not believed. Check it here.`),
  ];
}

/** Limbs that point toward or away from the lens. */
function doubtPlane(e: Evidence): Doubt[] {
  const t = e.columns.timesSec;
  const words: Readonly<Record<string, string>> = {
    Elbow: 'upper arm',
    Wrist: 'forearm',
    Knee: 'thigh',
    Ankle: 'shin',
  };
  return limbs.flatMap((limb, k) => {
    const a = e.atPictures.paths.get(limb.from);
    const b = e.atPictures.paths.get(limb.to);
    if (!a || !b) return [];
    const short = (i: number): boolean =>
      // Where an end is hardly seen, that is what is told.
      Math.min(a.confidence[i]!, b.confidence[i]!) >= hiddenBelow &&
      a.guessed[i] === 0 &&
      b.guessed[i] === 0 &&
      Math.hypot(a.xPx[i]! - b.xPx[i]!, a.yPx[i]! - b.yPx[i]!) < foreshortened * e.size.limbsPx[k]!;
    const side = limb.to.startsWith('left') ? 'left' : 'right';
    const word = words[limb.to.slice(side.length)]!;
    return findSpans(t, short, foreshortenedSec).map((s) => ({
      code: 'out-of-plane' as const,
      joint: limb.to,
      startSec: s.startSec,
      endSec: s.endSec,
      sentence: `The ${side} ${word} points toward or away from the lens here, so its moves are larger than the picture shows.`,
    }));
  });
}
