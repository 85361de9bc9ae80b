import { describe, expect, it } from 'vitest';
import { measureBundled } from '../../src/draw/measure.ts';
import { boxOf } from '../../src/draw/scene.ts';
import { draftSpacingPages } from '../../src/draw/spacingPages.ts';
import { setSpacings } from '../../src/plan/setSpacing.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { puppetOfHeight } from '../../src/puppet/profile.ts';
import { madePlan } from '../plan/madeTiming.ts';

const style = { paper: 'A4', measure: measureBundled } as const;

describe('spacing on paper', () => {
  it.each([250, 900, 4000])('is at true size or at the scale that is written, for a puppet of %i mm', (heightMm) => {
    const plan = madePlan({ book: { puppet: puppetOfHeight(newPuppet, heightMm) } });
    const marks = draftSpacingPages(plan, style).flatMap((page) => page.marks);
    const spacings = setSpacings(plan);
    for (const [i, { chart, steps }] of spacings.entries()) {
      const ruler = marks.find((m) => m.id === `chart-${i}-ruler`)!;
      const size = marks.find((m) => m.id === `chart-${i}-size`)!;
      if (ruler.kind !== 'path' || size.kind !== 'text') throw new Error('no ruler');
      const scale =
        size.text === 'true size' ? 1 : Number(/^scaled: 1 mm here is (\d+) mm on the set$/.exec(size.text)![1]);
      const { left, right } = boxOf(ruler.d);
      expect((right - left) * scale).toBeCloseTo(chart.lengthMm, 1);
      // No more scaled than the page asks for.
      if (chart.lengthMm < 180) expect(scale).toBe(1);
      const printed = steps.map((s) => marks.find((m) => m.id === `chart-${i}-step-${s.frame}`));
      expect(printed.map((m) => m?.kind === 'text' && Number(m.text.replace('?', '')))).toEqual(
        steps.map((s) => s.amount),
      );
    }
    expect(marks.filter((m) => m.role === 'scale' && m.kind === 'text' && m.text !== 'true size').length > 0).toBe(
      heightMm > 500,
    );
  });

  it('has a bar to measure on every page', () => {
    for (const { marks } of draftSpacingPages(madePlan(), style)) {
      const bar = marks.find((m) => m.role === 'check bar')!;
      const { left, right } = boxOf(bar.kind === 'path' ? bar.d : '');
      expect(right - left).toBeCloseTo(100, 6);
    }
  });

  it('keeps to the page where a move has more steps than a page holds', () => {
    const plan = madePlan({ frameCount: 3000, on: 1 });
    for (const { marks } of draftSpacingPages(plan, { ...style, orientation: 'landscape' }))
      for (const mark of marks) if (mark.kind === 'text') expect(mark.y).toBeLessThan(204);
  });
});
