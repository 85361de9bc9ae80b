/** What the plain way of reading (see `tests/bench`) is asked to do. */
export interface PlainJob {
  /** "movenet-lightning" or "movenet-thunder". */
  readonly model: string;
  /** "wasm", "webgl" or "webgpu". */
  readonly backend: string;
  /** The pictures' own time stamps in the file, seconds. */
  readonly stampsSec: readonly number[];
}

/** What it took. */
export interface PlainResult {
  readonly pictures: number;
  /** Wall time of seeking and estimating all pictures; the model was loaded and warm before. */
  readonly seconds: number;
  /** Pictures in which somebody was seen. */
  readonly seen: number;
}
