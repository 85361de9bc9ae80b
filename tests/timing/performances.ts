import { detectedJoints, type Joint } from '../../src/base/joints.ts';
import { minimumJerk } from '../../src/timing/ease.ts';
import { quickSdAt, slowSdAt } from '../../src/track/noise.ts';
import { cell, emptySightingColumns, type Sightings } from '../../src/track/sighting.ts';
import { type AuthoredTruth, normal, randomFrom } from './authored.ts';

/** What a made performance is about. */
export const performanceKinds = [
  'acting',
  'arms',
  'head',
  'snappy',
  'slow',
  'drag',
  'breath',
  'windUps',
  'steps',
  'eases',
  'walkIn',
] as const;
export type PerformanceKind = (typeof performanceKinds)[number];

/** A performance with the sightings that a detector and flow would have of it. */
export interface MadePerformance {
  readonly kind: PerformanceKind;
  readonly fps: number;
  readonly truth: AuthoredTruth;
  /** What was seen; exact when asked for. */
  readonly sightings: (exact: boolean) => Sightings;
}

const channels = [
  'rootX',
  'crouch',
  'trunk',
  'head',
  'turn',
  'lUpper',
  'lFore',
  'rUpper',
  'rFore',
  'lFoot',
  'rFoot',
] as const;
type Channel = (typeof channels)[number];
type Pose = Readonly<Record<Channel, number>>;

/** Frames at 24 fps by which a part drags behind the trunk for each frame of the chain's lag. */
const lagOf: Partial<Record<Channel, number>> = { lFore: 1, rFore: 1, head: 0.6, lUpper: 0.3, rUpper: 0.3 };
/** A channel that changes less than this moves nothing that anybody sees: degrees, and hundredths of the height. */
const leastChange = 1;

interface Move {
  readonly start: number;
  readonly end: number;
  readonly from: Pose;
  readonly to: Pose;
}

type Ease = (u: number) => number;
const clamp = (u: number) => Math.min(1, Math.max(0, u));
const eases: readonly Ease[] = [
  minimumJerk,
  (u) => clamp(u) ** 2 * (3 - 2 * clamp(u)),
  (u) => (1 - Math.cos(Math.PI * clamp(u))) / 2,
  // Quick out of the pose and long into the next, and the other way round.
  (u) => minimumJerk(clamp(u) ** 0.75),
  (u) => minimumJerk(clamp(u) ** 1.3),
];

/** How long moves and holds are, frames at 24 fps. */
const pace: Partial<Record<PerformanceKind, { move: [number, number]; hold: [number, number] }>> = {
  snappy: { move: [4, 8], hold: [5, 14] },
  slow: { move: [18, 40], hold: [8, 24] },
  breath: { move: [8, 18], hold: [18, 60] },
};

