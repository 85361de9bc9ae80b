import type { FootageNote } from '../base/footage.ts';

/** Stills put into their order. */
export interface StillsOrder<T> {
  /** Shape [picture]. */
  readonly files: readonly T[];
  /** The number in each name. Shape [picture], strictly rising; from 0 up by 1 where names hold no number. */
  readonly numbers: readonly number[];
  /** Gaps and duplicates in the numbering. */
  readonly notes: readonly FootageNote[];
}

/** Folders hold more than pictures (thumbnail caches, notes): those that call themselves stills which can be read here. */
export function stillsAmong<T extends { readonly name: string; readonly type: string }>(files: readonly T[]): T[] {
  return files.filter((f) => /^image\/(jpeg|png|webp)$/.test(f.type) || /\.(jpe?g|png|webp)$/i.test(f.name));
}

/**
 * How many stills, from the first on, are the same in both, each put into their order.
 * @param isSame are two of them one picture?
 */
export function unchangedStills<T extends { readonly name: string; readonly type: string }>(
  before: readonly T[],
  now: readonly T[],
  isSame: (a: T, b: T) => boolean,
): number {
  const [a, b] = [orderStills(stillsAmong(before)).files, orderStills(stillsAmong(now)).files];
  const differs = a.findIndex((file, i) => !b[i] || !isSame(file, b[i]));
  return differs < 0 ? a.length : differs;
}

/**
 * Sorts stills by the last number in their names ("shot2_0041.png" → 41), since folders come in any order. Names without
 * a number are sorted by name and counted. Of two files with the same number the first by name is kept. A gap in the
 * numbers closes up: picture follows picture at the given rate; it is noted, since the missing stills may be wanted.
 */
export function orderStills<T extends { readonly name: string }>(files: readonly T[]): StillsOrder<T> {
  const numbered = files.map((file) => ({ file, number: lastNumber(file.name) }));
  const byName = (a: T, b: T) => (a.name < b.name ? -1 : a.name > b.name ? 1 : 0);
  if (numbered.some((n) => n.number === null)) {
    const sorted = [...files].sort(byName);
    return { files: sorted, numbers: sorted.map((_, i) => i), notes: [unnumbered(sorted.length)] };
  }
  const sorted = numbered
    .map(({ file, number }) => ({ file, number: number ?? 0 }))
    .sort((a, b) => a.number - b.number || byName(a.file, b.file));
  const kept = sorted.filter((s, i) => i === 0 || s.number !== sorted[i - 1]!.number);
  const notes: FootageNote[] = [];
  const doubles = sorted.length - kept.length;
  if (doubles > 0)
    notes.push({
      code: 'stills-numbering',
      firstPicture: 0,
      lastPicture: kept.length - 1,
      sentence: `${doubles === 1 ? 'One still was' : `${doubles} stills were`} left out because another has the same number. Choose the stills of one take only.`,
    });
  for (let i = 1; i < kept.length; i++) {
    const missing = kept[i]!.number - kept[i - 1]!.number - 1;
    if (missing <= 0) continue;
    notes.push({
      code: 'stills-gap',
      firstPicture: i - 1,
      lastPicture: i,
      sentence: `${missing === 1 ? 'A still is' : `${missing} stills are`} missing between numbers ${kept[i - 1]!.number} and ${kept[i]!.number}; the pictures on both sides follow each other directly. Add ${missing === 1 ? 'it' : 'them'} and choose all stills again if that is wrong.`,
    });
  }
  return { files: kept.map((k) => k.file), numbers: kept.map((k) => k.number), notes };
}

/** The last run of digits in a name, its ending left out; null when there is none. */
export function lastNumber(name: string): number | null {
  const stem = name.replace(/\.[A-Za-z][A-Za-z0-9]*$/, '');
  const runs = stem.match(/\d+/g);
  return runs ? Number(runs[runs.length - 1]) : null;
}

const unnumbered = (count: number): FootageNote => ({
  code: 'stills-numbering',
  firstPicture: 0,
  lastPicture: count - 1,
  sentence:
    'Not every still has a number in its name, so they were put in the order of their names. Check that the order is right.',
});
