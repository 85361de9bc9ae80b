import { assert } from '../base/assert.ts';

/** Frames of a shot laid out along x. Frame k takes the span from `x(k)` to `x(k + 1)`. The only converter between both. */
export class FrameScale {
  /** Frame (may be fractional) at the left end, x there, and how wide one frame is. */
  constructor(
    readonly firstFrame: number,
    readonly leftX: number,
    readonly frameWidth: number,
  ) {
    assert(frameWidth > 0, `frame width ${frameWidth}`);
  }

  /** The scale that shows `frameCount` frames from `firstFrame` on in the span [leftX, rightX]. */
  static fit(firstFrame: number, frameCount: number, leftX: number, rightX: number): FrameScale {
    return new FrameScale(firstFrame, leftX, (rightX - leftX) / Math.max(1, frameCount));
  }

  /** Where a frame begins; fractions lie inside it. */
  x(frame: number): number {
    return this.leftX + (frame - this.firstFrame) * this.frameWidth;
  }

  /** Where a frame's middle is. */
  middle(frame: number): number {
    return this.x(frame + 0.5);
  }

  /** The frame (fractional, from 0) at an x; also outside the shown span. */
  frame(x: number): number {
    return this.firstFrame + (x - this.leftX) / this.frameWidth;
  }

  /** The whole frame under an x, kept within 0 .. frameCount − 1. */
  frameUnder(x: number, frameCount: number): number {
    return Math.min(frameCount - 1, Math.max(0, Math.floor(this.frame(x) + 1e-9)));
  }
}

/** A picture of the take shown on the screen, moved and enlarged. The only converter between video and screen pixels. */
export class StageView {
  /** Screen pixels per video pixel, and where the video's upper left corner is on the screen. */
  constructor(
    readonly scale: number,
    readonly offsetX: number,
    readonly offsetY: number,
  ) {
    assert(scale > 0, `stage scale ${scale}`);
  }

  /** The view that shows the whole picture, centred, as large as the screen allows. Sizes of 0 give a view of scale 1. */
  static fit(videoWidth: number, videoHeight: number, screenWidth: number, screenHeight: number): StageView {
    const scale = Math.min(screenWidth / videoWidth, screenHeight / videoHeight);
    if (!(scale > 0 && Number.isFinite(scale))) return new StageView(1, 0, 0);
    return new StageView(scale, (screenWidth - videoWidth * scale) / 2, (screenHeight - videoHeight * scale) / 2);
  }

  toScreen(xPx: number, yPx: number): readonly [number, number] {
    return [this.offsetX + xPx * this.scale, this.offsetY + yPx * this.scale];
  }

  toVideo(x: number, y: number): readonly [number, number] {
    return [(x - this.offsetX) / this.scale, (y - this.offsetY) / this.scale];
  }

  /** The same picture enlarged by `factor` about a point of the screen, which stays where it is. */
  zoomed(factor: number, aboutX: number, aboutY: number): StageView {
    return new StageView(
      this.scale * factor,
      aboutX - (aboutX - this.offsetX) * factor,
      aboutY - (aboutY - this.offsetY) * factor,
    );
  }
}
