import type { Command } from '../shortcuts.ts';

/**
 * A worn pedal closes its contact twice, and a remote out of range sends again: the same within this time is one press, milliseconds.
 * Contacts settle within some tens of them, a foot does not press twice in less than a quarter of a second (common practice, no source).
 */
export const bounceMs = 200;

/** What pedals and remotes send, and where one press too many marks an exposure that was not shot, or takes a mark away that was. */
const counts: readonly Command[] = ['takeExposure', 'exposureBack', 'notShot'];

/** Tells presses at the set from what bounces. */
export class Bounces {
  readonly #atMs = new Map<Command, number>();

  /**
   * Is this press the one before once more? Whatever key it comes by: some pedals send two for one press.
   * @param atMs when, milliseconds: an event's own time stamp.
   */
  isBounce(command: Command, atMs: number): boolean {
    if (!counts.includes(command)) return false;
    const before = this.#atMs.get(command) ?? Number.NEGATIVE_INFINITY;
    if (Math.abs(atMs - before) < bounceMs) return true;
    this.#atMs.set(command, atMs);
    return false;
  }
}
