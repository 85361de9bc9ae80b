import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { FrameScale, StageView } from '../../src/draw/scales.ts';

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });

describe('FrameScale', () => {
  it('goes to x and back, also outside the shown span', () => {
    fc.assert(
      fc.property(
        number(-500, 500),
        number(-200, 200),
        number(0.1, 60),
        number(-1e4, 1e4),
        (first, left, width, frame) => {
          const scale = new FrameScale(first, left, width);
          expect(scale.frame(scale.x(frame))).toBeCloseTo(frame, 6);
          expect(scale.x(scale.frame(frame))).toBeCloseTo(frame, 6);
        },
      ),
    );
  });

  it('fits a shot into a span and finds the frame under a pointer', () => {
    const scale = FrameScale.fit(0, 96, 10, 970);
    expect([scale.x(0), scale.x(96), scale.middle(0)]).toEqual([10, 970, 15]);
    expect([-50, 10, 19.9, 20, 969, 5000].map((x) => scale.frameUnder(x, 96))).toEqual([0, 0, 0, 1, 95, 95]);
  });
});

describe('StageView', () => {
  it('goes to the screen and back', () => {
    fc.assert(
      fc.property(number(0.05, 20), number(-900, 900), number(-900, 900), number(-3000, 3000), (scale, dx, dy, x) => {
        const view = new StageView(scale, dx, dy);
        const [backX, backY] = view.toVideo(...view.toScreen(x, -x));
        expect(backX).toBeCloseTo(x, 6);
        expect(backY).toBeCloseTo(-x, 6);
      }),
    );
  });

  it('shows the whole picture, centred', () => {
    const view = StageView.fit(960, 540, 480, 480);
    expect(view.toScreen(0, 0)).toEqual([0, 105]);
    expect(view.toScreen(960, 540)).toEqual([480, 375]);
    expect(StageView.fit(960, 540, 0, 0).scale).toBe(1);
  });

  it('keeps the point that is zoomed about', () => {
    const view = StageView.fit(960, 540, 800, 600);
    const before = view.toVideo(300, 200);
    const after = view.zoomed(3, 300, 200).toVideo(300, 200);
    expect(after[0]).toBeCloseTo(before[0], 9);
    expect(after[1]).toBeCloseTo(before[1], 9);
  });
});
