import { bridged, frameCountOf, frameRunWords, type Hitch, mm, runsAbove, type Support, worstWords } from './hitch.ts';
import { centreOfPuppet, type PieceMasses, type PuppetCentre } from './masses.ts';
import { type PuppetProfile, standingHeightMm } from './profile.ts';
import type { FrameRun, Planted, PuppetMotion, Side } from './puppetMotion.ts';
import { oncePerWalk } from './walkHitches.ts';

/** On what a puppet stands in one frame, along the floor in the picture, millimetres. */
interface Stance {
  readonly leftMm: number;
  readonly rightMm: number;
  readonly feet: readonly Planted[];
}

/** A heel or toes that stand alone carry on so much of the foot's length. */
const pointShare = 0.12;
/** What lies nearer than so many standard deviations to the edge is not told. */
const surelySds = 2;

/** How the puppet stands, frame by frame. */
export interface Balance {
  readonly centre: PuppetCentre;
  /** How far the centre of mass lies beside the feet, + to the right in the picture; 0 over them, NaN where not known. Shape [frame]. */
  readonly outsideMm: Float64Array;
  readonly hitches: readonly Hitch[];
  /** Frames that need an arm that carries the puppet, and frames that a foot held from below will do for. */
  readonly rigFrames: readonly FrameRun[];
  readonly tieDownFrames: readonly FrameRun[];
  /** What the numbers leave out, once for all: sentences. */
  readonly cautions: readonly string[];
}

/** Where a foot carries in a frame, along the floor in the picture; null where it is not known. */
function carries(motion: PuppetMotion, { side, on, xMm }: Planted, k: number): [number, number] | null {
  const small = (pointShare / 2) * motion.profile.sizes.footMm;
  if (on !== 'foot') return [xMm - small, xMm + small];
  const [heel, toe] = [motion.paths.get(`${side}Heel`)?.xMm[k], motion.paths.get(`${side}Toe`)?.xMm[k]];
  const [a, b] = [heel ?? Number.NaN, toe ?? Number.NaN];
  if (Number.isNaN(a + b)) return [xMm - small, xMm + small];
  // A foot that points at the lens is as wide as it is.
  const middle = (a + b) / 2;
  return [Math.min(a, b, middle - small), Math.max(a, b, middle + small)];
}

/** What stands at each frame; null = nothing. Shape [frame]. */
export function stancesOf(motion: PuppetMotion): (Stance | null)[] {
  const feet: Planted[][] = Array.from({ length: frameCountOf(motion) }, () => []);
  for (const planted of motion.planted)
    for (let k = planted.firstFrame; k < planted.firstFrame + planted.frames; k++) feet[k]?.push(planted);
  return feet.map((all, k) => {
    const spans = all.map((foot) => carries(motion, foot, k)).filter((span) => span !== null);
    if (spans.length === 0) return null;
    return { leftMm: Math.min(...spans.map((s) => s[0])), rightMm: Math.max(...spans.map((s) => s[1])), feet: all };
  });
}

/**
 * Where the puppet would fall over or has nothing to stand on: its centre of mass against the feet that stand, in the picture plane. No
 * hitches where no feet were seen.
 */
export function findBalance(motion: PuppetMotion): Balance {
  const { timesSec } = motion.followed;
  const n = frameCountOf(motion);
  const centre = centreOfPuppet(motion);
  const stances = stancesOf(motion);
  const outsideMm = new Float64Array(n).fill(Number.NaN);
  const sure = new Float64Array(n);
  const onPoint = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    const stance = stances[k];
    if (!stance) continue;
    const x = centre.xMm[k]!;
    outsideMm[k] = Math.max(0, x - stance.rightMm) - Math.max(0, stance.leftMm - x);
    const out = Math.abs(outsideMm[k]!);
    if (out > surelySds * centre.sdMm[k]!) sure[k] = out;
    if (stance.feet.length === 1 && stance.feet[0]!.on !== 'foot') onPoint[k] = 1;
  }
  const need: (Support | null)[] = Array.from({ length: n }, () => null);
  const hitches: Hitch[] = [];
  const { profile } = motion;
  const height = standingHeightMm(profile);
  const persons = centre.masses.arePersons ? ' Weights are a person’s, not this puppet’s.' : '';
  const add = (hitch: Omit<Hitch, 'id' | 'unit' | 'part'>) => {
    hitches.push({ ...hitch, id: `${hitch.kind}:body:${hitch.firstFrame}`, part: 'body', unit: 'mm' });
    if (!hitch.support) return;
    for (let k = hitch.firstFrame; k < hitch.firstFrame + hitch.frames; k++)
      if (need[k] !== 'rig') need[k] = hitch.support;
  };

  if (motion.feetSeen) {
    for (const { how, ...run } of motion.unplanted) {
      const isInAir = how === 'air';
      // Between two stands a foot is nowhere for a frame or two: no more than a detector's wavering.
      if (!isInAir && run.frames <= bridged) continue;
      add({
        kind: isInAir ? 'airborne' : 'sliding',
        ...run,
        worstFrame: run.firstFrame + (run.frames >> 1),
        worst: 0,
        weight: isInAir ? 2 : 0.5,
        sentence: isInAir
          ? `Both feet are off the floor, ${frameRunWords(run)}: prepare a rig.`
          : `No foot stands still, ${frameRunWords(run)}: a foot slides or turns; hold the one that carries with a tie-down at each exposure.`,
        why: isInAir
          ? 'The lower foot is above its ground, or the hips fall; it may also rest on something else, or sit.'
          : 'Neither foot was seen at rest, nor off the floor.',
        fix: null,
        support: isInAir ? 'rig' : 'tie-down',
      });
    }
    for (const run of runsAbove(sure)) {
      const out = outsideMm[run.worstFrame]!;
      const { support, words } = holdWords(profile, stances, run);
      add({
        kind: 'offBalance',
        ...run,
        worst: Math.abs(out),
        weight: (Math.abs(out) / height) * 20,
        sentence: `The weight lies ${mm(Math.abs(out))} ${out > 0 ? 'right' : 'left'} of the feet that stand, ${frameRunWords(run)}${worstWords(run)}: ${words}.`,
        why: `Centre of mass against the standing feet’s extent along the floor, as the camera sees it.${persons}`,
        fix: canShift(motion, out, run.worstFrame)
          ? {
              id: `overFeet:${run.firstFrame}`,
              kind: 'overFeet',
              startSec: timesSec[run.firstFrame]!,
              endSec: timesSec[run.firstFrame + run.frames - 1]!,
            }
          : null,
        support,
      });
    }
    for (const run of runsAbove(onPoint)) {
      const foot = stances[run.worstFrame]!.feet[0]!;
      const { support, words } = holdWords(profile, stances, run);
      const what = foot.on === 'heel' ? 'heel' : 'toes';
      add({
        kind: 'heelOrToe',
        ...run,
        worst: 0,
        weight: 0.5,
        sentence: `It stands on the ${what} of the ${foot.side} foot alone, ${frameRunWords(run)}: ${words}.`,
        why: 'Of the feet only this part was seen to stand.',
        fix: null,
        support,
      });
    }
  }
  return {
    centre,
    outsideMm,
    hitches: oncePerWalk(hitches, motion.walks),
    rigFrames: runsOf(need, 'rig'),
    tieDownFrames: runsOf(need, 'tie-down'),
    cautions: cautionsFor(centre.masses, motion.feetSeen),
  };
}

