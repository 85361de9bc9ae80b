/** The edges of a box; y down. */
export interface ClipBox {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** The piece of a line that lies in the box, as x1, y1, x2, y2; null where none does (Liang & Barsky 1984). */
export function clipToBox(
  x1: number,
  y1: number,
  x2: number,
  y2: number,
  box: ClipBox,
): readonly [number, number, number, number] | null {
  const [dx, dy] = [x2 - x1, y2 - y1];
  let [from, to] = [0, 1];
  for (const [slope, room] of [
    [-dx, x1 - box.left],
    [dx, box.right - x1],
    [-dy, y1 - box.top],
    [dy, box.bottom - y1],
  ] as const) {
    if (slope === 0) {
      if (room < 0) return null;
      continue;
    }
    const at = room / slope;
    if (slope < 0) from = Math.max(from, at);
    else to = Math.min(to, at);
  }
  return from > to ? null : [x1 + from * dx, y1 + from * dy, x1 + to * dx, y1 + to * dy];
}
