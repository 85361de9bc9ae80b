/**
 * What a take's pictures are, before anyone has looked into them: made by `ingest` once, so that every later room sees
 * only seconds and upright pixels.
 */
export interface Footage {
  /** The file's (or folder's) name as the animator knows it. */
  readonly name: string;
  /** Size of the upright picture, rotation and pixel aspect already applied. */
  readonly widthPx: number;
  readonly heightPx: number;
  /** When each picture appears, seconds, strictly rising, first = 0. Shape [picture]. From the file, never index / rate. */
  readonly timesSec: Float64Array;
  /** When the last picture leaves the screen: its time plus its own duration, else plus the median interval. */
  readonly endSec: number;
  /** The file's own time stamp of picture 0, to be added when a player is asked for a time. */
  readonly firstStampSec: number;
  /** 1 / median interval. NaN with fewer than 2 pictures. */
  readonly medianFps: number;
  /** True when intervals differ by more than the container's own rounding explains. */
  readonly variableFrameRate: boolean;
  /** Codec as the file names it ("avc", "vp9"), or "stills". */
  readonly codec: string;
  /** How many degrees clockwise the stored pictures had to be turned to stand upright: 0, 90, 180 or 270. */
  readonly turnedDeg: number;
  /** What is odd about the pictures, for showing beside the result. Empty when nothing is. */
  readonly notes: readonly FootageNote[];
}

/** One oddity of the footage, with the pictures it concerns (inclusive, from 0). */
export interface FootageNote {
  readonly code:
    | 'gap'
    | 'repeated-pictures'
    | 'damaged'
    | 'ends-early'
    | 'two-edits'
    | 'missing-picture'
    | 'interlaced'
    | 'stills-numbering'
    | 'stills-gap'
    | 'variable-rate';
  readonly firstPicture: number;
  readonly lastPicture: number;
  /** One sentence for the animator, with the next step where there is one. */
  readonly sentence: string;
}
