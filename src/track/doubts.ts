import type { Joint } from '../base/joints.ts';
import { type BodySize, limbs, torsoShareOfHeight } from './bodySize.ts';
import type { Columns } from './columns.ts';
import type { Correction } from './correction.ts';
import type { FittedJoint } from './fitJoint.ts';
import { apparentShare, measureForeshortening, trueLengthPx } from './foreshortening.ts';
import type { Doubt, DoubtCode, Foreshortening, JointPath, Motion } from './motion.ts';
import { weightAt } from './placements.ts';
import { hiddenBelow, isSomebodySeen } from './presence.ts';
import { median } from './quantile.ts';
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
  ['nose', 'face'],
  ['leftShoulder', 'left shoulder'],
  ['rightShoulder', 'right shoulder'],
  ['leftElbow', 'left elbow'],
  ['rightElbow', 'right elbow'],
  ['leftWrist', 'left hand'],
  ['rightWrist', 'right hand'],
  ['leftKnee', 'left knee'],
  ['rightKnee', 'right knee'],
  ['leftAnkle', 'left foot'],
  ['rightAnkle', 'right foot'],
];
/** The outer ends of limbs: where one is smeared, telling so of the joint above it as well says nothing new. */
const smearing: ReadonlySet<Joint> = new Set(['nose', 'leftWrist', 'rightWrist', 'leftAnkle', 'rightAnkle']);

/** Spans shorter than this are not worth a sentence, and doubts closer than this are one. */
const shortestSec = 0.2;
const mergeSec = 0.3;
/** A leap or a smear is short by nature. */
const shortestSmearSec = 0.1;
/** Apparent over true limb length below which the picture plane hides more than a third of a move (53° out of plane). */
const foreshortened = 0.6;
const foreshortenedSec = 0.3;
/** A performer lower than this many pixels is measured too coarsely: a step on ones is then below the detector's noise. */
const leastHeightPx = 160;
/** A camera's shutter is usually open for half the time between pictures (180°). */
const shutterShare = 0.5;
/** A joint drawn out over more than this share of the torso during one picture has no edge left to put it by. */
const smearedFrom = 0.04;
/** Where a placement counts for this much the animator has answered. */
const answeredFrom = 0.5;
/** How far whole-body faults may put the tracks off, torso lengths: for ranking only, in the order of their harm. */
const bodyWorth = { nobody: 1, 'two-people': 0.5, small: 0.03 } as const;

/** Pictures `first` to `last`, inclusive. */
interface Span {
  readonly first: number;
  last: number;
}

/** Runs of pictures for which `holds`, near ones merged, short ones dropped. */
function findSpans(timesSec: Float64Array, holds: (picture: number) => boolean, leastSec = shortestSec): Span[] {
  const spans: Span[] = [];
  for (let i = 0; i < timesSec.length; i++) {
    if (!holds(i)) continue;
    const last = spans[spans.length - 1];
    if (last && (timesSec[i]! - timesSec[last.last]! < mergeSec || last.last === i - 1)) last.last = i;
    else spans.push({ first: i, last: i });
  }
  return spans.filter((s) => timesSec[s.last]! - timesSec[s.first]! >= leastSec);
}

/** What one kind of doubt says. */
interface Words {
  readonly code: DoubtCode;
  readonly joint: Joint | null;
  readonly headline: string;
  readonly sentence: string;
}

/** Everything doubtful about tracks, in order of time. `groupDoubts` makes few lines of many spans. */
export function findDoubts(e: Evidence): Doubt[] {
  const t = e.columns.timesSec;
  if (t.length === 0) return [];
  const whole: Span = { first: 0, last: t.length - 1 };
  const body = (code: keyof typeof bodyWorth, spans: readonly Span[], headline: string, sentence: string): Doubt[] =>
    spans.map((s) => tell(t, s, { code, joint: null, headline, sentence }, bodyWorth[code]));
  if (e.fitted.length === 0)
    return body(
      'nobody',
      [whole],
      'nobody to be seen',
      'Nobody was found in this take. Film with the whole body in view and good light.',
    );
  const absent = findSpans(t, (i) => !isSomebodySeen(e.columns, i));
  const { heightPx } = e.size;
  const doubts = [
    ...body(
      'nobody',
      absent,
      'nobody to be seen',
      'Nobody can be made out here; the movement is filled in from before and after.',
    ),
    ...doubtPeople(e),
    ...body(
      'small',
      heightPx < leastHeightPx ? [whole] : [],
      'performer small in the picture',
      `The performer is only about ${Math.round(heightPx)} pixels tall; small moves drown. Film closer, or at a higher resolution.`,
    ),
    ...doubtSides(e),
    ...named.flatMap(([joint, word]) => doubtJoint(e, joint, word, absent)),
    ...doubtPlane(e),
  ];
  return doubts.sort((a, b) => a.startSec - b.startSec);
}

