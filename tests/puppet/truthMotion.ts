import { readFileSync } from 'node:fs';
import { type DetectedJoint, detectedJoints } from '../../src/base/joints.ts';
import { constructJoints } from '../../src/track/constructed.ts';
import type { JointPath, Motion } from '../../src/track/motion.ts';

/** A contact as it was authored, seconds. */
export interface TrueContact {
  readonly side: 'left' | 'right';
  readonly startSec: number;
  readonly endSec: number;
}

/** A take of ours as it really was: exact places of joints, cubic between pictures, and when feet stand. */
export interface TrueTake {
  readonly heightPx: number;
  readonly durationSec: number;
  readonly contacts: readonly TrueContact[];
  /** The motion at times within the take. */
  at(timesSec: Float64Array): Motion;
}

/** Reads a take's truth. The performer's height comes from the limbs: shares of a standing height (Drillis & Contini). */
export function trueTake(name: string): TrueTake {
  const file = JSON.parse(readFileSync(new URL(`../../fixtures/takes/${name}.truth.json`, import.meta.url), 'utf8'));
  const pose = file.pose as { t: number; joints: Record<string, number[]> }[];
  const times = pose.map((p) => p.t);
  const snake = (joint: string) => joint.replace(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`);
  const columns = new Map<DetectedJoint, [number[], number[]]>();
  for (const joint of detectedJoints) {
    const each = pose.map((p) => p.joints[snake(joint)] ?? p.joints[joint]);
    if (each.every((at) => at !== undefined))
      columns.set(joint, [each.map((at) => at![0]!), each.map((at) => at![1]!)]);
  }
  const longest = (a: DetectedJoint, b: DetectedJoint) => {
    const [p, q] = [columns.get(a)!, columns.get(b)!];
    return Math.max(...p[0].map((_, i) => Math.hypot(q[0][i]! - p[0][i]!, q[1][i]! - p[1][i]!)));
  };
  const leg = longest('leftHip', 'leftKnee') + longest('leftKnee', 'leftAnkle');
  const heightPx = leg / (0.245 + 0.246);
  return {
    heightPx,
    durationSec: file.duration ?? times.at(-1)!,
    contacts: (file.contacts ?? []).flatMap((c: { joint: string; start: number; end: number }) =>
      /ankle/.test(c.joint)
        ? [{ side: c.joint.startsWith('left') ? 'left' : 'right', startSec: c.start, endSec: c.end }]
        : [],
    ),
    at(timesSec) {
      const paths = new Map<DetectedJoint, JointPath>();
      for (const [joint, [x, y]] of columns) paths.set(joint, pathOf(times, x, y, timesSec));
      constructJoints(paths as Map<string, JointPath>, heightPx);
      return { timesSec, paths };
    },
  };
}

function pathOf(times: readonly number[], x: readonly number[], y: readonly number[], at: Float64Array): JointPath {
  const n = at.length;
  return {
    xPx: at.map((t) => cubicAt(times, x, t)),
    yPx: at.map((t) => cubicAt(times, y, t)),
    vxPx: new Float64Array(n),
    vyPx: new Float64Array(n),
    sdPx: new Float64Array(n).fill(0.1),
    confidence: new Float32Array(n).fill(1),
    guessed: new Uint8Array(n),
  };
}

/** Catmull–Rom between pictures. */
function cubicAt(times: readonly number[], v: readonly number[], t: number): number {
  let i = times.findLastIndex((sec) => sec <= t);
  i = Math.max(0, Math.min(times.length - 2, i));
  const u = Math.min(1, Math.max(0, (t - times[i]!) / (times[i + 1]! - times[i]!)));
  const [p0, p1, p2, p3] = [v[Math.max(0, i - 1)]!, v[i]!, v[i + 1]!, v[Math.min(v.length - 1, i + 2)]!];
  return p1 + 0.5 * u * (p2 - p0 + u * (2 * p0 - 5 * p1 + 4 * p2 - p3 + u * (3 * (p1 - p2) + p3 - p0)));
}
