import { present } from '../../base/assert.ts';
import type { PictureSize } from '../../draw/pictureOverlay.ts';
import type { Scene } from '../../draw/scene.ts';
import { toCanvas } from '../../draw/toCanvas.ts';
import { type Theme, themes } from '../../draw/tokens.ts';

/** A canvas off the screen on which pictures are painted one after another. */
export class Painter {
  readonly canvas: OffscreenCanvas;
  readonly ink: OffscreenCanvasRenderingContext2D;

  /** @param size of the pictures, whole pixels. */
  constructor({ widthPx, heightPx }: PictureSize) {
    this.canvas = new OffscreenCanvas(widthPx, heightPx);
    this.ink = present(this.canvas.getContext('2d'), 'canvas off the screen');
  }

  /** Paints a scene as wide as the canvas over nothing, or over what is there. */
  paint(scene: Scene, { theme = themes.light, over = false }: { theme?: Theme; over?: boolean } = {}): void {
    if (!over) this.ink.clearRect(0, 0, this.canvas.width, this.canvas.height);
    toCanvas(scene, this.ink, { theme, pxPerUnit: this.canvas.width / scene.width });
  }

  /** What is on the canvas as PNG, its transparency kept. */
  png(): Promise<Blob> {
    return this.canvas.convertToBlob({ type: 'image/png' });
  }
}
