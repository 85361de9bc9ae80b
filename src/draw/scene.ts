import type { ColourName } from './tokens.ts';

/** What a scene is measured in: millimetres of paper or CSS pixels of a screen. */
export type SceneUnit = 'mm' | 'px';

/** What every mark carries. */
interface MarkBase {
  /** Unique within its scene; says what was drawn ("row-12-pose"), for hit-testing and for reading out. */
  readonly id: string;
  /** What kind of thing the mark shows ("key", "arc", "rule"); "" for mere lines. */
  readonly role: string;
  /** One phrase for a person who cannot see it; "" where the marks beside it say it already. */
  readonly label: string;
}

/** A line or an area. */
export interface PathMark extends MarkBase {
  readonly kind: 'path';
  /** SVG path data in scene units; canvas takes the same string. */
  readonly d: string;
  readonly fill: ColourName | null;
  readonly stroke: ColourName | null;
  /** Scene units. */
  readonly strokeWidth: number;
  /** Lengths of line and gap in scene units; empty = unbroken. */
  readonly dash: readonly number[];
  /** 0..1 */
  readonly opacity: number;
}

/** The two families that are bundled: one for words, one with digits of equal width for numbers. */
export type FontName = 'text' | 'mono';

/** How a text looks. */
export interface TextStyle {
  /** Height of the em square, scene units. */
  readonly size: number;
  readonly font: FontName;
  readonly weight: 400 | 700;
}

/** One line of text. */
export interface TextMark extends MarkBase, TextStyle {
  readonly kind: 'text';
  /** Where the baseline begins, is centred or ends, as `anchor` says. */
  readonly x: number;
  readonly y: number;
  readonly anchor: 'start' | 'middle' | 'end';
  readonly text: string;
  readonly colour: ColourName;
}

/** A part of a picture of the shot as animated, its upright pixels. It may reach beyond the picture, where nothing is shown. */
export interface PictureCrop {
  /** From 0, in the order of the shot's pictures. */
  readonly picture: number;
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

/** A place for a picture of the take. The painter asks for the picture by `takeSec` and fits it inside, whole. */
export interface PictureMark extends MarkBase {
  readonly kind: 'picture';
  /** Left out = a picture of the take. Else this part of the shot as animated is meant, in the slot's shape, and `takeSec` is NaN. */
  readonly crop?: PictureCrop;
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  readonly takeSec: number;
}

/** Anything that can be drawn. */
export type Mark = PathMark | TextMark | PictureMark;

/** A finished layout: marks in the order in which they are painted. */
export interface Scene {
  readonly unit: SceneUnit;
  readonly width: number;
  readonly height: number;
  /** What it is, for a person who cannot see it; one sentence of summary beside it. */
  readonly title: string;
  readonly summary: string;
  /** Colour of the ground, or null for none (an overlay). */
  readonly ground: ColourName | null;
  readonly marks: readonly Mark[];
}

/** Width of a text in scene units. Injected, since layout must not ask the screen. */
export type Measure = (text: string, style: TextStyle) => number;

/** Optional parts of a path mark. */
export type PathLook = Partial<Omit<PathMark, 'kind' | 'id' | 'd'>>;

/** A path mark; what is left out is: no fill, no stroke, width 1, unbroken, opaque, no role, no label. */
export function pathMark(id: string, d: string, look: PathLook): PathMark {
  return {
    kind: 'path',
    id,
    d,
    role: '',
    label: '',
    fill: null,
    stroke: null,
    strokeWidth: 1,
    dash: [],
    opacity: 1,
    ...look,
  };
}

/** Optional parts of a text mark. */
export type TextLook = TextStyle & Partial<Pick<TextMark, 'anchor' | 'colour' | 'role' | 'label'>>;

/** A text mark; what is left out is: from the left, in ink, no role, no label. */
export function textMark(id: string, x: number, y: number, text: string, look: TextLook): TextMark {
  return { kind: 'text', id, x, y, text, role: '', label: '', anchor: 'start', colour: 'ink', ...look };
}

/** The topmost mark with a label whose box (for text and pictures) or nearest vertex (for paths) lies within reach of a point. */
export function markAt(scene: Scene, x: number, y: number, reach: number): Mark | null {
  for (let i = scene.marks.length - 1; i >= 0; i--) {
    const mark = scene.marks[i]!;
    if (mark.label !== '' && isHit(mark, x, y, reach)) return mark;
  }
  return null;
}

function isHit(mark: Mark, x: number, y: number, reach: number): boolean {
  switch (mark.kind) {
    case 'picture':
      return x >= mark.x && x <= mark.x + mark.width && y >= mark.y && y <= mark.y + mark.height;
    case 'text': {
      // Good enough for a pointer: an average letter is 0.55 em wide.
      const width = mark.text.length * mark.size * 0.55;
      const left = mark.anchor === 'start' ? mark.x : mark.anchor === 'end' ? mark.x - width : mark.x - width / 2;
      return x >= left - reach && x <= left + width + reach && y <= mark.y + reach && y >= mark.y - mark.size - reach;
    }
    case 'path': {
      const box = boxOf(mark.d);
      return x >= box.left - reach && x <= box.right + reach && y >= box.top - reach && y <= box.bottom + reach;
    }
  }
}

/** Box around path data made by `PathPen` (whose curves stay inside the box of their control points). */
export function boxOf(d: string): { left: number; top: number; right: number; bottom: number } {
  const box = { left: Infinity, top: Infinity, right: -Infinity, bottom: -Infinity };
  let [penX, penY] = [Number.NaN, Number.NaN];
  for (const [, letter, numbers] of d.matchAll(/([MLQCAZ])([^MLQCAZ]*)/g)) {
    const values = (numbers ?? '').split(/[ ,]+/).filter(Boolean).map(Number);
    const points = letter === 'A' ? values.slice(5) : values;
    for (let i = 0; i + 1 < points.length; i += 2) {
      box.left = Math.min(box.left, points[i]!);
      box.right = Math.max(box.right, points[i]!);
      box.top = Math.min(box.top, points[i + 1]!);
      box.bottom = Math.max(box.bottom, points[i + 1]!);
    }
    // An arc drawn by `PathPen` is half a circle around the middle of its ends; the other half lies within the shape.
    if (letter === 'A') {
      const [x, y, r] = [(penX + points[0]!) / 2, (penY + points[1]!) / 2, values[0]!];
      box.left = Math.min(box.left, x - r);
      box.right = Math.max(box.right, x + r);
      box.top = Math.min(box.top, y - r);
      box.bottom = Math.max(box.bottom, y + r);
    }
    if (points.length > 1) [penX, penY] = points.slice(-2) as [number, number];
  }
  return box;
}
