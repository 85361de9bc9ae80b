/** How speed went with curvature along a path: speed ≈ gain · curvature^exponent. */
export interface SpeedAndCurvature {
  /** −1/3 where the two-thirds power law holds. */
  readonly exponent: number;
  /** Speed at curvature 1. */
  readonly gain: number;
  /** 0..1: how much of the speed's variation (in logarithms) the law explains. */
  readonly explained: number;
  /** How many points were curved and fast enough to count. */
  readonly count: number;
}

/** Slower than this part of the fastest says more about noise than about the hand. */
const leastSpeedShare = 0.1;
/** The curvature must vary by this factor, else the exponent is anybody's guess. */
const leastRange = 1.5;
const leastPoints = 6;

/**
 * The exponent that joins speed and curvature (F. Lacquaniti, C. Terzuolo & P. Viviani, Acta Psychologica 54, 1983, 115: drawing
 * hands have −1/3, the two-thirds power law in its form for tangential speed), from a line through their logarithms. For
 * information: smoothing and noise bring the law about as well, so it proves nothing. Null where too little is curved.
 * All columns have shape [sample]: velocity and acceleration in any one unit of length, per second and per second².
 */
export function speedAndCurvature(
  vx: ArrayLike<number>,
  vy: ArrayLike<number>,
  ax: ArrayLike<number>,
  ay: ArrayLike<number>,
): SpeedAndCurvature | null {
  const speeds = Array.from(vx, (v, i) => Math.hypot(v, vy[i]!));
  const fastest = Math.max(0, ...speeds.filter(Number.isFinite));
  const points: [number, number][] = [];
  speeds.forEach((speed, i) => {
    const curvature = Math.abs(vx[i]! * ay[i]! - vy[i]! * ax[i]!) / speed ** 3;
    if (speed > leastSpeedShare * fastest && curvature > 0 && Number.isFinite(curvature))
      points.push([Math.log(curvature), Math.log(speed)]);
  });
  if (points.length < leastPoints) return null;
  const n = points.length;
  const mk = points.reduce((s, p) => s + p[0], 0) / n;
  const mv = points.reduce((s, p) => s + p[1], 0) / n;
  let [kk, kv, vv] = [0, 0, 0];
  for (const [k, v] of points) {
    kk += (k - mk) ** 2;
    kv += (k - mk) * (v - mv);
    vv += (v - mv) ** 2;
  }
  const logs = points.map((p) => p[0]);
  if (Math.max(...logs) - Math.min(...logs) < Math.log(leastRange)) return null;
  const exponent = kv / kk;
  return { exponent, gain: Math.exp(mv - exponent * mk), explained: vv > 0 ? (kv * kv) / (kk * vv) : 1, count: n };
}
