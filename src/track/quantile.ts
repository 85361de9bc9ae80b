/** Quantile by linear interpolation between order statistics (Hyndman & Fan 1996, type 7). NaN for an empty list. */
export function quantile(values: ArrayLike<number>, q: number): number {
  if (values.length === 0) return Number.NaN;
  const sorted = Float64Array.from(values).sort();
  const place = (sorted.length - 1) * q;
  const low = Math.floor(place);
  const high = Math.min(low + 1, sorted.length - 1);
  return sorted[low]! + (sorted[high]! - sorted[low]!) * (place - low);
}

/** The middle value. NaN for an empty list. */
export function median(values: ArrayLike<number>): number {
  return quantile(values, 0.5);
}
