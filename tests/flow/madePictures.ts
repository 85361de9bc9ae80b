/** Made pictures whose content is known at every place, so that they can be moved by any fraction of a pixel. */
import { makePyramid, type Pyramid } from '../../src/flow/pyramid.ts';
import { gaussian, seeded } from '../make.ts';

/** Brightness at a place, pixels. */
export type Surface = (x: number, y: number) => number;

/** Where on its surface a picture looks for the place (x, y). */
export type Look = (x: number, y: number) => readonly [number, number];

/** A random texture: waves of every direction, lengths from `shortestPx` to 60 px, standard deviation `contrast`. */
export function texture(seed: number, contrast = 40, shortestPx = 5): Surface {
  const random = seeded(seed);
  const waves = Array.from({ length: 40 }, () => {
    const length = shortestPx * (60 / shortestPx) ** random();
    const direction = 2 * Math.PI * random();
    const k = (2 * Math.PI) / length;
    const weight = Math.sqrt(length);
    return { kx: k * Math.cos(direction), ky: k * Math.sin(direction), phase: 2 * Math.PI * random(), weight };
  });
  const power = waves.reduce((sum, w) => sum + w.weight ** 2 / 2, 0);
  const scale = contrast / Math.sqrt(power);
  return (x, y) => {
    let sum = 0;
    for (const w of waves) sum += w.weight * Math.cos(w.kx * x + w.ky * y + w.phase);
    return 128 + scale * sum;
  };
}

/** How a picture is taken. */
export interface Shot {
  readonly look?: Look;
  /** Standard deviation of sensor noise. */
  readonly noise?: number;
  readonly seed?: number;
  readonly gain?: number;
  readonly bias?: number;
  readonly widthPx?: number;
  readonly heightPx?: number;
}

export const widthPx = 160;
export const heightPx = 120;

/** Bytes of a picture of a surface: sampled at pixel centres, noise added, rounded, cut off at 0 and 255. */
export function photograph(surface: Surface, shot: Shot = {}): Uint8ClampedArray {
  const { look = (x, y) => [x, y], noise = 0, seed = 1, gain = 1, bias = 0 } = shot;
  const [width, height] = [shot.widthPx ?? widthPx, shot.heightPx ?? heightPx];
  const draw = gaussian(seeded(seed));
  const bytes = new Uint8ClampedArray(width * height);
  for (let row = 0; row < height; row++)
    for (let column = 0; column < width; column++) {
      const [x, y] = look(column + 0.5, row + 0.5);
      bytes[row * width + column] = gain * surface(x, y) + bias + (noise > 0 ? noise * draw() : 0);
    }
  return bytes;
}

/** The pyramid of such a picture. */
export function picture(surface: Surface, shot: Shot = {}, levels = 3): Pyramid {
  return makePyramid(photograph(surface, shot), shot.widthPx ?? widthPx, shot.heightPx ?? heightPx, levels);
}

/** The surface moved by (dx, dy) between this picture and one that looks at it straight. */
export const moved =
  (dx: number, dy: number): Look =>
  (x, y) => [x - dx, y - dy];

/** Places at random, at least `margin` from the border. */
export function places(count: number, margin: number, seed = 5): { xPx: number[]; yPx: number[] } {
  const random = seeded(seed);
  const xPx: number[] = [];
  const yPx: number[] = [];
  for (let i = 0; i < count; i++) {
    xPx.push(margin + random() * (widthPx - 2 * margin));
    yPx.push(margin + random() * (heightPx - 2 * margin));
  }
  return { xPx, yPx };
}
