import expected from '../../fixtures/ingest/expected.json';
import type { Picture } from '../../src/ingest/picture.ts';

/** What is expected of one clip of the corpus; made from ffprobe's output (see fixtures/ingest/README.md). */
export interface Expected {
  readonly outcome: 'read' | 'refused';
  readonly code?: string;
  readonly names?: string;
  readonly note?: string;
  readonly width?: number;
  readonly height?: number;
  readonly turnedDeg?: number;
  readonly ticksPerSec?: number;
  /** The number painted into the first picture, where each next one's is one more (12 bits: after 4095 comes 0). */
  readonly firstNumber?: number;
  /** The numbers painted into the pictures, where they do not simply count up. Shape [picture]. */
  readonly numbers?: readonly number[];
  readonly stamps?: readonly number[] | { readonly first: number; readonly step: number; readonly count: number };
}

/** Every clip by name. */
export const corpus: ReadonlyMap<string, Expected> = new Map(Object.entries(expected as Record<string, Expected>));

/** ffprobe's time stamps of a clip in seconds. Shape [picture]. */
export function stampsOf(clip: Expected): number[] {
  const { stamps, ticksPerSec } = clip;
  if (!stamps || !ticksPerSec) throw new Error('this clip has no stamps');
  const ticks =
    'count' in stamps ? Array.from({ length: stamps.count }, (_, i) => stamps.first + i * stamps.step) : stamps;
  return ticks.map((t) => t / ticksPerSec);
}

/** The number painted into picture `i` of a clip. */
export function numberExpected(clip: Expected, i: number): number {
  return clip.numbers?.[i] ?? ((clip.firstNumber ?? 0) + i) % 4096;
}

/**
 * Reads the number that is painted into a picture of the corpus: its upper left quarter is 4 × 4 patches, row by row
 * twelve bits (white = 1) and a check of four (the bits' nibbles and 1010, combined by exclusive or). −1 when the check
 * fails.
 */
export async function numberIn(picture: Picture, widthPx: number, heightPx: number): Promise<number> {
  const out = new Uint8ClampedArray(4 * 16);
  await picture.sample({ x: 0, y: 0, width: widthPx / 2, height: heightPx / 2 }, 4, 4, out);
  return numberOfPatches(Array.from({ length: 16 }, (_, i) => out[4 * i + 1]!));
}

/** The number told by the brightness (0..255) of 16 patches; −1 when the check fails. */
export function numberOfPatches(brightness: readonly number[]): number {
  const bits = brightness.map((b) => (b > 128 ? 1 : 0));
  const nibble = (row: number) => bits.slice(4 * row, 4 * row + 4).reduce<number>((sum, bit) => 2 * sum + bit, 0);
  const check = nibble(0) ^ nibble(1) ^ nibble(2) ^ 0b1010;
  return check === nibble(3) ? 256 * nibble(0) + 16 * nibble(1) + nibble(2) : -1;
}

/** The clip as the file that a user would drop. */
export async function clipFile(name: string): Promise<File> {
  const address = new URL(`../../fixtures/ingest/${name}`, import.meta.url);
  const response = await fetch(address);
  if (!response.ok) throw new Error(`${name}: ${response.status}`);
  return new File([await response.blob()], name);
}
