/** Paper that people have in their printer. */
export type PaperName = 'A4' | 'Letter';

/** Which way round the paper lies. */
export type Orientation = 'portrait' | 'landscape';

/** What can be printed of a shot, in the order in which it is. */
export const pageKinds = ['card', 'popThrough', 'sheet', 'moves', 'arcs', 'spacing'] as const;

/** One of `pageKinds`. */
export type PageKind = (typeof pageKinds)[number];

/** What the animator calls them. */
export const pageKindWords: Readonly<Record<PageKind, string>> = {
  card: 'shot card',
  popThrough: 'pop-through',
  sheet: 'exposure sheet',
  moves: 'moves and angles',
  arcs: 'arc templates',
  spacing: 'spacing charts',
};
