import { anchorsOf, shotSpans } from './retime.ts';
import type { Timing } from './timing.ts';

/** The frames on which a key can stand, both inclusive. */
export interface KeyRoom {
  readonly firstFrame: number;
  readonly lastFrame: number;
}

/**
 * How far each key can be moved while the spans beside it give and take, if other keys make way: up to the next end of a hold or of
 * the shot. By the key's id; a key that is not there cannot be moved by itself.
 */
export function keyRooms(timing: Timing): ReadonlyMap<string, KeyRoom> {
  const anchors = anchorsOf(timing);
  const spans = shotSpans(timing);
  const isKey = anchors.map(({ id }) => id.startsWith('key '));
  const rooms = new Map<string, KeyRoom>();
  for (const [i, { id }] of anchors.entries()) {
    if (!isKey[i]) continue;
    const before = isKey.lastIndexOf(false, i);
    const after = isKey.indexOf(false, i);
    // As where a span is given its length: a hold stays one.
    const next = spans[i]!;
    const left = next.kind === 'hold' ? Math.min(2, next.frames) : 1;
    rooms.set(id.slice('key '.length), {
      firstFrame: anchors[before]!.frame + (i - before),
      lastFrame: anchors[after]!.frame - (after - i - 1) - left,
    });
  }
  return rooms;
}
