import fc from 'fast-check';
import { expect, it } from 'vitest';
import { PathPen } from '../../src/draw/pathPen.ts';
import { boxOf } from '../../src/draw/scene.ts';

const place = fc.double({ min: -200, max: 200, noNaN: true });

it('a box lies close around a line with round ends, whichever way it goes', () => {
  fc.assert(
    fc.property(place, place, place, place, fc.double({ min: 0.5, max: 40, noNaN: true }), (x1, y1, x2, y2, r) => {
      fc.pre(Math.hypot(x2 - x1, y2 - y1) > 0.1);
      const box = boxOf(new PathPen().capsule(x1, y1, x2, y2, r).toString());
      expect(box.left).toBeCloseTo(Math.min(x1, x2) - r, 1);
      expect(box.right).toBeCloseTo(Math.max(x1, x2) + r, 1);
      expect(box.top).toBeCloseTo(Math.min(y1, y2) - r, 1);
      expect(box.bottom).toBeCloseTo(Math.max(y1, y2) + r, 1);
    }),
  );
});

it('a box lies close around a circle pulled out sideways', () => {
  expect(boxOf(new PathPen().pill(10, 20, 6, 4).toString())).toEqual({ left: 3, right: 17, top: 16, bottom: 24 });
});
