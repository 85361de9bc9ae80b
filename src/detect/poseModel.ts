import type { Region } from '../ingest/pixels.ts';

/** The models a user may choose between. */
export type ModelChoice = 'fast' | 'accurate';

/** A model that sees one person in a square picture. Made for one backend; one estimate at a time. */
export interface PoseModel {
  /** As reported in plans: "movenet-thunder". */
  readonly name: string;
  /** Side of the square picture it takes, pixels. */
  readonly inputSide: number;
  /**
   * Sees the joints of one person, independently of any picture before.
   * @param rgba square, `inputSide`², 8 bits.
   * @returns x, y (0..1 of the square, may lie outside) and confidence (0..1) per joint. Shape [joint × 3].
   */
  estimate(rgba: Uint8ClampedArray): Promise<Float32Array>;
  dispose(): void;
}

/** A model that finds people in a whole picture. */
export interface PeopleFinder {
  /** The longer side of the picture it takes, pixels; the other side follows the picture's shape. */
  readonly inputSide: number;
  /**
   * Finds people.
   * @returns boxes in 0..1 of the picture, the surest first.
   */
  find(rgba: Uint8ClampedArray, width: number, height: number): Promise<FoundPerson[]>;
  dispose(): void;
}

/** One person found. */
export interface FoundPerson {
  readonly box: Region;
  /** 0..1. */
  readonly score: number;
}
