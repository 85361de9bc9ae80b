import { isProp, type Part } from '../base/joints.ts';
import { samplesOfCentre } from '../timing/centreOfMass.ts';
import { type PointSamples, samplesOfPart, samplesOfProp, samplesWithin } from '../timing/pointSamples.ts';
import { fitSwing, type Swing } from '../timing/swing.ts';
import { frameOfTakeSec } from '../timing/takeFrames.ts';
import type { Chain } from '../timing/timing.ts';
import { readWave, type Wave } from '../timing/waves.ts';
import { type Fall, type FlightEnd, findFall } from '../timing/weight.ts';
import type { Plan } from './plan.ts';

/** A number, or null where nothing can be said. */
type MaybeNumber = number | null;

/**
 * A moment found between pictures: take seconds, and where in the shot it falls, in frames from 0 with a fraction; null outside
 * the shot.
 */
interface MomentJson {
  takeSec: MaybeNumber;
  frame: MaybeNumber;
}

/** What falls, flies or bounces: see `Fall`. Pixels and seconds are the take's. */
export interface FallJson {
  /** A marked point ("prop:…"), or `centre`: the performer's centre of mass (a jump). */
  of: Part | 'centre';
  /** Downward in the picture. */
  gravityPxS2: MaybeNumber;
  gravitySdPxS2: MaybeNumber;
  /** If it falls at 9.80665 m/s². */
  pxPerMetre: MaybeNumber;
  pxPerMetreSd: MaybeNumber;
  flights: {
    begins: FlightEnd;
    ends: FlightEnd;
    start: MomentJson;
    end: MomentJson;
    /** From its highest place within the flight to its end, and up from its beginning. */
    dropPx: MaybeNumber;
    risePx: MaybeNumber;
  }[];
  /** Contacts from which it comes up again. `restitution`: speed upward after it ÷ speed downward before. */
  bounces: {
    contact: MomentJson;
    sdSec: MaybeNumber;
    xPx: MaybeNumber;
    yPx: MaybeNumber;
    restitution: MaybeNumber;
    restitutionSd: MaybeNumber;
  }[];
  /** Why it may be no fall; null where nothing speaks against it. */
  doubt: string | null;
  why: string;
}

/** What goes to and fro about a pivot: see `Swing`. */
export interface SwingJson {
  of: Part;
  /** Of one swing to and fro at the first amplitude seen; frames at the shot's rate. */
  periodSec: MaybeNumber;
  periodSdSec: MaybeNumber;
  periodFrames: MaybeNumber;
  /** The same for a very small swing. */
  smallPeriodSec: MaybeNumber;
  /** Furthest from the middle, at the first turn and at the last. */
  firstAmplitudeDeg: MaybeNumber;
  lastAmplitudeDeg: MaybeNumber;
  /** Part of its amplitude that each swing loses; negative = it is driven. */
  lossPerSwing: MaybeNumber;
  pivotXPx: MaybeNumber;
  pivotYPx: MaybeNumber;
  lengthPx: MaybeNumber;
  /** Where it turns back; degrees clockwise from where it would hang. */
  turns: (MomentJson & { angleDeg: MaybeNumber })[];
  why: string;
}

/** What runs along a chain that the animator picked: see `Wave`. */
export interface WaveJson {
  /** Id of the chain; its parts from the root to the tip. */
  chain: string;
  parts: Part[];
  kind: 'toAndFro' | 'crack';
  frequencyHz: MaybeNumber;
  frequencySdHz: MaybeNumber;
  /** One per part: half of how far it goes across the chain (null for a crack), and when it is fastest. */
  points: { amplitudePx: MaybeNumber; peakSpeedPxPerSec: MaybeNumber; peak: MomentJson }[];
  /** From each part to the next: how much later, and how many times as far. */
  links: {
    delaySec: MaybeNumber;
    delaySdSec: MaybeNumber;
    delayFrames: MaybeNumber;
    lengthPx: MaybeNumber;
    growth: MaybeNumber;
  }[];
  /** Toward the tip; negative = toward the root. Null where all move as one. */
  speedPxPerSec: MaybeNumber;
  speedSdPxPerSec: MaybeNumber;
  chainsPerSec: MaybeNumber;
  waveLengthPx: MaybeNumber;
  /** From the first part to the last. */
  growth: MaybeNumber;
  isWhip: boolean;
  confidence: MaybeNumber;
  why: string;
}

/** Weight of what was marked, and of the performer as a whole. */
export interface WeightJson {
  falls: FallJson[];
  swings: SwingJson[];
  waves: WaveJson[];
}

