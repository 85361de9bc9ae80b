import { jointWords, type Part } from '../base/joints.ts';
import type { Touch } from './pointFlights.ts';
import type { PoseSamples } from './poseSamples.ts';
import type { PoseAmong } from './reasons.ts';

/** A way that is shorter than this part of the body height is not worth a word. */
const worthAWord = 0.01;
/** Ways within 60° of opposite count as turning back. */
const turningBack = -0.5;

/** Why a pose of marked points is a key, in animators' words; may be empty. @param touch what bounces or lands there. */
export function pointReasons(
  samples: PoseSamples,
  { before, at, after, held }: Pick<PoseAmong, 'before' | 'at' | 'after' | 'held'>,
  touch: Touch | null,
): string[] {
  const contact = touch ? [`${jointWords(touch.part)} ${touch.how}`] : [];
  if (before === null && after === null) return [...contact, 'only pose'];
  if (before === null) return [...contact, 'first pose'];
  if (after === null) return [...contact, 'last pose'];
  if (touch) return contact;
  let turn: { part: Part; size: number; isTop: boolean } | null = null;
  let stop: { part: Part; size: number } | null = null;
  for (const { joint: part, x, y } of samples.joints) {
    const [ix, iy] = [x[at]! - x[before]!, y[at]! - y[before]!];
    const [ox, oy] = [x[after]! - x[at]!, y[after]! - y[at]!];
    const [into, outOf] = [Math.hypot(ix, iy), Math.hypot(ox, oy)];
    const size = Math.min(into, outOf);
    // Down is up in the picture's y: what comes from below and goes down again has its top here, however far it goes sideways.
    const isTop = Math.min(-iy, oy) > worthAWord;
    const isBack = (ix * ox + iy * oy) / Math.max(1e-12, into * outOf) < turningBack;
    if ((isTop || isBack) && size > worthAWord && size > (turn?.size ?? 0)) turn = { part, size, isTop };
    if (into > worthAWord && into > (stop?.size ?? 0)) stop = { part, size: into };
  }
  if (turn) return [`${jointWords(turn.part)} ${turn.isTop ? 'is highest' : 'turns'}`];
  return stop ? [`${jointWords(stop.part)} ${held ? 'comes to rest' : 'arrives'}`] : [];
}
