/**
 * What the world can do to us. The code is for programs (and never changes its meaning); the sentence for a person says
 * what happened and what to do next.
 */
export interface Failure {
  readonly code: FailureCode;
  readonly sentence: string;
}

/** Every way in which input or surroundings can fail us. */
export type FailureCode =
  | 'file-empty'
  | 'file-unreadable'
  | 'not-a-video'
  | 'no-video-track'
  | 'unfinished-recording'
  | 'codec-unsupported'
  | 'sound-unreadable'
  | 'nothing-decoded'
  | 'times-unreliable'
  | 'take-too-short'
  | 'nobody-seen'
  | 'model-unavailable'
  | 'stills-mixed'
  | 'takes-do-not-join'
  | 'book-unreadable'
  | 'book-newer'
  | 'puppet-unreadable'
  | 'puppet-newer'
  | 'storage-full'
  | 'cancelled'
  | 'unexpected';

/** Either the thing asked for, or why not. */
export type Outcome<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly failure: Failure };

/** Wraps a good result. */
export function good<T>(value: T): Outcome<T> {
  return { ok: true, value };
}

/** Wraps a failure. `sentence` must say what to do next. */
export function failed(code: FailureCode, sentence: string): { readonly ok: false; readonly failure: Failure } {
  return { ok: false, failure: { code, sentence } };
}
