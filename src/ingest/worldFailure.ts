import type { Failure, FailureCode } from '../base/failure.ts';

/** Carries a failure of the world out of nested reading (a generator cannot return one). Caught where a worker answers. */
export class WorldFailure extends Error {
  readonly failure: Failure;

  constructor(code: FailureCode, sentence: string) {
    super(sentence);
    this.failure = { code, sentence };
  }
}

/** The failure that this error stands for; anything we did not foresee becomes "unexpected". */
export function failureOf(error: unknown): Failure {
  if (error instanceof WorldFailure) return error.failure;
  const name = error instanceof Error || error instanceof DOMException ? error.name : '';
  if (name === 'AbortError')
    return { code: 'cancelled', sentence: 'Reading was stopped. Start it again when you like.' };
  if (name === 'NotReadableError' || name === 'NotFoundError')
    return {
      code: 'file-unreadable',
      sentence:
        'The file can no longer be read: it was moved, changed or its drive was taken out. Put it back and choose it again.',
    };
  const what = error instanceof Error ? error.message : String(error);
  return {
    code: 'unexpected',
    sentence: `Something went wrong inside Nudgebook (${what}). Reload the page and try again; if it happens again, convert the take to MP4 (H.264) and use that.`,
  };
}
