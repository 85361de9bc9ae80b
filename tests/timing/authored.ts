import type { Joint } from '../../src/base/joints.ts';
import { minimumJerk } from '../../src/timing/ease.ts';
import type { JointPath, Motion, Tracks } from '../../src/track/motion.ts';

/** A random source with a seed: the same numbers at every run (mulberry32, public domain). */
export function randomFrom(seed: number): () => number {
  let s = seed >>> 0;
  return () => {
    s = (s + 0x6d2b79f5) >>> 0;
    let t = s;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** A normally distributed number (Box & Muller). */
export function normal(random: () => number): number {
  return Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
}

/** Places of joints at rising times: what a perfect detector would have seen. */
export interface Places {
  readonly timesSec: Float64Array;
  readonly places: ReadonlyMap<Joint, { x: Float64Array; y: Float64Array }>;
}

/** Tracks through given places by cubic interpolation with finite-difference slopes; `sdPx` is what they claim to be sure of. */
export function tracksThrough(p: Places, bodyHeightPx: number, sdPx: number): Tracks {
  const n = p.timesSec.length;
  const joints = [...p.places.keys()];
  return {
    timesSec: p.timesSec,
    bodyHeightPx,
    torsoPx: bodyHeightPx * 0.3,
    joints,
    doubts: [],
    seen: () => null,
    at(timesSec): Motion {
      const paths = new Map<Joint, JointPath>();
      for (const joint of joints) {
        const place = p.places.get(joint)!;
        const x = hermite(p.timesSec, place.x, timesSec);
        const y = hermite(p.timesSec, place.y, timesSec);
        paths.set(joint, {
          xPx: x.value,
          yPx: y.value,
          vxPx: x.slope,
          vyPx: y.slope,
          sdPx: new Float64Array(timesSec.length).fill(sdPx),
          confidence: new Float32Array(timesSec.length).fill(1),
          guessed: new Uint8Array(timesSec.length),
        });
      }
      return { timesSec, paths };
    },
  };

  function hermite(t: Float64Array, v: Float64Array, at: Float64Array) {
    const value = new Float64Array(at.length);
    const slope = new Float64Array(at.length);
    let i = 0;
    at.forEach((time, k) => {
      const s = Math.min(Math.max(time, t[0]!), t[n - 1]!);
      while (i < n - 2 && t[i + 1]! < s) i++;
      if (n === 1) {
        value[k] = v[0]!;
        return;
      }
      const h = t[i + 1]! - t[i]!;
      const m = (j: number) => {
        const a = Math.max(0, j - 1);
        const b = Math.min(n - 1, j + 1);
        return (v[b]! - v[a]!) / (t[b]! - t[a]!);
      };
      const u = (s - t[i]!) / h;
      const a = m(i) * h;
      const b = m(i + 1) * h;
      const p0 = v[i]!;
      const p1 = v[i + 1]!;
      value[k] = p0 + u * (a + u * (-3 * p0 + 3 * p1 - 2 * a - b + u * (2 * p0 - 2 * p1 + a + b)));
      slope[k] =
        time === s ? (a + u * (2 * (-3 * p0 + 3 * p1 - 2 * a - b) + u * 3 * (2 * p0 - 2 * p1 + a + b))) / h : 0;
    });
    return { value, slope };
  }
}

/** What an authored motion says about itself, in the form that plans are scored against. */
export interface AuthoredTruth {
  readonly keys: { t: number; leave?: boolean; why?: string }[];
  readonly holds: { start: number; end: number }[];
  readonly durationSec: number;
}

type Angles = Record<string, number>;
const parts = [
  'rootX',
  'rootY',
  'trunk',
  'head',
  'lUpper',
  'lFore',
  'rUpper',
  'rFore',
  'lThigh',
  'lShank',
  'rThigh',
  'rShank',
] as const;
/** How many frames of 24 a part drags behind the trunk, in units of the chain's lag. */
const lagOf: Record<string, number> = { lFore: 1, rFore: 1, head: 0.6, lUpper: 0.3, rUpper: 0.3 };

/** An authored performance: poses reached by eased moves, some held, some anticipated, some overshot, hands dragging behind. */
export function authoredMotion(seed: number): {
  places: (fps: number) => Places;
  truth: AuthoredTruth;
  bodyHeightPx: number;
} {
  const random = randomFrom(seed);
  const between = (a: number, b: number) => a + (b - a) * random();
  const heightPx = between(250, 480);
  const chainLagSec = random() < 0.5 ? between(1, 3) / 24 : 0;
  const rest: Angles = {
    rootX: 0,
    rootY: 0,
    trunk: between(-3, 3),
    head: between(-8, 8),
    lUpper: between(5, 40),
    lFore: between(10, 60),
    rUpper: between(5, 40),
    rFore: between(10, 60),
    lThigh: 4,
    lShank: 2,
    rThigh: 4,
    rShank: 2,
  };
  const vary = (pose: Angles): Angles => {
    const next = { ...pose };
    const style = random();
    const arms = style < 0.7 ? (random() < 0.4 ? ['l', 'r'] : [random() < 0.5 ? 'l' : 'r']) : [];
    for (const side of arms) {
      next[`${side}Upper`] = between(0, 120);
      next[`${side}Fore`] = between(0, 130);
    }
    if (style > 0.55) {
      next.trunk = between(-15, 25);
      next.head = between(-25, 25);
    }
    if (style > 0.8) {
      const crouch = between(0, 35);
      next.lThigh = next.rThigh = crouch;
      next.lShank = next.rShank = -crouch;
    }
    // A pose that hardly differs is not a pose that anyone would author.
    const size = parts.reduce((a, p) => a + Math.abs((next[p] ?? 0) - (pose[p] ?? 0)), 0);
    return size < 25 ? vary(pose) : next;
  };
  const moves: { start: number; end: number; from: Angles; to: Angles; settle: boolean }[] = [];
  const keys: AuthoredTruth['keys'] = [{ t: 0, why: 'first' }];
  const holds: AuthoredTruth['holds'] = [];
  const mix = (a: Angles, b: Angles, u: number): Angles =>
    Object.fromEntries(parts.map((p) => [p, (a[p] ?? 0) + u * ((b[p] ?? 0) - (a[p] ?? 0))]));
  let t = 0;
  let pose = rest;
  let holdStart: number | null = 0;
  const poses = 4 + Math.floor(random() * 4);
  const dragOf = (a: Angles, b: Angles) => {
    const lags = parts.filter((p) => Math.abs((a[p] ?? 0) - (b[p] ?? 0)) > 1).map((p) => (lagOf[p] ?? 0) * chainLagSec);
    return lags.length > 0 ? { least: Math.min(...lags), most: Math.max(...lags) } : { least: 0, most: 0 };
  };
  const hold = (frames: number) => {
    t += frames / 24;
  };
  if (random() < 0.75) hold(between(6, 16));
  else holdStart = null;
  const reach = (to: Angles, frames: number, why: string) => {
    const start = t;
    t += frames / 24;
    moves.push({ start, end: t, from: pose, to, settle: why === 'settle' });
    const drag = dragOf(pose, to);
    if (holdStart !== null) {
      holds.push({ start: holdStart, end: start + drag.least });
      if (holdStart > 0) keys.push({ t: start + drag.least, leave: true });
    }
    holdStart = null;
    pose = to;
    keys.push({ t: t + (drag.least + drag.most) / 2, why });
    return drag;
  };
  for (let i = 0; i < poses; i++) {
    const to = vary(pose);
    if (random() < 0.3) reach(mix(pose, to, -between(0.12, 0.25)), between(5, 9), 'anticipation');
    const overshoot = random() < 0.3;
    let drag = reach(overshoot ? mix(pose, to, 1 + between(0.08, 0.18)) : to, between(8, 18), 'pose');
    if (overshoot) drag = reach(to, between(4, 8), 'settle');
    if (random() < 0.65 || i === poses - 1) {
      holdStart = t + drag.most;
      hold(between(6, 18) + drag.most * 24);
    }
  }
  const durationSec = t;
  if (holdStart !== null) holds.push({ start: holdStart, end: durationSec });

  const anglesAt = (time: number): Angles => {
    const at = { ...rest };
    for (const part of parts) {
      const local = time - (lagOf[part] ?? 0) * chainLagSec;
      for (const move of moves) {
        if (local < move.start) break;
        at[part] =
          (move.from[part] ?? 0) +
          minimumJerk((local - move.start) / (move.end - move.start)) * ((move.to[part] ?? 0) - (move.from[part] ?? 0));
      }
    }
    return at;
  };
  const shortening = { l: between(0.7, 1), r: between(0.7, 1) };
  const places = (fps: number): Places => {
    const count = Math.round(durationSec * fps);
    const timesSec = Float64Array.from({ length: count }, (_, i) => i / fps);
    const out = new Map<Joint, { x: Float64Array; y: Float64Array }>();
    const put = (joint: Joint, i: number, x: number, y: number) => {
      let place = out.get(joint);
      if (!place) {
        place = { x: new Float64Array(count), y: new Float64Array(count) };
        out.set(joint, place);
      }
      place.x[i] = 320 + x * heightPx;
      place.y[i] = 460 + y * heightPx;
    };
    timesSec.forEach((time, i) => {
      const a = anglesAt(time);
      const rad = (deg: number) => (deg * Math.PI) / 180;
      const thigh = 0.245;
      const shank = 0.246;
      const drop = thigh * Math.cos(rad(a.lThigh!)) + shank * Math.cos(rad(a.lShank!));
      const px = a.rootX!;
      const py = -drop - 0.04;
      for (const [side, s] of [
        ['left', 1],
        ['right', -1],
      ] as const) {
        const k = side === 'left' ? 'l' : 'r';
        const hx = px + s * 0.055;
        put(`${side}Hip`, i, hx, py);
        const kx = hx + s * 0.3 * thigh * Math.sin(rad(a[`${k}Thigh`]!));
        const ky = py + thigh * Math.cos(rad(a[`${k}Thigh`]!));
        put(`${side}Knee`, i, kx, ky);
        put(`${side}Ankle`, i, hx + s * 0.01, ky + shank * Math.cos(rad(a[`${k}Shank`]!)));
        const tx = px + 0.29 * Math.sin(rad(a.trunk!));
        const ty = py - 0.29 * Math.cos(rad(a.trunk!));
        const sx = tx + s * 0.105;
        put(`${side}Shoulder`, i, sx, ty);
        const upper = rad(a[`${k}Upper`]!);
        const fore = upper + rad(a[`${k}Fore`]!);
        const ex = sx + s * shortening[k] * 0.17 * Math.sin(upper);
        const ey = ty + 0.17 * Math.cos(upper);
        put(`${side}Elbow`, i, ex, ey);
        put(`${side}Wrist`, i, ex + s * shortening[k] * 0.15 * Math.sin(fore), ey + 0.15 * Math.cos(fore));
        const tilt = rad(a.head! + a.trunk!);
        const head = (along: number, out: number): [number, number] => [
          tx + along * Math.sin(tilt) + out * Math.cos(tilt),
          ty - along * Math.cos(tilt) + out * Math.sin(tilt),
        ];
        if (side === 'left') put('nose', i, ...head(0.12, 0));
        put(`${side}Eye`, i, ...head(0.14, s * 0.02));
        put(`${side}Ear`, i, ...head(0.13, s * 0.045));
      }
    });
    return { timesSec, places: out };
  };
  return { places, truth: { keys, holds, durationSec }, bodyHeightPx: heightPx };
}

/**
 * What tracking does to places: movement smeared in time by `blurSec` (sd), and normal errors of size `sdPx` that stay alike
 * for about `alikeSec`.
 */
export function wander(p: Places, seed: number, sdPx: number, alikeSec = 0.12, blurSec = 0.022): Places {
  const random = randomFrom(seed);
  const n = p.timesSec.length;
  const out = new Map<Joint, { x: Float64Array; y: Float64Array }>();
  const noise = () => {
    // White noise through a normal-shaped window leaves noise that is alike over its width.
    const reach = Math.ceil((3 * alikeSec) / (p.timesSec[1]! - p.timesSec[0]!));
    const white = Float64Array.from({ length: n }, () => normal(random));
    return Float64Array.from({ length: n }, (_, i) => {
      let sum = 0;
      let squares = 0;
      for (let k = Math.max(0, i - reach); k < Math.min(n, i + reach + 1); k++) {
        const w = Math.exp(-0.5 * ((p.timesSec[k]! - p.timesSec[i]!) / (alikeSec / 1.5)) ** 2);
        sum += w * white[k]!;
        squares += w * w;
      }
      return (sdPx * sum) / Math.sqrt(squares);
    });
  };
  for (const [joint, { x, y }] of p.places) {
    const nx = noise();
    const ny = noise();
    const smear = (v: Float64Array) =>
      v.map((_, i) => {
        let sum = 0;
        let weights = 0;
        for (let k = Math.max(0, i - 10); k < Math.min(n, i + 11); k++) {
          const w = Math.exp(-0.5 * ((p.timesSec[k]! - p.timesSec[i]!) / blurSec) ** 2);
          sum += w * v[k]!;
          weights += w;
        }
        return sum / weights;
      });
    out.set(joint, { x: smear(x).map((v, i) => v + nx[i]!), y: smear(y).map((v, i) => v + ny[i]!) });
  }
  return { timesSec: p.timesSec, places: out };
}

/** How well keys and holds found agree with the authored ones: ±1 frame at 24 fps, ±2 at the soft ends of a hold. */
export function agreement(
  truth: AuthoredTruth,
  keysSec: readonly number[],
  holdsSec: readonly { start: number; end: number }[],
) {
  const frame = 1.01 / 24;
  const used = new Set<number>();
  const windows = truth.keys.flatMap((key, i) => {
    if (key.leave) return [];
    const next = truth.keys[i + 1];
    const held = next?.leave || truth.holds.some((h) => Math.abs(h.start - key.t) < 0.02);
    const tolerance = (held ? 2 : 1) * frame;
    return [{ from: key.t - tolerance, to: (next?.leave ? next.t : key.t) + tolerance, key }];
  });
  const missed: AuthoredTruth['keys'] = [];
  for (const w of windows) {
    const at = keysSec.findIndex((k, i) => !used.has(i) && k >= w.from && k <= w.to);
    if (at >= 0) used.add(at);
    else missed.push(w.key);
  }
  const extra = keysSec.filter((k, i) => !used.has(i) && !windows.some((w) => k >= w.from && k <= w.to));
  const hit = windows.length - missed.length;
  const precision = (keysSec.length - extra.length) / Math.max(1, keysSec.length);
  const recall = hit / windows.length;
  const tolerance = 2.01 / 24;
  const badHolds = truth.holds.filter(
    (h) => !holdsSec.some((g) => Math.abs(g.start - h.start) <= tolerance && Math.abs(g.end - h.end) <= tolerance),
  );
  return {
    authored: windows.length,
    hit,
    missed,
    extra,
    f1: (2 * precision * recall) / Math.max(1e-9, precision + recall),
    holds: truth.holds.length,
    badHolds,
  };
}
