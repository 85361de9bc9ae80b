import { type Luma, makePyramid, type Pyramid } from '../flow/pyramid.ts';
import { trackPoints, usualFlow } from '../flow/trackPoints.ts';
import type { Motion } from '../track/motion.ts';
import { median } from '../track/quantile.ts';
import type { PictureStep } from './cameraEvents.ts';

/** A part of the picture in which the puppet is: what moves there says nothing of the camera. Pixels of the small picture. */
export interface PuppetBox {
  readonly leftPx: number;
  readonly topPx: number;
  readonly rightPx: number;
  readonly bottomPx: number;
}

/** A picture of a row, made small: 320 pixels across are enough. */
export interface SmallPicture {
  /** Brightness, row by row. */
  readonly luma: Luma;
  readonly widthPx: number;
  readonly heightPx: number;
  /** Where the puppet is; null = not known, then the larger part of the patches is taken for what stands still. */
  readonly puppet: PuppetBox | null;
}

/** Patches across the longer side of the picture. */
const across = 16;
/** Sides of a patch over which brightness is averaged, pixels. */
const patchPx = 9;
/** Fewer patches that were followed tell nothing. */
const leastPatches = 6;
/** Patches within so many times the middle distance from the middle shift are taken for what stands still. */
const nearTimes = 3;
/** ... or within this, pixels: where all agree to the hundredth, a few hundredths more are no movement. */
const nearPx = 0.15;
/** The file's brightness below and above which a patch tells nothing of the light: it is cut off. */
const [darkest, brightest] = [6, 249];

/** Around the joints lie a body and its clothes: share of the body's height in the picture. */
const bodyShare = 0.15;

/**
 * Where the puppet is in a picture, by its joints; null where fewer than two are known.
 * @param scale pixels of the motion to one of the small picture.
 */
export function puppetBox({ paths }: Motion, picture: number, scale: number): PuppetBox | null {
  const at = [...paths.values()]
    .map(({ xPx, yPx }) => [xPx[picture]!, yPx[picture]!] as const)
    .filter(([x, y]) => Number.isFinite(x + y));
  if (at.length < 2) return null;
  const [xs, ys] = [at.map(([x]) => x), at.map(([, y]) => y)];
  const around = bodyShare * (Math.max(...ys) - Math.min(...ys));
  return {
    leftPx: (Math.min(...xs) - around) / scale,
    rightPx: (Math.max(...xs) + around) / scale,
    topPx: (Math.min(...ys) - around) / scale,
    bottomPx: (Math.max(...ys) + around) / scale,
  };
}

/**
 * How each picture of a row differs from the one before as a whole: patches all over it are followed (their windows shift, brightness
 * ignored), and the middle shift of those that agree is the camera's, whatever a puppet does in front. The brightness is carried on
 * from picture to picture by the middle ratio of patches that stand still, so a puppet's own light and dark do not count.
 * @param scale pixels of the full picture for one of the small one.
 */
export function measurePictureSteps(pictures: Iterable<SmallPicture>, scale = 1): PictureStep[] {
  const steps: PictureStep[] = [];
  let before: { pyramid: Pyramid; puppet: PuppetBox | null } | null = null;
  let brightness = Number.NaN;
  for (const { luma, widthPx, heightPx, puppet } of pictures) {
    const pyramid = makePyramid(luma, widthPx, heightPx, 4);
    if (!before) {
      brightness = meanOf(luma);
      steps.push({ shiftXPx: 0, shiftYPx: 0, brightness });
    } else {
      const step = stepBetween(before.pyramid, pyramid, [before.puppet, puppet]);
      brightness *= Number.isNaN(step.ratio) ? 1 : step.ratio;
      steps.push({ shiftXPx: step.x * scale, shiftYPx: step.y * scale, brightness });
    }
    before = { pyramid, puppet };
  }
  return steps;
}

function stepBetween(from: Pyramid, to: Pyramid, puppets: readonly (PuppetBox | null)[]) {
  const { x, y } = patchesOf(from, puppets);
  const moves = trackPoints(from, to, x, y, { ...usualFlow, levels: 4 });
  let kept = [...x.keys()].filter((i) => Number.isFinite(moves.dxPx[i]!));
  if (kept.length < leastPatches) return { x: Number.NaN, y: Number.NaN, ratio: lightRatio(from, to, x, y, 0, 0) };
  let [dx, dy] = [0, 0];
  for (let round = 0; round < 4; round++) {
    [dx, dy] = [median(kept.map((i) => moves.dxPx[i]!)), median(kept.map((i) => moves.dyPx[i]!))];
    const away = (i: number) => Math.hypot(moves.dxPx[i]! - dx, moves.dyPx[i]! - dy);
    const limit = Math.max(nearPx, nearTimes * median(kept.map(away)));
    const near = kept.filter((i) => away(i) <= limit);
    if (near.length < leastPatches || near.length === kept.length) break;
    kept = near;
  }
  const still = (column: number[]) => kept.map((i) => column[i]!);
  return { x: dx, y: dy, ratio: lightRatio(from, to, still(x), still(y), dx, dy) };
}

/** Middles of patches in a grid over the picture, those on the puppet left out. */
function patchesOf({ widthPx, heightPx }: Pyramid, puppets: readonly (PuppetBox | null)[]) {
  const gap = Math.max(widthPx, heightPx) / across;
  const [x, y]: [number[], number[]] = [[], []];
  for (let py = gap / 2; py < heightPx; py += gap)
    for (let px = gap / 2; px < widthPx; px += gap) {
      if (puppets.some((b) => b && px > b.leftPx && px < b.rightPx && py > b.topPx && py < b.bottomPx)) continue;
      x.push(px);
      y.push(py);
    }
  return { x, y };
}

/** The middle of the patches' ratios of brightness, second over first. */
function lightRatio(from: Pyramid, to: Pyramid, x: number[], y: number[], dx: number, dy: number): number {
  const ratios = x.flatMap((_, i) => {
    const [a, b] = [patchMean(from, x[i]!, y[i]!), patchMean(to, x[i]! + dx, y[i]! + dy)];
    return a > darkest && b > darkest && a < brightest && b < brightest ? [b / a] : [];
  });
  return median(ratios);
}

/** Between pixels, too: in a texture, half a pixel is brighter by more than light flickers. NaN where the patch is not all in the picture. */
function patchMean({ levels, widthPx, heightPx }: Pyramid, x: number, y: number): number {
  const { luma } = levels[0]!;
  const half = (patchPx - 1) / 2;
  const [left, top] = [Math.floor(x - 0.5), Math.floor(y - 0.5)];
  const [u, v] = [x - 0.5 - left, y - 0.5 - top];
  if (left < half || top < half || left + half + 1 >= widthPx || top + half + 1 >= heightPx) return Number.NaN;
  let sum = 0;
  for (let row = top - half; row <= top + half; row++)
    for (let at = row * widthPx + left - half; at <= row * widthPx + left + half; at++)
      sum +=
        (1 - v) * ((1 - u) * luma[at]! + u * luma[at + 1]!) +
        v * ((1 - u) * luma[at + widthPx]! + u * luma[at + widthPx + 1]!);
  return sum / patchPx ** 2;
}

function meanOf(luma: Luma): number {
  let sum = 0;
  for (let i = 0; i < luma.length; i++) sum += luma[i]!;
  return sum / luma.length;
}
