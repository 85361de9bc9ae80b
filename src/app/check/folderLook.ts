import { isSameFile } from '../fileKinds.ts';

/** A camera's writing takes less than this, milliseconds: a file untouched for so long is whole. Common practice, no source. */
const writtenWithinMs = 3000;

/**
 * The files of a folder that have been written to their end: those that are the same as at the look before, and those that nobody has
 * touched for a while. Clocks of a camera and of this machine may differ, so a time ahead of now says nothing.
 * @param before files at the look before; null = this is the first.
 * @param nowMs milliseconds since 1970.
 */
export function wholeFiles(now: readonly File[], before: readonly File[] | null, nowMs: number): File[] {
  const known = new Map((before ?? []).map((file) => [file.name, file]));
  return now.filter((file) => {
    const was = known.get(file.name);
    return (was && isSameFile(file, was)) || nowMs - file.lastModified > writtenWithinMs;
  });
}

/** Are these the same files, in whatever order? */
export function areSameFiles(a: readonly File[], b: readonly File[]): boolean {
  const known = new Map(b.map((file) => [file.name, file]));
  return a.length === b.length && a.every((file) => known.has(file.name) && isSameFile(file, known.get(file.name)!));
}
