import { isProp, type Part } from '../../base/joints.ts';
import { centreOfMass, samplesOfCentre } from '../../timing/centreOfMass.ts';
import { type PointSamples, samplesOfPart, samplesOfProp, samplesWithin } from '../../timing/pointSamples.ts';
import type { Drop } from '../../timing/sideBySide.ts';
import type { Timing } from '../../timing/timing.ts';
import type { Fall, Flight } from '../../timing/weight.ts';
import type { Session } from '../session.svelte.ts';

/** What may fall: a part, or the performer as a whole. */
export type Faller = Part | 'centre';

const nothing: PointSamples = {
  timesSec: new Float64Array(0),
  xPx: new Float64Array(0),
  yPx: new Float64Array(0),
  sdPx: new Float64Array(0),
};

/** Where it was seen within the shot: a marked point as measured, a joint as tracked. */
export function samplesOf(session: Session, of: Faller): PointSamples {
  const { tracks, points, span } = session;
  if (!tracks) return nothing;
  const within = (samples: PointSamples) => samplesWithin(samples, span.startSec, span.endSec);
  if (of === 'centre') return within(samplesOfCentre(tracks));
  if (!isProp(of)) return within(samplesOfPart(tracks, of));
  const seen = points.seen.find((s) => s.prop.id === of);
  return seen ? within(samplesOfProp(seen)) : nothing;
}

/** Where a take time falls among the frames on screen, fractional, from 0; NaN outside. */
export function frameAt(session: Session, sec: number): number {
  const times = session.frameTimesSec;
  const next = times.findIndex((t) => t > sec);
  if (next === 0 || times.length < 2) return Number.NaN;
  if (next < 0) {
    const last = times.length - 1;
    const step = times[last]! - times[last - 1]!;
    const over = step > 0 ? (sec - times[last]!) / step : 0;
    return over <= 1 ? last + over : Number.NaN;
  }
  const [a, b] = [times[next - 1]!, times[next]!];
  return next - 1 + (b > a ? (sec - a) / (b - a) : 0);
}

/** Goes to the frame on screen in which a moment of the take falls. */
export function goToMoment(session: Session, sec: number): void {
  const frame = frameAt(session, sec);
  if (Number.isNaN(frame)) return;
  session.playhead.pause();
  session.playhead.goTo(Math.floor(frame + 1e-6));
}

/** Where a fall begins among the frames on screen. */
export interface Release {
  /** The frame before or at which it is let go, from 0, and how long after that frame's moment, frames (0 to 1). */
  readonly frame: number;
  readonly lateFrames: number;
  /** How deep it falls first, pixels. */
  readonly dropPx: number;
  /** Where its floor is, upright pixels. */
  readonly floorYPx: number;
}

/** The deepest fall's beginning; null where it is not on screen. */
export function releaseOf(session: Session, fall: Fall): Release | null {
  const first = fall.flights.reduce<Flight | null>((a, b) => (a && a.dropPx >= b.dropPx ? a : b), null);
  if (!first) return null;
  // A thing that was thrown up falls from its highest place on.
  const at = frameAt(session, Math.max(first.startSec, Math.min(first.endSec, first.apexSec)));
  if (Number.isNaN(at)) return null;
  const frame = Math.floor(at + 1e-6);
  const landing = fall.bounces.find((b) => Math.abs(b.takeSec - first.endSec) < 1e-6);
  const floorYPx = landing?.yPx ?? first.apexYPx + first.dropPx;
  return { frame, lateFrames: Math.max(0, at - frame), dropPx: first.dropPx, floorYPx };
}

/** How high it is at each frame since its release, as the shot shows it. */
export function dropOf(
  session: Session,
  timing: Timing,
  of: { readonly id: Faller; readonly name: string },
  fall: Fall,
  { frame, floorYPx }: Release,
): Drop {
  const yPx = of.id === 'centre' ? centreOfMass(timing.motion).yPx : timing.motion.paths.get(of.id)?.yPx;
  const endSec = fall.flights[fall.flights.length - 1]?.endSec ?? 0;
  const last = frameAt(session, endSec);
  const end = Number.isNaN(last) ? timing.grid.frameCount - 1 : Math.min(timing.grid.frameCount - 1, Math.ceil(last));
  const heightMm = Float64Array.from(
    { length: Math.max(0, end - frame + 1) },
    (_, k) => (floorYPx - (yPx?.[frame + k] ?? Number.NaN)) * timing.mmPerPx,
  );
  return { name: of.id === 'centre' ? 'body' : of.name, heightMm };
}
