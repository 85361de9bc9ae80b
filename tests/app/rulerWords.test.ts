import { describe, expect, it } from 'vitest';
import { rulerWords } from '../../src/app/check/rulerWords.ts';

describe('what a ruler is said to give', () => {
  const ruler = { mmPerPx: 0.309, sdShare: 0.004 };

  it('is its scale and how sure that is, and whether the joints say the same', () => {
    expect(rulerWords(ruler, null, 'mm')).toBe('It gives 0.309 mm to a pixel, ± 0.4 %.');
    expect(rulerWords(ruler, null, 'in')).toBe('It gives 0.0122 in to a pixel, ± 0.4 %.');
    expect(rulerWords(ruler, { mmPerPx: 0.308, sdShare: 0.002 }, 'mm')).toContain('The joints say the same.');
  });

  it('is by how much it differs, with what that may come from', () => {
    const more = rulerWords(ruler, { mmPerPx: 0.3, sdShare: 0.002 }, 'mm');
    expect(more).toContain('That is 3.0 % more than by the joints: the puppet is larger');
    expect(more).not.toContain('Is its length right?');
    const less = rulerWords(ruler, { mmPerPx: 0.618, sdShare: 0.002 }, 'mm');
    expect(less).toContain('That is 50.0 % less than by the joints: the puppet is smaller');
    expect(less).toContain('nearer to the camera than the puppet. Is its length right?');
  });
});