/** So much of a leg's length to either side of its ankle a hip may be moved. */
const leanShare = 0.8;
/** The centre of mass goes about so much of the way that the hips do: feet stay. */
const centreFollows = 0.8;

/** Would the legs that stand reach their feet still if the body were moved over them? */
function canShift(motion: PuppetMotion, outMm: number, k: number): boolean {
  const { thighMm, shankMm } = motion.profile.sizes;
  return (['left', 'right'] as const).every((side) => {
    if (!motion.planted.some((p) => p.side === side && p.firstFrame <= k && p.firstFrame + p.frames > k)) return true;
    const hip = motion.paths.get(`${side}Hip`)?.xMm[k] ?? Number.NaN;
    const ankle = motion.paths.get(`${side}Ankle`)?.xMm[k] ?? Number.NaN;
    return Math.abs(hip - outMm / centreFollows - ankle) < leanShare * (thighMm + shankMm);
  });
}

/** What holds the puppet over a run: feet that stand and can be held from below, one after the other if need be, else a rig. */
function holdWords(
  { tieDowns }: PuppetProfile,
  stances: readonly (Stance | null)[],
  run: FrameRun,
): { support: Support; words: string } {
  // A gap that was bridged says nothing against it.
  const standing = stances
    .slice(run.firstFrame, run.firstFrame + run.frames)
    .flatMap((stance) => (stance ? [stance.feet.map(({ side }) => side)] : []));
  const canHold = (side: Side) => tieDowns === 'both' || tieDowns === side;
  const throughout = (['left', 'right'] as const).filter(
    (side) => canHold(side) && standing.every((feet) => feet.includes(side)),
  );
  if (throughout.length === 2) return { support: 'tie-down', words: 'prepare tie-downs on both feet' };
  if (throughout.length === 1) return { support: 'tie-down', words: `prepare a tie-down on the ${throughout[0]} foot` };
  if (standing.every((feet) => feet.some(canHold)))
    return { support: 'tie-down', words: 'prepare tie-downs on each foot in turn' };
  return { support: 'rig', words: 'prepare a rig' };
}

function runsOf(need: readonly (Support | null)[], support: Support): FrameRun[] {
  const runs: FrameRun[] = [];
  for (let k = 0; k < need.length; k++) {
    if (need[k] !== support) continue;
    const last = runs.at(-1);
    if (last && last.firstFrame + last.frames === k) runs[runs.length - 1] = { ...last, frames: last.frames + 1 };
    else runs.push({ firstFrame: k, frames: 1 });
  }
  return runs;
}

function cautionsFor({ arePersons, tailLeftOut }: PieceMasses, feetSeen: boolean): string[] {
  const all = [
    'Balance is judged in the picture plane: what leans toward or away from the lens is not seen.',
    'No strength is computed, of rigs, wires, tie-downs or joints. Try each under its load before the shot and keep clear of what could fall; what carries weight over people or lights is for people licensed for it, by local codes.',
  ];
  if (arePersons) all.unshift('Weights are shares of a person’s: weigh the puppet’s pieces for its own.');
  if (tailLeftOut) all.push('The tail’s weight is not known and left out.');
  if (!feetSeen) all.push('Feet were not seen: nothing is known of what the puppet stands on.');
  return all;
}
