import type { TakeAccuracy } from './benchAccuracy.ts';

/** All numbers of a benchmark, to be read again by `accuraciesFrom`. Where there was nothing to measure: null. */
export function accuracyJson(takes: readonly TakeAccuracy[]): string {
  return JSON.stringify({ format: 'nudgebook-accuracy', version: 2, takes });
}

/** The takes in a text of `accuracyJson`. @throws Error when it is another kind of file. */
export function accuraciesFrom(text: string): TakeAccuracy[] {
  // JSON has no NaN: inside scores a null is one.
  const numbers = (key: string, value: unknown) =>
    value === null && key !== 'keys' && key !== 'holds' ? Number.NaN : value;
  const file = JSON.parse(text, numbers) as { format?: unknown; version?: unknown; takes: TakeAccuracy[] };
  if (file.format !== 'nudgebook-accuracy' || file.version !== 2)
    throw new Error(
      '--compare wants a file that this version’s --json has written. Write it anew with the code of then.',
    );
  return file.takes;
}