function tell(t: Float64Array, s: Span, words: Words, worth: number, plane: Foreshortening | null = null): Doubt {
  return { ...words, startSec: t[s.first]!, endSec: t[s.last]!, worth, plane };
}

/** The torso's length by the body's height: a bow does not shrink it. */
function torsoOf(e: Evidence): number {
  return e.size.heightPx * torsoShareOfHeight;
}

function meanOver(s: Span, value: (picture: number) => number): number {
  let sum = 0;
  for (let i = s.first; i <= s.last; i++) sum += value(i);
  return sum / (s.last - s.first + 1);
}

function doubtPeople(e: Evidence): Doubt[] {
  const seen = e.sightings.peopleSeen;
  const several = seen.filter((p) => p.count >= 2);
  // One count among many may be a coat on a hook.
  if (several.length < Math.max(1, Math.min(2, seen.length))) return [];
  const pointedOut = e.corrections.some((c) => c.kind === 'performer');
  return [
    {
      code: 'two-people',
      joint: null,
      startSec: several[0]!.timeSec,
      endSec: several[several.length - 1]!.timeSec,
      headline: 'more than one person',
      sentence: pointedOut
        ? 'More than one person is in the picture. You pointed out whom to follow; see that the skeleton stays on them.'
        : 'More than one person is in the picture; the joints may jump from one to the other. See that the skeleton stays on the performer, or point the performer out.',
      worth: bodyWorth['two-people'],
      plane: null,
    },
  ];
}

function doubtSides(e: Evidence): Doubt[] {
  const t = e.columns.timesSec;
  const isAnswered = (sec: number): boolean =>
    e.corrections.some((c) => c.kind === 'swapSides' && sec >= c.startSec && sec <= c.endSec);
  // A single picture set right needs no words.
  const spans = findSpans(t, (i) => e.sides.exchangedPairs[i]! > 0 && !isAnswered(t[i]!), Number.MIN_VALUE);
  const left = e.atPictures.paths.get('leftAnkle') ?? e.atPictures.paths.get('leftWrist');
  const right = e.atPictures.paths.get('rightAnkle') ?? e.atPictures.paths.get('rightWrist');
  const apart = (i: number): number =>
    left && right ? Math.hypot(left.xPx[i]! - right.xPx[i]!, left.yPx[i]! - right.yPx[i]!) : torsoOf(e);
  return spans.map((s) =>
    tell(
      t,
      s,
      {
        code: 'swapped',
        joint: null,
        headline: 'sides set right',
        sentence:
          'Left and right were exchanged here, because the detector seemed to confuse them. Look, and swap sides if this is wrong.',
      },
      // It is right more often than not.
      (0.5 * meanOver(s, apart)) / torsoOf(e),
    ),
  );
}

function doubtJoint(e: Evidence, joint: Joint, word: string, absent: readonly Span[]): Doubt[] {
  const t = e.columns.timesSec;
  const fit = e.fitted.find((f) => f.joint === joint);
  const path = e.atPictures.paths.get(joint);
  const The = `The ${word}`;
  if (!fit || !path) {
    const sentence = `${The} is never seen, so nothing is said about it.`;
    const words: Words = { code: 'hidden', joint, headline: `${word} never seen`, sentence };
    return [tell(t, { first: 0, last: t.length - 1 }, words, 0.5)];
  }
  const torsoPx = torsoOf(e);
  const missing = (i: number): boolean => absent.some((s) => i >= s.first && i <= s.last);
  const answered = (i: number): boolean =>
    fit.influences.some((one) => one.placement.takeSec === t[i] || weightAt(one, t[i]!) >= answeredFrom);
  const out = isOutOfFrame(e, path);
  const looked = (i: number): boolean => !missing(i) && !out(i) && !answered(i);
  const unsurePx = (s: Span): number => meanOver(s, (i) => path.sdPx[i]!);
  const smearPx = smearOf(t, path);
  const isSeen = (i: number): boolean => path.guessed[i] === 0 && path.confidence[i]! >= hiddenBelow;

  const hidden = findSpans(t, (i) => path.guessed[i] === 0 && path.confidence[i]! < hiddenBelow && looked(i));
  // Who hides leaps: once told is enough.
  const isNearHidden = (s: Span): boolean =>
    hidden.some((h) => t[h.first]! <= t[s.last]! + mergeSec && t[s.first]! <= t[h.last]! + mergeSec);
  const leaping = findSpans(t, (i) => isSeen(i) && fit.disbelieved[i] === 1 && looked(i), shortestSmearSec);
  const smeared = smearing.has(joint)
    ? findSpans(t, (i) => isSeen(i) && smearPx(i) > smearedFrom * torsoPx && looked(i), shortestSmearSec)
    : [];
  const say = (code: DoubtCode, headline: string, sentence: string): Words => ({ code, joint, headline, sentence });
  return [
    ...findSpans(t, (i) => out(i) && !missing(i)).map((s) =>
      tell(
        t,
        s,
        say(
          'out-of-frame',
          `${word} at the picture’s edge`,
          `${The} is at or over the picture’s edge. Film from further away.`,
        ),
        Math.max(0.2, unsurePx(s) / torsoPx),
      ),
    ),
    ...findSpans(t, (i) => path.guessed[i] === 1 && looked(i)).map((s) =>
      tell(
        t,
        s,
        say(
          'guessed',
          `${word} not seen`,
          `${The} is not seen here; its way is filled in. Place it by hand if it matters.`,
        ),
        unsurePx(s) / torsoPx,
      ),
    ),
    ...hidden.map((s) =>
      tell(
        t,
        s,
        say(
          'hidden',
          `${word} hard to see`,
          `${The} is hard to see here, probably hidden. Check it, or place it by hand.`,
        ),
        unsurePx(s) / torsoPx,
      ),
    ),
    ...leaping
      .filter((s) => !isNearHidden(s))
      .map((s) =>
        tell(
          t,
          s,
          say(
            'outlier',
            `${word} seen leaping`,
            `${The} was seen leaping about and this was not believed. Check it here.`,
          ),
          unsurePx(s) / torsoPx,
        ),
      ),
    ...smeared.map((s) => {
      const mean = meanOver(s, smearPx);
      return tell(
        t,
        s,
        say(
          'blurred',
          `${word} smeared by speed`,
          `${The} moves so fast that an ordinary shutter draws it out over about ${Math.round(mean)} pixels in every picture; it is known no better than that.`,
        ),
        // The spread of an even smear: its length ÷ √12.
        mean / Math.sqrt(12) / torsoPx,
      );
    }),
  ];
}

