/** Thrown when our own code broke a promise it made; never for bad input from outside (see `failure.ts`). */
export class BrokenPromise extends Error {}

/**
 * States something that must hold whatever the user does.
 * @throws BrokenPromise with `message`; put the offending value into it.
 */
export function assert(condition: unknown, message: string): asserts condition {
  if (!condition) throw new BrokenPromise(message);
}

/**
 * The value, which must be there.
 * @throws BrokenPromise when `value` is null or undefined.
 */
export function present<T>(value: T | null | undefined, what: string): T {
  assert(value !== null && value !== undefined, `${what} is missing`);
  return value;
}

/** Makes a `switch` over a union exhaustive: a case left out is a compile error. */
export function never(value: never): never {
  throw new BrokenPromise(`unexpected case ${JSON.stringify(value)}`);
}
