/**
 * Minimum-jerk progress of a reach: 10u³ − 15u⁴ + 6u⁵ (Flash & Hogan, J Neurosci 1985;5:1688). `u` is the fraction of the
 * move's duration; below 0 gives 0, above 1 gives 1.
 */
export function minimumJerk(u: number): number {
  if (u <= 0) return 0;
  if (u >= 1) return 1;
  return u * u * u * (10 + u * (6 * u - 15));
}

/**
 * When the minimum-jerk profile has reached `progress` (0..1), as a fraction of its duration: the inverse of
 * `minimumJerk` to 1e-9. Below 0 gives 0, above 1 gives 1.
 */
export function minimumJerkTime(progress: number): number {
  if (progress <= 0) return 0;
  if (progress >= 1) return 1;
  let low = 0;
  let high = 1;
  for (let i = 0; i < 30; i++) {
    const middle = (low + high) / 2;
    if (minimumJerk(middle) < progress) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
