import type { Hitch } from '../../puppet/hitch.ts';
import type { PoseFix } from '../../puppet/poseFix.ts';
import type { PuppetJoint } from '../../puppet/puppetMotion.ts';
import type { Session } from '../session.svelte.ts';

/** The joint that a hitch's words name ("left knee"), for pointing it out; none for the whole body. */
export function jointsOfHitch({ part }: Hitch): PuppetJoint[] {
  if (/neck|head/.test(part)) return ['neck'];
  const side = part.startsWith('left') ? 'left' : part.startsWith('right') ? 'right' : null;
  const joint = carriedBy.find(([words]) => part.endsWith(words))?.[1];
  return side && joint ? [`${side}${joint}`] : [];
}

/** Which joint turns what the words name. */
const carriedBy = [
  ['upper arm', 'Shoulder'],
  ['shoulder', 'Shoulder'],
  ['forearm', 'Elbow'],
  ['elbow', 'Elbow'],
  ['arm', 'Elbow'],
  ['hand', 'Wrist'],
  ['wrist', 'Wrist'],
  ['thigh', 'Hip'],
  ['hip', 'Hip'],
  ['shank', 'Knee'],
  ['knee', 'Knee'],
  ['leg', 'Knee'],
  ['foot', 'Ankle'],
  ['ankle', 'Ankle'],
] as const;

/** Hitches that concern a frame. */
export function hitchesAt(hitches: readonly Hitch[], frame: number): Hitch[] {
  return hitches.filter((h) => frame >= h.firstFrame && frame < h.firstFrame + h.frames);
}

/** Frames of the shot that a span of the take stands on, from 0, both included; null where it is not in the shot. */
export function framesOfSpan(session: Session, span: Pick<PoseFix, 'startSec' | 'endSec'>): [number, number] | null {
  const times = session.frameTimesSec;
  const first = times.findIndex((sec) => sec >= span.startSec - 1e-6 && sec <= span.endSec + 1e-6);
  const last = times.findLastIndex((sec) => sec >= span.startSec - 1e-6 && sec <= span.endSec + 1e-6);
  return first < 0 ? null : [first, last];
}

/** A hand keeps its place from the frame on screen until the next key, or to the end. */
export function touchFromHere(session: Session, hand: 'leftWrist' | 'rightWrist'): void {
  const times = session.frameTimesSec;
  const { frame } = session.playhead;
  const next = session.timing?.keys.find((k) => k.frameIndex > frame)?.frameIndex ?? times.length - 1;
  const [startSec, endSec] = [times[frame], times[Math.max(frame, next)]];
  if (startSec === undefined || endSec === undefined) return;
  session.edit({ kind: 'setHandContact', contact: { id: crypto.randomUUID(), hand, startSec, endSec } });
  session.say(`The ${hand === 'leftWrist' ? 'left' : 'right'} hand keeps its place from frame ${frame + 1}`);
}
