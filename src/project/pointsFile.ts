import { isProp, type PropId } from '../base/joints.ts';
import type { WhyLost } from '../base/whyLost.ts';
import type { FollowedLeg, FollowedProps } from '../track/followedProp.ts';

/** The words part of followed points, as JSON; their columns stand in `pointsNumbers` in the same order. */
export function pointsHead(followed: FollowedProps): string {
  const legs = [...followed].flatMap(([id, legs]) =>
    legs.map(({ mark, direction, timesSec, lost }) => ({ id, mark, direction, pictures: timesSec.length, lost })),
  );
  return JSON.stringify({ format: 'nudgebook-points', version: 1, legs }, null, 1);
}

/** The number columns: little-endian 64-bit floats, leg after leg, of each its times, x, y and standard deviations. */
export function pointsNumbers(followed: FollowedProps): Uint8Array {
  const columns = [...followed.values()].flat().flatMap((leg) => [leg.timesSec, leg.xPx, leg.yPx, leg.sdPx]);
  const bytes = new Uint8Array(8 * columns.reduce((sum, column) => sum + column.length, 0));
  const view = new DataView(bytes.buffer);
  let at = 0;
  for (const column of columns)
    for (const value of column) {
      view.setFloat64(at, value, true);
      at += 8;
    }
  return bytes;
}

const reasons: readonly string[] = ['left-picture', 'no-texture', 'covered', 'changed'] satisfies WhyLost[];

/** The followed points back; null when the parts do not fit each other: they can be followed again. */
export function pointsFrom(head: string, bytes: Uint8Array): FollowedProps | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let at = 0;
  const column = (length: number) =>
    Float64Array.from({ length }, () => {
      at += 8;
      return view.getFloat64(at - 8, true);
    });
  const followed = new Map<PropId, FollowedLeg[]>();
  try {
    const stored = JSON.parse(head) as { version?: unknown; legs?: unknown };
    if (stored.version !== 1 || !Array.isArray(stored.legs)) return null;
    for (const leg of stored.legs) {
      const { id, mark, direction, pictures, lost } = leg;
      const isWhole =
        typeof id === 'string' &&
        isProp(id as PropId) &&
        isPlace(mark) &&
        (direction === 1 || direction === -1) &&
        Number.isInteger(pictures) &&
        pictures >= 0 &&
        (lost === null || (isPlace(lost) && reasons.includes((lost as { why?: string }).why ?? '')));
      if (!isWhole || at + 32 * pictures > bytes.byteLength) return null;
      const [timesSec, xPx, yPx, sdPx] = [column(pictures), column(pictures), column(pictures), column(pictures)];
      const known = followed.get(id as PropId) ?? [];
      followed.set(id as PropId, [...known, { mark, direction, timesSec, xPx, yPx, sdPx, lost }]);
    }
  } catch {
    return null;
  }
  return at === bytes.byteLength ? followed : null;
}

function isPlace(value: unknown): boolean {
  if (typeof value !== 'object' || value === null) return false;
  const { takeSec, xPx, yPx } = value as Record<string, unknown>;
  return [takeSec, xPx, yPx].every((n) => typeof n === 'number' && Number.isFinite(n));
}
