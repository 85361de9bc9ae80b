/** Half a millisecond of slack: a picture whose stamp was rounded up still belongs to the frame that begins with it. */
const slackSec = 0.0005;

/** Which stretch of a cut shot is on screen at a time: the last that has begun, from 0; −1 before all, or with none. */
export function partAt(parts: readonly { readonly startSec: number }[], takeSec: number): number {
  return parts.findLastIndex((part) => part.startSec <= takeSec + slackSec);
}

/** The picture that is on screen at a take time: the newest that has appeared by then; the first before all. */
export function pictureAt(timesSec: Float64Array, takeSec: number): number {
  let low = 0;
  let high = Math.max(0, timesSec.length - 1);
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (timesSec[middle]! <= takeSec + slackSec) low = middle;
    else high = middle - 1;
  }
  return low;
}
