import { describe, expect, it } from 'vitest';
import { type ColourName, type Theme, themeCss, themes } from '../../src/draw/tokens.ts';

type Rgb = readonly [number, number, number];

/** sRGB to linear light, IEC 61966-2-1. */
function linear(hex: string): Rgb {
  const value = (from: number) => {
    const c = Number.parseInt(hex.slice(from, from + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  };
  return [value(1), value(3), value(5)];
}

/** Relative luminance, WCAG 2.2. */
function luminance([r, g, b]: Rgb): number {
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

/** Contrast ratio, WCAG 2.2. */
function contrast(a: string, b: string): number {
  const [low, high] = [luminance(linear(a)), luminance(linear(b))].sort((x, y) => x - y) as [number, number];
  return (high + 0.05) / (low + 0.05);
}

/** What dichromats see: matrices of full severity from Machado, Oliveira & Fernandes 2009, table 1 (from memory). */
const dichromats = {
  protan: [0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998],
  deutan: [0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.01182, 0.04294, 0.968881],
  tritan: [1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367, 0.3039],
} as const;

function seenBy(kind: keyof typeof dichromats, [r, g, b]: Rgb): Rgb {
  const m = dichromats[kind];
  const row = (i: number) => Math.min(1, Math.max(0, m[i]! * r + m[i + 1]! * g + m[i + 2]! * b));
  return [row(0), row(3), row(6)];
}

/** CIE 1976 L*a*b* difference under D65. */
function difference(one: Rgb, other: Rgb): number {
  const lab = ([r, g, b]: Rgb) => {
    const f = (t: number) => (t > 216 / 24389 ? Math.cbrt(t) : (24389 / 27) * (t / 116) + 16 / 116);
    const x = f((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505);
    const y = f(0.2126 * r + 0.7152 * g + 0.0722 * b);
    const z = f((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089);
    return [116 * y - 16, 500 * (x - y), 200 * (y - z)] as const;
  };
  const [a, b] = [lab(one), lab(other)];
  return Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
}

const all = Object.entries(themes) as [string, Theme][];

describe('the palettes', () => {
  it.each(all)('have legible text on their grounds (%s)', (_, theme) => {
    for (const ground of ['sheet', 'desk'] as const) {
      expect(contrast(theme.ink, theme[ground])).toBeGreaterThan(12);
      expect(contrast(theme.quiet, theme[ground])).toBeGreaterThan(5.5);
      expect(contrast(theme.faint, theme[ground])).toBeGreaterThan(2.9);
      for (const name of ['mark', 'left', 'right', 'doubt'] as ColourName[])
        expect(contrast(theme[name], theme[ground]), name).toBeGreaterThan(4.5);
    }
  });

  it('tell left from right without colour sight', () => {
    const pairs: [string, string][] = [
      [themes.light.left, themes.light.right],
      [themes.dark.left, themes.dark.right],
      [themes.dark.overLeft, themes.dark.overRight],
      [themes.dark.overMiddle, themes.dark.overRight],
    ];
    for (const [one, other] of pairs)
      for (const kind of ['protan', 'deutan', 'tritan'] as const)
        expect(
          difference(seenBy(kind, linear(one)), seenBy(kind, linear(other))),
          `${one} ${other} ${kind}`,
        ).toBeGreaterThan(17);
  });

  it('are grey on paper, since paper is printed grey', () => {
    const { overLeft, overRight, overMiddle, overMark, casing, ...paper } = themes.paper;
    for (const colour of Object.values(paper)) expect(colour).toMatch(/^#(..)\1\1$/);
  });

  it('become custom properties', () => {
    expect(themeCss(themes.light)).toContain('--c-mark-soft: #cfe4dc;');
  });
});
