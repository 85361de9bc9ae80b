/** A circle, in the unit of the points it was fitted to. */
export interface Circle {
  readonly x: number;
  readonly y: number;
  readonly radius: number;
}

/** Which algebraic distance is made smallest; both are hardly biased on short arcs, Taubin's a little less. */
export type CircleMethod = 'taubin' | 'pratt';

/**
 * The circle that lies nearest to points in the sense of G. Taubin (IEEE Trans. Pattern Anal. Mach. Intell. 13, 1991, 1115) or
 * V. Pratt (SIGGRAPH 1987, 145): the smallest root of the fit's characteristic polynomial, by Newton's method from 0. Null for
 * fewer than three points and for points on a line.
 */
export function fitCircle(x: ArrayLike<number>, y: ArrayLike<number>, method: CircleMethod = 'taubin'): Circle | null {
  const n = x.length;
  if (n < 3) return null;
  let mx = 0;
  let my = 0;
  for (let i = 0; i < n; i++) {
    mx += x[i]! / n;
    my += y[i]! / n;
  }
  let [xx, yy, xy, xz, yz, zz] = [0, 0, 0, 0, 0, 0];
  for (let i = 0; i < n; i++) {
    const u = x[i]! - mx;
    const v = y[i]! - my;
    const z = u * u + v * v;
    xx += (u * u) / n;
    yy += (v * v) / n;
    xy += (u * v) / n;
    xz += (u * z) / n;
    yz += (v * z) / n;
    zz += (z * z) / n;
  }
  const mz = xx + yy;
  const det = xx * yy - xy * xy;
  // On a line to rounding: no circle.
  if (!(det > 1e-14 * mz * mz)) return null;
  const varZ = zz - mz * mz;
  const eta = smallestRoot(method, { xx, yy, xy, xz, yz, zz, mz, det, varZ });
  const d = eta * eta - eta * mz + det;
  if (!Number.isFinite(d) || d === 0) return null;
  const cx = (xz * (yy - eta) - yz * xy) / d / 2;
  const cy = (yz * (xx - eta) - xz * xy) / d / 2;
  const radius = Math.sqrt(cx * cx + cy * cy + mz + (method === 'pratt' ? 2 * eta : 0));
  return Number.isFinite(radius) ? { x: cx + mx, y: cy + my, radius } : null;
}

interface Moments {
  readonly xx: number;
  readonly yy: number;
  readonly xy: number;
  readonly xz: number;
  readonly yz: number;
  readonly zz: number;
  readonly mz: number;
  readonly det: number;
  readonly varZ: number;
}

/** The smallest root of c0 + c1 η + c2 η² + c3 η³ (+ 4 η⁴ for Pratt's), which is not negative. */
function smallestRoot(method: CircleMethod, m: Moments): number {
  const turned = m.xz * m.xz * m.yy + m.yz * m.yz * m.xx - 2 * m.xz * m.yz * m.xy;
  const shift = m.xz * m.xz + m.yz * m.yz;
  const c =
    method === 'taubin'
      ? [turned - m.varZ * m.det, m.varZ * m.mz + 4 * m.det * m.mz - shift, -3 * m.mz * m.mz - m.zz, 4 * m.mz]
      : [turned - m.varZ * m.det, m.varZ * m.mz + 4 * m.det * m.mz - shift, m.det * 4 - 3 * m.mz * m.mz - m.zz, 0, 4];
  let eta = 0;
  for (let i = 0; i < 60; i++) {
    let value = 0;
    let slope = 0;
    for (let k = c.length - 1; k >= 0; k--) {
      slope = slope * eta + value;
      value = value * eta + c[k]!;
    }
    const next = eta - value / slope;
    if (!Number.isFinite(next) || Math.abs(next - eta) <= 1e-14 * Math.abs(next)) break;
    eta = next;
  }
  return eta;
}

/** A circle with what is not sure about it. */
export interface LocalCircle extends Circle {
  /** Standard deviations of radius and centre (along its less sure axis), in the unit of the points. */
  readonly radiusSd: number;
  readonly centreSd: number;
  /** How much of the circle the points go round, degrees. */
  readonly spanDeg: number;
}

/** Why no circle is told. */
export type NoCircle = 'too few' | 'nearly straight' | 'still';

/** Fewer points say nothing of their own errors. */
const leastPoints = 4;
/** Points that go round less than this, degrees, lie nearly on a line: their radius would be mostly noise. */
const leastSpanDeg = 15;

/**
 * Taubin's circle through a stretch of a path, with its uncertainty to first order: noise of `sd` (or what the points stray
 * from the circle, if that is more) against how radius and centre follow from the points.
 * @param sd of each point along one axis, 0 = exact. Points without a place (NaN) are left out.
 * @param alike how many neighbouring points err alike (≥ 1): so many fewer points count.
 */
export function localCircle(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  sd: ArrayLike<number>,
  alike = 1,
): LocalCircle | NoCircle {
  const known = Array.from({ length: x.length }, (_, i) => i).filter((i) => Number.isFinite(x[i]! + y[i]!));
  if (known.length < leastPoints) return 'too few';
  const xs = known.map((i) => x[i]!);
  const ys = known.map((i) => y[i]!);
  const noise = Math.sqrt(known.reduce((s, i) => s + (Number.isFinite(sd[i]) ? sd[i]! ** 2 : 0), 0) / known.length);
  const extent = Math.hypot(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys));
  if (!(extent > 6 * noise) || extent === 0) return 'still';
  const circle = fitCircle(xs, ys);
  if (!circle) return 'nearly straight';
  const n = xs.length;
  let strayed = 0;
  // Normal equations of distance to the circle against centre x, centre y and radius.
  let [cc, ss, cs, c1, s1] = [0, 0, 0, 0, 0];
  let turned = 0;
  let [least, most] = [0, 0];
  let before = Number.NaN;
  for (let i = 0; i < n; i++) {
    const [dx, dy] = [xs[i]! - circle.x, ys[i]! - circle.y];
    const r = Math.hypot(dx, dy);
    strayed += (r - circle.radius) ** 2 / Math.max(1, n - 3);
    const [c, s] = [dx / r, dy / r];
    cc += c * c;
    ss += s * s;
    cs += c * s;
    c1 += c;
    s1 += s;
    const angle = Math.atan2(dy, dx);
    if (!Number.isNaN(before)) turned += Math.atan2(Math.sin(angle - before), Math.cos(angle - before));
    before = angle;
    least = Math.min(least, turned);
    most = Math.max(most, turned);
  }
  const spanDeg = Math.min(360, ((most - least) * 180) / Math.PI);
  const variance = Math.max(strayed, noise * noise) * Math.max(1, alike);
  const det = cc * (ss * n - s1 * s1) - cs * (cs * n - s1 * c1) + c1 * (cs * s1 - ss * c1);
  const radiusSd = Math.sqrt((variance * (cc * ss - cs * cs)) / det);
  const centreSd = Math.sqrt((variance * Math.max(ss * n - s1 * s1, cc * n - c1 * c1)) / det);
  if (spanDeg < leastSpanDeg || !(radiusSd < circle.radius / 3)) return 'nearly straight';
  return { ...circle, radiusSd, centreSd, spanDeg };
}
