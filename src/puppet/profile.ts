/**
 * Lengths of a puppet, millimetres, from joint centre to joint centre unless said otherwise. Left and right are alike.
 */
export interface PuppetSizes {
  /** Top of the head (without hair that moves) to chin. */
  readonly headMm: number;
  /** The head at its widest. */
  readonly headWidthMm: number;
  /** Chin to the middle between the shoulders, head upright. */
  readonly neckMm: number;
  /** Shoulder joint to shoulder joint. */
  readonly shouldersMm: number;
  /** Middle between the shoulders to middle between the hips. */
  readonly trunkMm: number;
  /** Hip joint to hip joint. */
  readonly hipsMm: number;
  readonly upperArmMm: number;
  readonly forearmMm: number;
  /** Wrist to knuckles. */
  readonly handMm: number;
  readonly thighMm: number;
  readonly shankMm: number;
  /** Ankle joint above the sole. */
  readonly ankleMm: number;
  /** How far the heel lies behind the ankle joint, along the floor. */
  readonly heelMm: number;
  /** Heel to tip of the toes, along the floor. */
  readonly footMm: number;
  /** Diameters at the thickest, with clothes: for what would touch. */
  readonly armThickMm: number;
  readonly legThickMm: number;
  readonly trunkThickMm: number;
}

/** A tail of straight pieces, from the body outwards. */
export interface Tail {
  /** At least one piece. */
  readonly piecesMm: readonly number[];
  readonly thickMm: number;
}

/**
 * Movements of joints that have a limit. Degrees from the upright body with hanging arms, each counted from 0 in its own
 * direction; elbows and knees from straight.
 */
export const limitNames = [
  'neckForward',
  'neckBack',
  'neckSide',
  'shoulderForward',
  'shoulderBack',
  'shoulderOut',
  'elbowBend',
  'wristBend',
  'wristBack',
  'hipForward',
  'hipBack',
  'hipOut',
  'kneeBend',
  'ankleUp',
  'ankleDown',
] as const;
/** One of the movements that have a limit. */
export type LimitName = (typeof limitNames)[number];

/** Pieces that have a mass; arms and legs count once for both sides. */
export const massNames = ['head', 'trunk', 'upperArm', 'forearm', 'hand', 'thigh', 'shank', 'foot', 'tail'] as const;
/** A piece that has a mass. */
export type MassName = (typeof massNames)[number];

/** Everything that is known of one puppet. Lengths in millimetres, whatever unit they were entered in. */
export interface PuppetProfile {
  readonly name: string;
  /** In what lengths are shown and entered. */
  readonly unit: 'mm' | 'in';
  readonly sizes: PuppetSizes;
  /** Null = it has none. */
  readonly tail: Tail | null;
  /** Limits of this puppet's joints, degrees; where none is given, a person's count (see `personLimitsDeg`). */
  readonly limitsDeg: Readonly<Partial<Record<LimitName, number>>>;
  /** Grams of each piece (of one side); null = shares of a person's mass (see `massShares`). */
  readonly massesG: Readonly<Partial<Record<MassName, number>>> | null;
  /** Which feet can be held from below, by a screw or a magnet. */
  readonly tieDowns: 'both' | 'left' | 'right' | 'none';
  /** Smaller steps cannot be placed by hand. */
  readonly smallestStepMm: number;
  readonly smallestStepDeg: number;
}

/** Sole to top of the head when standing upright, millimetres. */
export function standingHeightMm({ sizes: s }: PuppetProfile): number {
  // To a millionth, so that a puppet scaled to 250 mm is not 249.99999999999997 mm high on paper.
  return Math.round((s.headMm + s.neckMm + s.trunkMm + s.thighMm + s.shankMm + s.ankleMm) * 1e6) / 1e6;
}

/** What the puppet's size is held against, millimetres: 1.7 m. */
export const personHeightMm = 1700;

/** How many times smaller than a person of 1.7 m the puppet is: 6 for 1:6. */
export function scaleOf(profile: PuppetProfile): number {
  return personHeightMm / standingHeightMm(profile);
}

/** The same puppet, built larger or smaller: every length is multiplied, masses with the third power. */
export function scaledPuppet(profile: PuppetProfile, by: number): PuppetProfile {
  const sizes = Object.fromEntries(Object.entries(profile.sizes).map(([name, mm]) => [name, mm * by]));
  const tail = profile.tail && {
    piecesMm: profile.tail.piecesMm.map((mm) => mm * by),
    thickMm: profile.tail.thickMm * by,
  };
  const massesG =
    profile.massesG && Object.fromEntries(Object.entries(profile.massesG).map(([name, g]) => [name, g * by ** 3]));
  return { ...profile, sizes: sizes as unknown as PuppetSizes, tail, massesG };
}

/** The same puppet, built so high that it stands `heightMm` tall. */
export function puppetOfHeight(profile: PuppetProfile, heightMm: number): PuppetProfile {
  return scaledPuppet(profile, heightMm / standingHeightMm(profile));
}

/**
 * How far a person's joints go, degrees: American Academy of Orthopaedic Surgeons' values, as in textbook tables of goniometry
 * (shoulder, elbow, wrist, neck; hip, knee and ankle from memory). Other tables differ by 10 to 25 degrees; puppets with cloth
 * or foam over their shoulders and hips mostly reach less (common practice, no source).
 */
export const personLimitsDeg: Readonly<Record<LimitName, number>> = {
  neckForward: 45,
  neckBack: 45,
  neckSide: 45,
  shoulderForward: 180,
  shoulderBack: 60,
  shoulderOut: 180,
  elbowBend: 150,
  wristBend: 80,
  wristBack: 70,
  hipForward: 120,
  hipBack: 30,
  hipOut: 45,
  kneeBend: 135,
  ankleUp: 20,
  ankleDown: 50,
};

/** A limit in degrees, and whether it is only a person's because the puppet's own is not known. */
export function limitOf(profile: PuppetProfile, name: LimitName): { deg: number; isPersons: boolean } {
  const own = profile.limitsDeg[name];
  return own === undefined ? { deg: personLimitsDeg[name], isPersons: true } : { deg: own, isPersons: false };
}
