import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clipText, wrapText } from '../../src/draw/fitText.ts';
import { measureBundled } from '../../src/draw/measure.ts';
import type { TextStyle } from '../../src/draw/scene.ts';

const face: TextStyle = { size: 3, font: 'text', weight: 400 };
const anyText = fc.string({ unit: 'grapheme', maxLength: 120 });

describe('clipText and wrapText', () => {
  it('never give a line wider than asked for', () => {
    fc.assert(
      fc.property(
        anyText,
        fc.double({ min: 0.5, max: 60, noNaN: true }),
        fc.integer({ min: 1, max: 5 }),
        (text, width, lines) => {
          const wrapped = wrapText(text, width, lines, face, measureBundled);
          expect(wrapped.length).toBeLessThanOrEqual(lines);
          for (const line of [...wrapped, clipText(text, width, face, measureBundled)])
            expect(measureBundled(line, face)).toBeLessThanOrEqual(width + 1e-9);
        },
      ),
    );
  });

  it('keep every word where there is room, and say where there was not', () => {
    const words = 'a gull cries over the lamp room';
    expect(wrapText(words, 20, 9, face, measureBundled).join(' ')).toBe(words);
    expect(wrapText(words, 20, 2, face, measureBundled).at(-1)).toMatch(/…$/);
    expect(clipText(words, 200, face, measureBundled)).toBe(words);
    expect(clipText(words, 0.1, face, measureBundled)).toBe('');
  });

  it('break a word only where it alone is too wide', () => {
    const lines = wrapText('up lighthousekeeper', 12, 9, face, measureBundled);
    expect(lines).toEqual(['up', 'lighthou', 'sekeepe', 'r']);
  });
});

describe('measureBundled', () => {
  it('gives every digit of the Mono one width, and wide scripts a full em', () => {
    const mono: TextStyle = { size: 10, font: 'mono', weight: 700 };
    expect(measureBundled('1', mono)).toBe(measureBundled('8', mono));
    expect(measureBundled('灯台', face)).toBe(6);
  });
});