/** A random performance of a kind, authored by poses, moves and holds; 2 to 20 s long, at one of the rates that cameras have. */
export function makePerformance(kind: PerformanceKind, seed: number): MadePerformance {
  const random = randomFrom(seed * 7919 + performanceKinds.indexOf(kind));
  const between = (a: number, b: number) => a + (b - a) * random();
  const pick = <T>(of: readonly T[]): T => of[Math.floor(random() * of.length)]!;
  const fps = pick([24, 25, 30, 30, 60, 29.97]);
  const isUneven = random() < 0.15;
  const heightPx = between(140, 480);
  const lagSec = kind === 'drag' ? between(1, 3) / 24 : random() < 0.25 ? between(0.5, 2) / 24 : 0;
  const ease = kind === 'eases' ? pick(eases.slice(1)) : minimumJerk;
  const { move: moveFrames, hold: holdFrames } = pace[kind] ?? { move: [8, 18], hold: [6, 18] };
  const breathes = kind === 'breath' || random() < 0.4;
  const breathPhase = random();
  const first: Pose = {
    rootX: 0,
    crouch: 1,
    trunk: between(-3, 3),
    head: between(-8, 8),
    turn: between(-10, 10),
    lUpper: between(5, 40),
    lFore: between(10, 60),
    rUpper: between(5, 40),
    rFore: between(10, 60),
    lFoot: 0,
    rFoot: 0,
  };
  const vary = (pose: Pose): Pose => {
    const next: Record<Channel, number> = { ...pose };
    const style = kind === 'head' ? 2 : kind === 'arms' ? 0 : random();
    if (style < 0.7)
      for (const side of random() < 0.4 ? (['l', 'r'] as const) : ([pick(['l', 'r'])] as ('l' | 'r')[])) {
        next[`${side}Upper`] = between(0, 120);
        next[`${side}Fore`] = between(0, 130);
      }
    if (style > 0.55) {
      if (style <= 1) next.trunk = between(-15, 25);
      next.head = between(-25, 25);
      if (random() < 0.5) next.turn = between(-60, 60);
    }
    if (style > 0.8 && style <= 1) next.crouch = between(0, 12);
    if (style > 0.7 && style <= 1) next.rootX = between(-6, 6);
    const size = channels.reduce((sum, c) => sum + Math.abs(next[c] - pose[c]), 0);
    return size < (kind === 'head' ? 12 : 25) ? vary(pose) : next;
  };
  const mix = (a: Pose, b: Pose, u: number): Pose =>
    Object.fromEntries(channels.map((c) => [c, a[c] + u * (b[c] - a[c])])) as Pose;

  const moves: Move[] = [];
  const keys: AuthoredTruth['keys'] = [];
  const holds: AuthoredTruth['holds'] = [];
  let t = 0;
  let pose = first;
  let holdStart: number | null = 0;
  const hold = (from: number, to: number) => {
    t += Math.round(between(from, to)) / 24;
  };
  /** Somebody who walks in arrives then; nobody set a pose before. */
  let arrivalSec = 0;
  const stepSec = between(10, 14) / 24;
  const heading = pick([-1, 1]);
  const strideShare = between(0.3, 0.42);
  if (kind === 'walkIn') {
    t = arrivalSec = stepSec * Math.round(between(3, 6));
    keys.push({ t, why: 'arrived' });
    holdStart = t;
    hold(6, 14);
  } else {
    keys.push({ t: 0, why: 'first' });
    if (random() < 0.75) hold(6, 16);
    else holdStart = null;
  }
  const reach = (to: Pose, frames: number, why: string) => {
    const lags = channels.filter((c) => Math.abs(pose[c] - to[c]) > leastChange).map((c) => (lagOf[c] ?? 0) * lagSec);
    // The least of wind-ups moves no part by as much: then nothing drags.
    const [least, most] = lags.length > 0 ? [Math.min(...lags), Math.max(...lags)] : [0, 0];
    if (holdStart !== null) {
      holds.push({ start: holdStart, end: t + least });
      if (holdStart > 0 || kind === 'walkIn') keys.push({ t: t + least, leave: true });
    }
    holdStart = null;
    const start = t;
    t += Math.round(frames) / 24;
    moves.push({ start, end: t, from: pose, to });
    pose = to;
    keys.push({ t: t + (least + most) / 2, why });
    return most;
  };
  const poses = kind === 'walkIn' ? 1 + Math.floor(random() * 3) : 2 + Math.floor(random() * 8);
  const winds = kind === 'windUps' ? 0.75 : kind === 'head' || kind === 'slow' ? 0 : 0.2;
  for (let i = 0; i < poses; i++) {
    let to = vary(pose);
    if (kind === 'steps' && random() < 0.6) {
      const by = between(6, 14) * pick([-1, 1]);
      const foot = by > 0 ? 'lFoot' : 'rFoot';
      const far = Math.max(-16, Math.min(16, to[foot] + by));
      to = { ...to, [foot]: far, rootX: (far + to[foot === 'lFoot' ? 'rFoot' : 'lFoot']) / 2 };
    }
    if (random() < winds) reach(mix(pose, to, -between(0.12, 0.25)), between(5, 9), 'anticipation');
    const over = random() < winds;
    let most = reach(over ? mix(pose, to, 1 + between(0.08, 0.18)) : to, between(...moveFrames), 'pose');
    if (over) most = reach(to, between(4, 8), 'settle');
    if (random() < 0.7 || i === poses - 1) {
      holdStart = t + most;
      hold(holdFrames[0] + most * 24, holdFrames[1] + most * 24);
    }
    if (t > 19) break;
  }
  if (holdStart === null) {
    holdStart = t + 3 / 24;
    t += 9 / 24;
  }
  const durationSec = t;
  holds.push({ start: holdStart, end: durationSec });

  const anglesAt = (sec: number): Record<Channel, number> => {
    const at: Record<Channel, number> = { ...first };
    for (const c of channels) {
      const local = sec - (lagOf[c] ?? 0) * lagSec;
      for (const m of moves) {
        if (local < m.start) break;
        at[c] += (m.to[c] - m.from[c]) * ease((local - m.start) / (m.end - m.start));
      }
    }
    return at;
  };
  /** Where the feet and hips of somebody who walks in are before they stand, heights from where they stand in the end. */
  const walkAt = (sec: number) => {
    const step = strideShare;
    const left = Math.max(0, arrivalSec - sec) / stepSec;
    // The hips go on evenly and stop within the last step.
    const u = clamp(left / 1.2);
    const hips = left >= 1.2 ? left - 0.6 : 0.6 * u * u * (2 - u) * 1;
    const foot = (side: number) => {
      // Steps end at whole numbers of `left`; feet take turns; the last step only closes up.
      const k = Math.floor(left);
      const swings = left > 0 && (k + side) % 2 === 0;
      const at = (n: number) => Math.max(0, n - 0.5);
      const standing = swings ? k + 1 : k + ((k + side) % 2 === 0 ? 1 : 0);
      if (!swings) return { x: at(k), lift: 0 };
      const v = clamp((1 - (left - k)) / 0.85);
      const x = at(standing + 1) + (at(k) - at(standing + 1)) * minimumJerk(v);
      return { x, lift: 0.035 * Math.sin(Math.PI * v) ** 2 };
    };
    const swing = 18 * Math.sin(Math.PI * left) * clamp(left / 1.5);
    return {
      hips: -heading * step * hips,
      feet: [foot(0), foot(1)].map((f) => ({ x: -heading * step * f.x, lift: f.lift })),
      swing,
      bob: left > 0 ? 0.012 * Math.sin(Math.PI * left) ** 2 * clamp(left) : 0,
    };
  };
  const shortening = { l: between(0.7, 1), r: between(0.7, 1) };
  const placesAt = (sec: number): Map<Joint, [number, number]> => {
    const a = anglesAt(sec);
    const walk = kind === 'walkIn' ? walkAt(sec) : null;
    const rad = (deg: number) => (deg * Math.PI) / 180;
    const places = new Map<Joint, [number, number]>();
    const breath = breathes ? 0.002 * Math.sin(2 * Math.PI * (sec / 3.6 + breathPhase)) : 0;
    const px = a.rootX / 100 + (walk?.hips ?? 0);
    const py = -0.53 + a.crouch / 100 + (walk?.bob ?? 0);
    const [thigh, shank] = [0.245, 0.246];
    const trunk = rad(a.trunk);
    const tx = px + 0.29 * Math.sin(trunk);
    const ty = py - (0.29 + breath) * Math.cos(trunk);
    const tilt = rad(a.head + a.trunk);
    const head = (along: number, out: number, front: number): [number, number] => {
      const across = out * Math.cos(rad(a.turn)) + front * Math.sin(rad(a.turn));
      return [
        tx + along * Math.sin(tilt) + across * Math.cos(tilt),
        ty - along * Math.cos(tilt) + across * Math.sin(tilt),
      ];
    };
    places.set('nose', head(0.12, 0, 0.07));
    places.set('mouth', head(0.095, 0, 0.06));
    for (const [side, s, k, i] of [
      ['left', 1, 'l', 0],
      ['right', -1, 'r', 1],
    ] as const) {
      const [hx, hy] = [px + s * 0.055, py];
      places.set(`${side}Hip`, [hx, hy]);
      const moving = moves.find((m) => sec > m.start && sec < m.end && m.from[`${k}Foot`] !== m.to[`${k}Foot`]);
      const lift = moving
        ? 0.04 * Math.sin(Math.PI * clamp((sec - moving.start) / (moving.end - moving.start))) ** 2
        : (walk?.feet[i]?.lift ?? 0);
      const ax = s * 0.065 + a[`${k}Foot`] / 100 + (walk?.feet[i]?.x ?? 0);
      const ay = -0.04 - lift;
      const [dx, dy] = [ax - hx, ay - hy];
      const reachOf = Math.min(thigh + shank - 1e-3, Math.hypot(dx, dy));
      const along = (thigh ** 2 - shank ** 2 + reachOf ** 2) / (2 * reachOf);
      // Knees bend towards the lens, and to the side a little; in a walk across the picture, all of it.
      const out = Math.sqrt(Math.max(0, thigh ** 2 - along ** 2)) * (walk && sec < arrivalSec ? heading : 0.3 * s);
      const d = Math.hypot(dx, dy);
      places.set(`${side}Knee`, [
        hx + (along * dx) / d + (out * dy) / d,
        hy + (along * dy) / d - ((out * dx) / d) * 0.3,
      ]);
      places.set(`${side}Ankle`, [ax, ay]);
      places.set(`${side}Heel`, [ax - s * 0.01, ay + 0.03]);
      places.set(`${side}Toe`, [ax + s * 0.04, ay + 0.035]);
      const [sx, sy] = [tx + s * 0.105 * Math.cos(trunk), ty + s * 0.105 * Math.sin(trunk)];
      places.set(`${side}Shoulder`, [sx, sy]);
      const upper = rad(a[`${k}Upper`] + (walk ? walk.swing : 0));
      const fore = upper + rad(a[`${k}Fore`]);
      const [ex, ey] = [sx + s * shortening[k] * 0.17 * Math.sin(upper), sy + 0.17 * Math.cos(upper)];
      places.set(`${side}Elbow`, [ex, ey]);
      for (const [joint, long] of [
        ['Wrist', 0.15],
        ['Hand', 0.2],
      ] as const)
        places.set(`${side}${joint}`, [ex + s * shortening[k] * long * Math.sin(fore), ey + long * Math.cos(fore)]);
      places.set(`${side}Eye`, head(0.14, s * 0.02, 0.06));
      places.set(`${side}Ear`, head(0.13, s * 0.045, 0));
    }
    return places;
  };

  const sightings = (exact: boolean): Sightings => {
    const noise = randomFrom(seed * 104729 + 1);
    const count = Math.floor(durationSec * fps + 1e-6);
    const timesSec = Float64Array.from(
      { length: count },
      (_, i) => (i + (isUneven && i > 0 ? 0.3 * (noise() - 0.5) : 0)) / fps,
    );
    const columns = emptySightingColumns(count);
    const torsoPx = 0.288 * heightPx;
    const all = [...timesSec].map(placesAt);
    detectedJoints.forEach((joint, j) => {
      const confidence = 0.8;
      const [quick, slow] = exact ? [0, 0] : [quickSdAt(joint, confidence), slowSdAt(joint, confidence)];
      let ex = normal(noise) * slow;
      let ey = normal(noise) * slow;
      for (let i = 0; i < count; i++) {
        const [x, y] = all[i]!.get(joint)!;
        const c = cell(i, j);
        const [px, py] = [x * heightPx, y * heightPx];
        columns.xPx[c] = 480 + px + (ex + quick * normal(noise)) * torsoPx;
        columns.yPx[c] = 520 + py + (ey + quick * normal(noise)) * torsoPx;
        columns.confidence[c] = confidence;
        const next = all[i + 1]?.get(joint);
        if (!next) continue;
        const [sx, sy] = [(next[0] - x) * heightPx, (next[1] - y) * heightPx];
        const length = Math.hypot(sx, sy);
        // Flow strays by a tenth of a pixel or so, and limbs that turn move unevenly around the joint.
        const stray = exact ? 0 : Math.hypot(0.0015 * torsoPx, 0.04, 0.04 * length);
        columns.onwardXPx[c] = sx + stray * normal(noise);
        columns.onwardYPx[c] = sy + stray * normal(noise);
        columns.onwardSdPx[c] = Math.max(0.1, stray);
        // The slow error hangs on the pose: it forgets itself as the joint moves, and hardly at rest.
        const dt = timesSec[i + 1]! - timesSec[i]!;
        const speed = length / torsoPx / dt;
        const keep = Math.exp((-dt / 0.5) * Math.min(1.5, 0.03 + speed));
        const fresh = Math.sqrt(1 - keep * keep) * slow;
        ex = keep * ex + fresh * normal(noise);
        ey = keep * ey + fresh * normal(noise);
      }
    });
    return {
      detector: { model: 'made', backend: 'none', millisecondsPerFrame: Number.NaN, readSeconds: Number.NaN },
      widthPx: 960,
      heightPx: 540,
      timesSec,
      ...columns,
      readCount: count,
      fineCount: count,
      followCount: count,
      peopleSeen: [],
    };
  };
  return { kind, fps, truth: { keys, holds, durationSec }, sightings };
}
