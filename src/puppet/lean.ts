import { holdOn, turnAbout, upperBody } from './bodyTurns.ts';
import { spanOf, spread } from './fixSpan.ts';
import { frameCountOf } from './hitch.ts';
import { shortArms } from './outOfReach.ts';
import type { ReachFix } from './poseFix.ts';
import type { Held, OutOfReach, PuppetMotion, Side } from './puppetMotion.ts';

/** The body leans no further than this to let a hand reach. */
const mostDeg = 40;
/** An arm that only just reaches would be told as too short by a last bit. */
const hairMm = 1e-6;

/** By how much the upper body must lean about the hips in a frame so that a hand reaches, degrees anticlockwise; NaN = it does not. */
function leanNeeded({ paths, profile }: PuppetMotion, side: Side, { xMm, yMm }: Held, k: number): number {
  const [hips, shoulder] = [paths.get('pelvis'), paths.get(`${side}Shoulder`)];
  if (!hips || !shoulder) return Number.NaN;
  const [rx, ry] = [shoulder.xMm[k]! - hips.xMm[k]!, shoulder.yMm[k]! - hips.yMm[k]!];
  const [px, py] = [xMm - hips.xMm[k]!, yMm - hips.yMm[k]!];
  const long = profile.sizes.upperArmMm + profile.sizes.forearmMm - hairMm;
  if (Math.hypot(px - rx, py - ry) <= long) return 0;
  const [r, p] = [Math.hypot(rx, ry), Math.hypot(px, py)];
  // Law of cosines: within this angle of each other the shoulder is near enough.
  const cosine = (r * r + p * p - long * long) / (2 * r * p);
  if (!(cosine <= 1)) return Number.NaN;
  const between = Math.atan2(rx * py - ry * px, rx * px + ry * py);
  const deg = ((between - Math.sign(between) * Math.acos(Math.max(-1, cosine))) * 180) / Math.PI;
  return Math.abs(deg) <= mostDeg ? deg : Number.NaN;
}

/** What a hand holds on to in a frame; undefined = nothing. */
function heldAt({ held }: PuppetMotion, side: Side, k: number): Held | undefined {
  return held.find((h) => h.side === side && k >= h.firstFrame && k < h.firstFrame + h.frames);
}

const sideOf = (limb: OutOfReach['limb']): Side => (limb.startsWith('left') ? 'left' : 'right');

/** The fix that lets a hand reach what it holds on to by leaning the body; null where leaning does not do it, or for a leg. */
export function nearestReach(motion: PuppetMotion, run: OutOfReach): ReachFix | null {
  const { limb, firstFrame, frames, worstFrame } = run;
  if (limb.endsWith('Leg')) return null;
  const hold = heldAt(motion, sideOf(limb), worstFrame);
  if (!hold || Number.isNaN(leanNeeded(motion, sideOf(limb), hold, worstFrame))) return null;
  const { timesSec } = motion.followed;
  return {
    id: `reach:${limb}:${firstFrame}`,
    kind: 'reach',
    limb,
    startSec: timesSec[firstFrame]!,
    endSec: timesSec[firstFrame + frames - 1]!,
  };
}

/** Leans the body over the span, hands keep what they hold on to. @returns what still is out of reach. */
export function leanToReach(motion: PuppetMotion, fix: ReachFix): OutOfReach[] {
  const span = spanOf(motion, fix);
  if (span) {
    const side = sideOf(fix.limb);
    const needs = Array.from({ length: span[1] - span[0] + 1 }, (_, i) => {
      const hold = heldAt(motion, side, span[0] + i);
      return hold ? leanNeeded(motion, side, hold, span[0] + i) : 0;
    });
    for (const [k, deg] of spread(needs, span[0], frameCountOf(motion))) {
      if (deg === 0) continue;
      turnAbout(motion, 'pelvis', upperBody, k, deg);
      for (const of of ['left', 'right'] as const) {
        const hold = heldAt(motion, of, k);
        if (hold) holdOn(motion, of, k, hold);
      }
    }
  }
  return [...motion.outOfReach.filter(({ limb }) => limb.endsWith('Leg')), ...shortArms(motion.paths, motion.held)];
}
