import { limitNames, limitOf, type PuppetSizes, scaleOf, standingHeightMm } from '../puppet/profile.ts';
import type { Planted } from '../puppet/puppetMotion.ts';
import type { Unplanted } from '../puppet/unplanted.ts';
import type { Plan } from './plan.ts';

/** A number, or null where nothing can be said: JSON has no NaN. */
type MaybeNumber = number | null;

/**
 * The puppet and the shot on it, as `plan.json` holds it. Millimetres on the set as seen from the camera: x to the right, y up from the
 * floor line.
 */
export interface PuppetJson {
  name: string;
  heightMm: number;
  /** 6 = 1 : 6 of a person of 1.70 m. */
  scale: number;
  sizes: PuppetSizes;
  /** Degrees; `persons` = the puppet's own is not known, a person's is taken. */
  limits: Record<string, { deg: number; persons: boolean }>;
  /** Per joint one entry per frame. Tail joints are tail1, tail2, … from the body outwards. */
  joints: Record<string, { xMm: MaybeNumber[]; yMm: MaybeNumber[] }>;
  /** Standing feet; the planted point does not move within the run. */
  planted: {
    side: 'left' | 'right';
    on: Planted['on'];
    firstFrame: number;
    frames: number;
    xMm: MaybeNumber;
    yMm: MaybeNumber;
  }[];
  /** Hands that hold on to something: where the wrist is meant to be. */
  held: { side: 'left' | 'right'; firstFrame: number; frames: number; xMm: MaybeNumber; yMm: MaybeNumber }[];
  /** No foot stands still: in the air, or one slides or turns. */
  unplanted: { how: Unplanted['how']; firstFrame: number; frames: number }[];
  /** False where no foot was seen, so that nothing is known of the ground. */
  feetSeen: boolean;
}

/** The puppet's part of `plan.json`. */
export function puppetJson({ puppet }: Plan): PuppetJson {
  const { profile } = puppet;
  return {
    name: profile.name,
    heightMm: standingHeightMm(profile),
    scale: said(scaleOf(profile), 4) ?? 0,
    sizes: profile.sizes,
    limits: Object.fromEntries(
      limitNames.map((name) => {
        const { deg, isPersons } = limitOf(profile, name);
        return [name, { deg, persons: isPersons }];
      }),
    ),
    joints: Object.fromEntries(
      [...puppet.paths].map(([joint, path]) => [joint, { xMm: column(path.xMm), yMm: column(path.yMm) }]),
    ),
    planted: puppet.planted.map(({ side, on, firstFrame, frames, xMm, yMm }) => ({
      ...{ side, on, firstFrame, frames },
      xMm: said(xMm, 4),
      yMm: said(yMm, 4),
    })),
    held: puppet.held.map(({ side, firstFrame, frames, xMm, yMm }) => ({
      ...{ side, firstFrame, frames },
      xMm: said(xMm, 4),
      yMm: said(yMm, 4),
    })),
    unplanted: puppet.unplanted.map(({ how, firstFrame, frames }) => ({ how, firstFrame, frames })),
    feetSeen: puppet.feetSeen,
  };
}

/** To a ten-thousandth of a millimetre, which keeps the file small. */
function column(mm: Float64Array): MaybeNumber[] {
  return Array.from(mm, (v) => said(v, 4));
}

function said(value: number, digits: number): MaybeNumber {
  if (!Number.isFinite(value)) return null;
  return Number(value.toFixed(digits)) + 0;
}
