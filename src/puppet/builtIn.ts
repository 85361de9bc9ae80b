import { type PuppetProfile, type PuppetSizes, personHeightMm, puppetOfHeight } from './profile.ts';

/**
 * Lengths of a person as shares of standing height: R. Drillis and R. Contini 1966, as in Winter, Biomechanics, fig. 4.1 (from
 * memory), which add up to 1 from sole to vertex. Hand to the knuckles and heel behind the ankle: our own reading of drawings.
 */
const personShares: PuppetSizes = {
  headMm: 0.13,
  headWidthMm: 0.09,
  neckMm: 0.052,
  shouldersMm: 0.225,
  trunkMm: 0.288,
  hipsMm: 0.12,
  upperArmMm: 0.186,
  forearmMm: 0.146,
  handMm: 0.054,
  thighMm: 0.245,
  shankMm: 0.246,
  ankleMm: 0.039,
  heelMm: 0.035,
  footMm: 0.152,
  armThickMm: 0.045,
  legThickMm: 0.075,
  trunkThickMm: 0.16,
};

const sixth = Object.fromEntries(
  Object.entries(personShares).map(([name, share]) => [name, round((share * personHeightMm) / 6)]),
) as unknown as PuppetSizes;

function round(mm: number): number {
  return Math.round(mm * 10) / 10;
}

const handBuilt = {
  unit: 'mm',
  tail: null,
  limitsDeg: {},
  massesG: null,
  tieDowns: 'both',
  smallestStepMm: 0.3,
  smallestStepDeg: 1,
} as const;

/** A person in miniature, 1:6 of 1.7 m. */
export const realisticPuppet: PuppetProfile = { ...handBuilt, name: 'Like a person, 1:6', sizes: sixth };

/** A head as large as a third of the body, legs that are short for it: made-up proportions of our own. */
export const bigHeadedPuppet: PuppetProfile = {
  ...handBuilt,
  name: 'Big head, short legs',
  sizes: {
    headMm: 72,
    headWidthMm: 68,
    neckMm: 8,
    shouldersMm: 52,
    trunkMm: 62,
    hipsMm: 30,
    upperArmMm: 36,
    forearmMm: 32,
    handMm: 14,
    thighMm: 30,
    shankMm: 30,
    ankleMm: 10,
    heelMm: 9,
    footMm: 36,
    armThickMm: 12,
    legThickMm: 18,
    trunkThickMm: 44,
  },
  limitsDeg: { shoulderForward: 150, shoulderOut: 130, hipForward: 90 },
};

/** Arms that nearly reach the floor, and a tail of five pieces: made-up proportions of our own. */
export const longArmedPuppet: PuppetProfile = {
  ...handBuilt,
  name: 'Long-armed creature with a tail',
  sizes: {
    headMm: 38,
    headWidthMm: 34,
    neckMm: 16,
    shouldersMm: 62,
    trunkMm: 80,
    hipsMm: 32,
    upperArmMm: 72,
    forearmMm: 74,
    handMm: 24,
    thighMm: 52,
    shankMm: 50,
    ankleMm: 12,
    heelMm: 10,
    footMm: 44,
    armThickMm: 13,
    legThickMm: 19,
    trunkThickMm: 40,
  },
  tail: { piecesMm: [34, 32, 30, 26, 22], thickMm: 8 },
};

/** The puppets to begin with, ours, in the order of the list. */
export const builtInPuppets: readonly PuppetProfile[] = [realisticPuppet, bigHeadedPuppet, longArmedPuppet];

/** The puppet of a new shot, until the animator says what theirs is: like a person, 250 mm high. */
export const newPuppet: PuppetProfile = { ...puppetOfHeight(realisticPuppet, 250), name: 'Like a person' };
