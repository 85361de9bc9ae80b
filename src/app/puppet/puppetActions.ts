import { readPuppet, writePuppet } from '../../project/puppetSchema.ts';
import type { PuppetProfile } from '../../puppet/profile.ts';
import { download, fileName } from '../download.ts';
import type { Session } from '../session.svelte.ts';

/** Millimetres in an inch. */
export const mmPerInch = 25.4;

/** A length in the profile's unit, as a field shows it. */
export function inUnit(mm: number, unit: PuppetProfile['unit']): number {
  return unit === 'mm' ? Math.round(mm * 10) / 10 : Math.round((mm / mmPerInch) * 1000) / 1000;
}

/** Millimetres of a length that was typed in the profile's unit. NaN for no number. */
export function fromUnit(value: number, unit: PuppetProfile['unit']): number {
  return unit === 'mm' ? value : value * mmPerInch;
}

/** Changes something of the puppet; changes of one gesture are undone together. */
export function changePuppet(session: Session, change: Partial<PuppetProfile>, gesture: string | null = null): void {
  session.edit({ kind: 'setPuppet', puppet: { ...session.book.puppet, ...change } }, gesture);
}

/** Hands the puppet out as a file of its own, for other shots and other animators. */
export function savePuppet(session: Session): void {
  const { puppet } = session.book;
  download(`${fileName(puppet.name)}.puppet.json`, writePuppet(puppet), 'application/json');
  session.say('Puppet saved to a file');
}

/** Takes a puppet from a file. When it fails, the puppet stays as it was. */
export async function openPuppet(session: Session, file: File): Promise<void> {
  const read = readPuppet(await file.text());
  if (!read.ok) return session.fail(read.failure);
  session.edit({ kind: 'setPuppet', puppet: read.value });
  session.say(`${read.value.name} is the puppet now`);
}
