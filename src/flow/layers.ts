/**
 * What moves alike in a patch: a sleeve, the wall behind it, a hand that passes. One patch often shows two or three such
 * layers, and the average of them is the move of nothing.
 */

/** Points of a patch that moved alike. */
export interface Layer {
  /** Their weighted mean move, pixels. */
  readonly dxPx: number;
  readonly dyPx: number;
  /** Weighted spread of their moves about it, sd along one axis, pixels. */
  readonly spreadPx: number;
  /** Their part of the weight of all points, 0..1. Points between two layers count for both in part. */
  readonly share: number;
}

/** Steps of a search; it ends within a hundredth of the kernel's width in three or four. */
const climbs = 6;

/**
 * The layers among moves, found as the peaks of their weighted density: from each point a Gaussian window of the given
 * width climbs to where the moves are densest (mean shift: Fukunaga & Hostetler 1975), and peaks closer than the width are
 * one. In no particular order; none when no point has weight.
 *
 * @param weight 0 = the point does not count. Shape [point], as are the moves.
 * @param widthPx How much moves within one layer differ: it turns and comes nearer a little while it moves.
 */
export function findLayers(
  dxPx: ArrayLike<number>,
  dyPx: ArrayLike<number>,
  weight: ArrayLike<number>,
  widthPx: number,
): Layer[] {
  let total = 0;
  for (let k = 0; k < weight.length; k++) total += weight[k]!;
  const layers: Layer[] = [];
  for (let start = 0; start < weight.length; start++) {
    if (!(weight[start]! > 0)) continue;
    let x = dxPx[start]!;
    let y = dyPx[start]!;
    let sum = 0;
    let square = 0;
    for (let climb = 0; climb < climbs; climb++) {
      sum = 0;
      square = 0;
      let sumX = 0;
      let sumY = 0;
      for (let k = 0; k < weight.length; k++) {
        if (!(weight[k]! > 0)) continue;
        const offX = dxPx[k]! - x;
        const offY = dyPx[k]! - y;
        const distance = offX * offX + offY * offY;
        const w = weight[k]! * Math.exp(-distance / (2 * widthPx * widthPx));
        sum += w;
        sumX += w * offX;
        sumY += w * offY;
        square += w * distance;
      }
      x += sumX / sum;
      y += sumY / sum;
    }
    if (layers.every((l) => Math.hypot(l.dxPx - x, l.dyPx - y) >= widthPx))
      layers.push({ dxPx: x, dyPx: y, spreadPx: Math.sqrt(square / sum / 2), share: sum / total });
  }
  return layers;
}