/** Falls and bounces, swings, and waves along picked chains, read within the shot's part of the take from what was measured. */
export function weightJson(plan: Plan): WeightJson {
  const { tracks, timing, book, seenProps } = plan;
  const { startSec, endSec } = timing.choices;
  const within = (samples: PointSamples) => samplesWithin(samples, startSec, endSec);
  const frameOf = (sec: number): MaybeNumber => {
    const frame = sec >= startSec && sec <= endSec ? frameOfTakeSec(timing, sec) : Number.NaN;
    return frame >= 0 && frame <= timing.grid.frameCount ? said(frame) : null;
  };
  const moment = (sec: number): MomentJson => ({ takeSec: said(sec), frame: frameOf(sec) });
  const framesPerSec = timing.grid.rate.frames / timing.grid.rate.seconds;
  const props = seenProps.map((seen) => ({ id: seen.prop.id, samples: within(samplesOfProp(seen)) }));

  const samplesOf = (part: Part) =>
    isProp(part) ? props.find((p) => p.id === part)?.samples : within(samplesOfPart(tracks, part));
  const inWave = new Set<Part>();
  const waves = book.chains.flatMap((chain) => {
    const samples = chain.parts.map(samplesOf).filter((s) => s !== undefined);
    const wave = samples.length === chain.parts.length ? readWave(samples) : null;
    if (wave?.kind === 'to and fro') for (const part of chain.parts) inWave.add(part);
    return wave ? [waveJson(chain, wave, framesPerSec, moment)] : [];
  });

  const falls: FallJson[] = [];
  const swings: SwingJson[] = [];
  for (const { id, samples } of props) {
    // One point of a waving tail goes up and down like something that falls or swings: the wave tells it better.
    if (inWave.has(id)) continue;
    const fall = findFall(samples);
    if (fall) falls.push(fallJson(id, fall, moment));
    // What falls is not asked whether it swings, as on screen: a bounce goes up and down as well.
    const swing = fall ? null : fitSwing(samples);
    if (swing) swings.push(swingJson(id, swing, framesPerSec, moment));
  }
  const jump = tracks.joints.length > 0 ? findFall(within(samplesOfCentre(tracks))) : null;
  if (jump) falls.push(fallJson('centre', jump, moment));
  return { falls, swings, waves };
}

function fallJson(of: FallJson['of'], fall: Fall, moment: (sec: number) => MomentJson): FallJson {
  return {
    of,
    gravityPxS2: said(fall.gravityPxS2),
    gravitySdPxS2: said(fall.gravitySd),
    pxPerMetre: said(fall.pxPerMetre),
    pxPerMetreSd: said(fall.pxPerMetreSd),
    flights: fall.flights.map((f) => ({
      begins: f.begins,
      ends: f.ends,
      start: moment(f.startSec),
      end: moment(f.endSec),
      dropPx: said(f.dropPx),
      risePx: said(f.risePx),
    })),
    bounces: fall.bounces.map((b) => ({
      contact: moment(b.takeSec),
      sdSec: said(b.sdSec),
      xPx: said(b.xPx),
      yPx: said(b.yPx),
      restitution: said(b.restitution),
      restitutionSd: said(b.restitutionSd),
    })),
    doubt: fall.doubt,
    why: fall.why,
  };
}

function swingJson(of: Part, swing: Swing, framesPerSec: number, moment: (sec: number) => MomentJson): SwingJson {
  return {
    of,
    periodSec: said(swing.periodSec),
    periodSdSec: said(swing.periodSd),
    periodFrames: said(swing.periodSec * framesPerSec),
    smallPeriodSec: said(swing.smallPeriodSec),
    firstAmplitudeDeg: said(swing.firstAmplitudeDeg),
    lastAmplitudeDeg: said(swing.lastAmplitudeDeg),
    lossPerSwing: said(swing.lossPerSwing),
    pivotXPx: said(swing.pivotXPx),
    pivotYPx: said(swing.pivotYPx),
    lengthPx: said(swing.lengthPx),
    turns: swing.turns.map((t) => ({ ...moment(t.takeSec), angleDeg: said(t.angleDeg) })),
    why: swing.why,
  };
}

function waveJson(chain: Chain, wave: Wave, framesPerSec: number, moment: (sec: number) => MomentJson): WaveJson {
  return {
    chain: chain.id,
    parts: [...chain.parts],
    kind: wave.kind === 'crack' ? 'crack' : 'toAndFro',
    frequencyHz: said(wave.frequencyHz),
    frequencySdHz: said(wave.frequencySd),
    points: wave.points.map((p) => ({
      amplitudePx: said(p.amplitudePx),
      peakSpeedPxPerSec: said(p.peakSpeedPx),
      peak: moment(p.peakSec),
    })),
    links: wave.links.map((l) => ({
      delaySec: said(l.delaySec),
      delaySdSec: said(l.delaySd),
      delayFrames: said(l.delaySec * framesPerSec),
      lengthPx: said(l.lengthPx),
      growth: said(l.growth),
    })),
    speedPxPerSec: said(wave.speed?.pxPerSec ?? Number.NaN),
    speedSdPxPerSec: said(wave.speed?.sdPx ?? Number.NaN),
    chainsPerSec: said(wave.speed?.chainsPerSec ?? Number.NaN),
    waveLengthPx: said(wave.waveLengthPx),
    growth: said(wave.growth),
    isWhip: wave.isWhip,
    confidence: said(wave.confidence),
    why: wave.why,
  };
}

/** Five digits behind the point: a contact's time is known to less. Null for what cannot be said. */
function said(value: number): MaybeNumber {
  return Number.isFinite(value) ? Math.round(value * 1e5) / 1e5 + 0 : null;
}
