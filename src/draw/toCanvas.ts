import type { PictureMark, Scene } from './scene.ts';
import { families, type Theme } from './tokens.ts';

/** How a scene is painted on a canvas. */
export interface CanvasOptions {
  readonly theme: Theme;
  /** Canvas pixels per scene unit. */
  readonly pxPerUnit: number;
  /** The picture for a slot with its size, or null to leave the slot empty. */
  readonly picture?: (
    slot: PictureMark,
  ) => { readonly image: CanvasImageSource; readonly width: number; readonly height: number } | null;
}

/** Paints the scene from the canvas's upper left corner. Clears nothing, changes no state that it does not put back. */
export function toCanvas(
  scene: Scene,
  ctx: CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D,
  { theme, pxPerUnit, picture }: CanvasOptions,
): void {
  ctx.save();
  ctx.scale(pxPerUnit, pxPerUnit);
  ctx.lineCap = 'round';
  ctx.lineJoin = 'round';
  if (scene.ground) {
    ctx.fillStyle = theme[scene.ground];
    ctx.fillRect(0, 0, scene.width, scene.height);
  }
  for (const mark of scene.marks) {
    switch (mark.kind) {
      case 'path': {
        const path = new Path2D(mark.d);
        ctx.globalAlpha = mark.opacity;
        if (mark.fill) {
          ctx.fillStyle = theme[mark.fill];
          ctx.fill(path);
        }
        if (mark.stroke) {
          ctx.strokeStyle = theme[mark.stroke];
          ctx.lineWidth = mark.strokeWidth;
          ctx.setLineDash([...mark.dash]);
          ctx.stroke(path);
        }
        ctx.globalAlpha = 1;
        break;
      }
      case 'text':
        ctx.font = `${mark.weight} ${mark.size}px ${families[mark.font]}`;
        ctx.textAlign = mark.anchor === 'middle' ? 'center' : mark.anchor;
        ctx.textBaseline = 'alphabetic';
        ctx.fillStyle = theme[mark.colour];
        ctx.fillText(mark.text, mark.x, mark.y);
        break;
      case 'picture': {
        const found = picture?.(mark) ?? null;
        if (!found) break;
        const scale = Math.min(mark.width / found.width, mark.height / found.height);
        const [width, height] = [found.width * scale, found.height * scale];
        ctx.drawImage(
          found.image,
          mark.x + (mark.width - width) / 2,
          mark.y + (mark.height - height) / 2,
          width,
          height,
        );
        break;
      }
    }
  }
  ctx.restore();
}
