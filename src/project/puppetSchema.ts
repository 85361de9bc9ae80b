import { z } from 'zod';
import { failed, good, type Outcome } from '../base/failure.ts';
import { limitNames, massNames, type PuppetProfile, type PuppetSizes, standingHeightMm } from '../puppet/profile.ts';

/** The newest version of a puppet file that this program writes. */
export const puppetVersion = 1;

/** The largest and the smallest puppet that can be meant, sole to top of the head, millimetres. */
export const leastHeightMm = 10;
export const mostHeightMm = 3000;

// A length of nothing would have no direction; the longest part is shorter than the tallest puppet.
const length = z.number().min(0.1).max(mostHeightMm);
const sizes: z.ZodType<PuppetSizes> = z.object({
  headMm: length,
  headWidthMm: length,
  neckMm: z.number().min(0).max(mostHeightMm),
  shouldersMm: length,
  trunkMm: length,
  hipsMm: length,
  upperArmMm: length,
  forearmMm: length,
  handMm: length,
  thighMm: length,
  shankMm: length,
  ankleMm: z.number().min(0).max(mostHeightMm),
  heelMm: z.number().min(0).max(mostHeightMm),
  footMm: length,
  armThickMm: length,
  legThickMm: length,
  trunkThickMm: length,
});

/** A puppet as it stands in books and in files of its own. */
export const puppetProfile: z.ZodType<PuppetProfile> = z
  .object({
    name: z.string(),
    unit: z.enum(['mm', 'in']),
    sizes,
    tail: z.object({ piecesMm: z.array(length).min(1).max(40), thickMm: length }).nullable(),
    limitsDeg: z.partialRecord(z.enum(limitNames), z.number().min(0).max(360)),
    massesG: z.partialRecord(z.enum(massNames), z.number().min(0).max(100_000)).nullable(),
    tieDowns: z.enum(['both', 'left', 'right', 'none']),
    smallestStepMm: z.number().min(0.05).max(20),
    smallestStepDeg: z.number().min(0.1).max(30),
  })
  .refine((p) => standingHeightMm(p) >= leastHeightMm && standingHeightMm(p) <= mostHeightMm, {
    message: `a puppet is ${leastHeightMm} to ${mostHeightMm} mm high`,
    path: ['sizes'],
  });

const puppetFile = z.object({
  format: z.literal('nudgebook-puppet'),
  version: z.literal(puppetVersion),
  puppet: puppetProfile,
});

/** The puppet file as text (JSON). Reading it again gives the same profile. */
export function writePuppet(puppet: PuppetProfile): string {
  return `${JSON.stringify({ format: 'nudgebook-puppet', version: puppetVersion, puppet }, null, 1)}\n`;
}

/**
 * A puppet from the text of a puppet file. Fails with 'puppet-newer' for a file of a later version, with 'puppet-unreadable'
 * (naming the place in the file) for anything else that is not a puppet.
 */
export function readPuppet(text: string): Outcome<PuppetProfile> {
  let raw: unknown;
  try {
    raw = JSON.parse(text);
  } catch {
    return failed(
      'puppet-unreadable',
      'This puppet file is not valid JSON, so the puppet stays as it was. Choose another copy of the file.',
    );
  }
  const version = (raw as { version?: unknown } | null)?.version;
  if (typeof version === 'number' && version > puppetVersion)
    return failed(
      'puppet-newer',
      `This puppet was saved by a newer Nudgebook (file version ${version}; this one reads up to ${puppetVersion}). Save it there as an older one, or update this one.`,
    );
  const parsed = puppetFile.safeParse(raw);
  if (parsed.success) return good(parsed.data.puppet);
  const issue = parsed.error.issues[0];
  const place = issue?.path.join(' → ') || 'the top of the file';
  return failed(
    'puppet-unreadable',
    `This puppet file has a value that cannot be right at “${place}” (${issue?.message ?? 'unknown'}), so the puppet stays as it was. Correct that value, or choose another file.`,
  );
}
