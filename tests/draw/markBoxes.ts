import { measureBundled } from '../../src/draw/measure.ts';
import { boxOf, type Mark, type Scene, type TextMark } from '../../src/draw/scene.ts';

/** The texts of a scene. */
export function texts(scene: Scene): TextMark[] {
  return scene.marks.filter((m): m is TextMark => m.kind === 'text');
}

/** What of the width a mark takes up. */
export function sideways(mark: Mark): { left: number; right: number } {
  const { left, right } = around(mark);
  return { left, right };
}

/** The box that a mark takes up; letters as the bundled fonts have them. */
export function around(mark: Mark): { left: number; right: number; top: number; bottom: number } {
  if (mark.kind === 'path') return boxOf(mark.d);
  if (mark.kind === 'picture')
    return { left: mark.x, right: mark.x + mark.width, top: mark.y, bottom: mark.y + mark.height };
  const width = measureBundled(mark.text, mark);
  // Digits stand on the line; letters reach below it.
  const under = /^[?\d]+$/.test(mark.text) ? 0 : 0.22;
  const left = mark.anchor === 'start' ? mark.x : mark.anchor === 'end' ? mark.x - width : mark.x - width / 2;
  return { left, right: left + width, top: mark.y - mark.size * 0.72, bottom: mark.y + mark.size * under };
}

/** The box that some marks take up together. */
export function boxAround(marks: readonly Mark[]): ReturnType<typeof around> {
  const boxes = marks.map(around);
  return {
    left: Math.min(...boxes.map((b) => b.left)),
    right: Math.max(...boxes.map((b) => b.right)),
    top: Math.min(...boxes.map((b) => b.top)),
    bottom: Math.max(...boxes.map((b) => b.bottom)),
  };
}

/** Pairs of texts of which one lies over the other, by their ids. */
export function collisions(scene: Scene): string[] {
  const boxes = texts(scene).map((t) => ({ id: t.id, ...around(t) }));
  // Collected, as a page has some 100 000 pairs.
  const found: string[] = [];
  for (const [i, a] of boxes.entries())
    for (const b of boxes.slice(i + 1)) {
      const across = Math.min(a.right, b.right) - Math.max(a.left, b.left);
      const down = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
      if (!(Math.min(across, down) < 0.3)) found.push(`${a.id} and ${b.id}`);
    }
  return found;
}
