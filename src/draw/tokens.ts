/**
 * Names of the colours that a mark may have. `left`, `right` and `middle` are the performer's sides and always doubled by
 * another sign (square, round and diamond joints; unbroken, dashed and thick lines).
 */
export type ColourName =
  | 'desk'
  | 'sheet'
  | 'ink'
  | 'quiet'
  | 'faint'
  | 'line'
  | 'heavy'
  | 'mark'
  | 'markSoft'
  | 'left'
  | 'right'
  | 'middle'
  | 'tint'
  | 'doubt'
  | 'casing'
  | 'overLeft'
  | 'overRight'
  | 'overMiddle'
  | 'overMark';

/** Where a scene is shown; `set` is for beside lit puppets, and as dark as a screen can be. */
export type ThemeName = 'light' | 'dark' | 'set' | 'paper';

/** What the names mean in one surrounding: `#rrggbb` each. */
export type Theme = Readonly<Record<ColourName, string>>;

/**
 * Lines over a picture of the take do not follow the theme, since the picture does not: bright lines in a dark casing
 * are seen on any ground. Straw and lilac part along the blue–yellow axis, which the common forms of colour blindness
 * keep, and straw is the lighter one in grey.
 */
const overPicture = {
  casing: '#14120f',
  overLeft: '#f2c14e',
  overRight: '#a893f5',
  overMiddle: '#f4f1e8',
  overMark: '#7fe0c3',
} as const;

/** The palettes: stone and ink with one green accent; sides in umber and indigo; paper is black on white. */
export const themes: Readonly<Record<ThemeName, Theme>> = {
  light: {
    desk: '#eceae3',
    sheet: '#fbfaf6',
    ink: '#1c1e1b',
    quiet: '#565a53',
    faint: '#85897f',
    line: '#d2cfc4',
    heavy: '#6d7068',
    mark: '#0c6b58',
    markSoft: '#cfe4dc',
    left: '#945200',
    right: '#4f45a8',
    middle: '#3c413b',
    tint: '#ebe7db',
    doubt: '#8a3b12',
    ...overPicture,
  },
  dark: {
    desk: '#121411',
    sheet: '#1a1d19',
    ink: '#e4e1d6',
    quiet: '#a7aa9f',
    faint: '#7b7f75',
    line: '#353a33',
    heavy: '#71766b',
    mark: '#5cc4a8',
    markSoft: '#1f3d35',
    left: '#e2a54c',
    right: '#ab9df2',
    middle: '#c6cabf',
    tint: '#2a2f28',
    doubt: '#e39a6b',
    ...overPicture,
  },
  set: {
    desk: '#000000',
    sheet: '#030403',
    ink: '#d6d2c4',
    quiet: '#969a8d',
    faint: '#6b6f65',
    line: '#262a25',
    heavy: '#5b6057',
    mark: '#4fae95',
    markSoft: '#12241f',
    left: '#d29a48',
    right: '#a094e2',
    middle: '#b9bdb2',
    tint: '#121510',
    doubt: '#d98f60',
    ...overPicture,
  },
  paper: {
    desk: '#ffffff',
    sheet: '#ffffff',
    ink: '#000000',
    quiet: '#3d3d3d',
    faint: '#767676',
    line: '#b4b4b4',
    heavy: '#000000',
    mark: '#000000',
    markSoft: '#e4e4e4',
    left: '#000000',
    right: '#5c5c5c',
    middle: '#2e2e2e',
    tint: '#ececec',
    doubt: '#000000',
    ...overPicture,
  },
};

/** Families by font name, with fall-backs that have digits of equal width. */
export const families = {
  text: "'Atkinson Hyperlegible Next', system-ui, sans-serif",
  mono: "'Atkinson Hyperlegible Mono', ui-monospace, monospace",
} as const;

/** The theme as CSS custom properties, one per colour: "--c-ink: #1c1e1b; …". */
export function themeCss(theme: Theme): string {
  return Object.entries(theme)
    .map(([name, value]) => `--c-${name.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`)}: ${value};`)
    .join(' ');
}