/** Is the joint outside the picture, or so near its edge that hand or foot is cut off? */
function isOutOfFrame(e: Evidence, path: JointPath): (picture: number) => boolean {
  const marginPx = 0.02 * e.size.heightPx;
  const { widthPx, heightPx } = e.sightings;
  return (i) =>
    path.xPx[i]! < marginPx ||
    path.yPx[i]! < marginPx ||
    path.xPx[i]! > widthPx - marginPx ||
    path.yPx[i]! > heightPx - marginPx;
}

/** How far the joint moves while the shutter is open, pixels. */
function smearOf(t: Float64Array, path: JointPath): (picture: number) => number {
  const intervalSec = t.length > 1 ? median(t.subarray(1).map((sec, i) => sec - t[i]!)) : 0;
  return (i) => Math.hypot(path.vxPx[i]!, path.vyPx[i]!) * intervalSec * shutterShare;
}

const limbWords: Readonly<Record<string, string>> = {
  Elbow: 'upper arm',
  Wrist: 'forearm',
  Knee: 'thigh',
  Ankle: 'shin',
};

/** Limbs that point toward or away from the lens. */
function doubtPlane(e: Evidence): Doubt[] {
  const t = e.columns.timesSec;
  return limbs.flatMap((limb, k) => {
    const a = e.atPictures.paths.get(limb.from);
    const b = e.atPictures.paths.get(limb.to);
    const truePx = trueLengthPx(e.size, k);
    if (!a || !b || !(truePx > 0)) return [];
    const share = (i: number): number => apparentShare(a, b, truePx, i);
    const short = (i: number): boolean =>
      // Where an end is hardly seen, that is what is told.
      Math.min(a.confidence[i]!, b.confidence[i]!) >= hiddenBelow &&
      a.guessed[i] === 0 &&
      b.guessed[i] === 0 &&
      share(i) < foreshortened;
    const side = limb.to.startsWith('left') ? 'left' : 'right';
    const word = `${side} ${limbWords[limb.to.slice(side.length)]!}`;
    return findSpans(t, short, foreshortenedSec).map((s) => {
      const shares: number[] = [];
      for (let i = s.first; i <= s.last; i++) if (short(i)) shares.push(share(i));
      const plane = measureForeshortening(e.columns, k, truePx, shares, s.first, s.last);
      const words: Words = {
        code: 'out-of-plane',
        joint: limb.to,
        headline: `${word} toward or away from the lens`,
        sentence: planeSentence(word, plane),
      };
      return tell(t, s, words, (0.5 * plane.hiddenPx) / torsoOf(e), plane);
    });
  });
}

function planeSentence(word: string, { angleDeg, truePx, hiddenPx, depth }: Foreshortening): string {
  const percent = Math.round((100 * hiddenPx) / truePx);
  const way = depth === null || depth === 'disagrees' ? 'toward or away from the lens' : depth;
  const opinion =
    depth === null
      ? ''
      : depth === 'disagrees'
        ? ' The depth estimate does not bear this out: look whether both ends sit right.'
        : ' The depth estimate agrees.';
  return `The ${word} points ${way} here, about ${Math.round(angleDeg)}° out of the picture: ${percent} % of its length is hidden, and moves along it read ${percent} % short.${opinion}`;
}
