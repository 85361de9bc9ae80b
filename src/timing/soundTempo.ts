import { median } from '../track/quantile.ts';
import { type BeatLine, leastSquaresBeat, medianBeat, type NumberedBeat, spansBeats } from './beatLine.ts';
import type { Onset } from './onsets.ts';

/** A tempo that the soundtrack itself suggests. */
export interface SoundTempo {
  readonly beatsPerMinute: number;
  /** When a beat falls, take seconds: the first that is not before the span asked about. */
  readonly firstBeatSec: number;
  /** 0..1: how much of the clear beginnings fall on its beats. Speech and steps give little, music much. */
  readonly confidence: number;
  /** Why, in a sentence. */
  readonly why: string;
}

/** Tempos looked for. Half and double are a click away. */
const slowest = 40;
const fastest = 220;
/** The ear prefers two beats a second, by a log-normal curve this wide in octaves (Parncutt 1994; Moelants 2002). */
const favouredBpm = 120;
const favouredOctaves = 1;
/** Beginnings as close to a beat as this are on it, seconds. */
const onBeatSec = 0.05;
/** ... and as close as this they say exactly where it is. */
const exactSec = 0.02;
/** So many sounds are tried as the one on the beat. */
const mostTried = 12;
/** Fewer beginnings than this are no tempo. */
const leastOnsets = 4;
/** Half of the strength must fall on the beats, else there is none to speak of. */
const leastConfidence = 0.5;

/**
 * The tempo of the sounds that begin between two take times, as a proposal; null where they keep none. The lag is found where the
 * beginnings, each widened to a bell of 20 ms, are most like themselves moved along (autocorrelation); then a line is laid
 * through the beginnings that keep to it.
 */
export function tempoOfSound(onsets: readonly Onset[], fromSec: number, toSec: number): SoundTempo | null {
  const heard = onsets.filter((o) => o.takeSec >= fromSec && o.takeSec < toSec);
  if (heard.length < leastOnsets) return null;
  let best = { score: 0, stepSec: 0 };
  for (let bpm = slowest; bpm <= fastest; bpm *= 1.004) {
    const stepSec = 60 / bpm;
    const score = likeness(heard, stepSec) * favour(bpm);
    if (score > best.score) best = { score, stepSec };
  }
  if (best.score === 0) return null;
  const line = throughBeats(heard, best.stepSec);
  if (!line) return null;
  const share = onTheBeat(heard, line.stepSec, line.phaseSec);
  if (share.strength < leastConfidence) return null;
  const firstBeatSec = line.phaseSec + line.stepSec * Math.ceil((fromSec - line.phaseSec) / line.stepSec - 1e-9);
  return {
    beatsPerMinute: 60 / line.stepSec,
    firstBeatSec,
    confidence: share.strength,
    why: `${share.count} of ${heard.length} sounds fall on its beats, within ${Math.round(onBeatSec * 1000)} ms.`,
  };
}

function favour(bpm: number): number {
  return Math.exp(-0.5 * (Math.log2(bpm / favouredBpm) / favouredOctaves) ** 2);
}

/** Autocorrelation at a lag of sounds widened to bells: what two bells overlap follows from their distance. */
function likeness(heard: readonly Onset[], lagSec: number): number {
  const widthSec = 0.02;
  let sum = 0;
  for (let i = 0; i < heard.length; i++)
    for (let j = i + 1; j < heard.length; j++) {
      const [a, b] = [heard[i]!, heard[j]!];
      const away = (b.takeSec - a.takeSec - lagSec) / widthSec;
      if (away > 4) break;
      if (away > -4) sum += a.strength * b.strength * Math.exp((-away * away) / 4);
    }
  return sum;
}

/** The beat through the sounds near it; null when fewer than three are. */
function throughBeats(heard: readonly Onset[], stepSec: number): { stepSec: number; phaseSec: number } | null {
  // Any of the clearest sounds may be the one on the beat: take the one that most others agree with.
  let best = { stepSec, phaseSec: 0, strength: -1 };
  const clearest = [...heard].sort((a, b) => b.strength - a.strength).slice(0, mostTried);
  for (const { takeSec } of clearest) {
    let line: BeatLine = { step: stepSec, at: (beat) => takeSec + beat * stepSec };
    for (let pass = 0; pass < 2; pass++) {
      const near = nearBeats(heard, line, onBeatSec);
      if (near.length < 3 || !spansBeats(near)) break;
      line = medianBeat(near);
    }
    const exact = nearBeats(heard, line, exactSec);
    if (exact.length >= 3 && spansBeats(exact)) line = leastSquaresBeat(exact);
    const strength = line.step > 0 ? onTheBeat(heard, line.step, line.at(0)).strength : -1;
    if (strength > best.strength) best = { stepSec: line.step, phaseSec: line.at(0), strength };
  }
  return onTheBeat(heard, best.stepSec, best.phaseSec).count >= 3 ? best : null;
}

function nearBeats(heard: readonly Onset[], line: BeatLine, withinSec: number): NumberedBeat[] {
  return heard
    .map(({ takeSec }) => ({ sec: takeSec, beat: Math.round((takeSec - line.at(0)) / line.step) }))
    .filter(({ sec, beat }) => Math.abs(sec - line.at(beat)) <= withinSec);
}

function onTheBeat(heard: readonly Onset[], stepSec: number, phaseSec: number): { strength: number; count: number } {
  const away = (sec: number) => Math.abs(sec - phaseSec - stepSec * Math.round((sec - phaseSec) / stepSec));
  const on = heard.filter((o) => away(o.takeSec) <= onBeatSec);
  const sum = (some: readonly Onset[]) => some.reduce((total, o) => total + o.strength, 0);
  return { strength: sum(on) / sum(heard), count: on.length };
}

/** A sound this share of a beat away from every beat says nothing about where the beats are. */
const nearShare = 0.3;

/**
 * How much later the beats must fall to stand on the sounds, seconds: the middle of what the sounds near a beat (less than a third of
 * one away) are off. For beats that were tapped: fingers come early or late by much the same each time. Null with fewer than two.
 * @param soundsSec when sounds begin, on the clock of `firstBeatSec`.
 */
export function shiftOntoSounds(
  beatsPerMinute: number,
  firstBeatSec: number,
  soundsSec: readonly number[],
): number | null {
  const stepSec = 60 / beatsPerMinute;
  const off = soundsSec
    .map((sec) => sec - firstBeatSec - stepSec * Math.round((sec - firstBeatSec) / stepSec))
    .filter((away) => Math.abs(away) < nearShare * stepSec);
  return off.length < 2 ? null : median(off);
}
