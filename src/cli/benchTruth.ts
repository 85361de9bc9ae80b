import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { type DetectedJoint, detectedJoints } from '../base/joints.ts';
import type { JointTruth } from '../track/score.ts';
import type { DeadStop } from '../track/scoreMoments.ts';

/** A take whose truth is known, as a file pair NAME.mp4 + NAME.truth.json. */
export interface TruthTake {
  readonly name: string;
  readonly videoPath: string;
  readonly truth: JointTruth;
  /** Poses that were authored, take seconds. Null where the truth says nothing of keys. */
  readonly keys: readonly TrueKey[] | null;
  /** Null where the truth says nothing of holds. */
  readonly holds: readonly { readonly startSec: number; readonly endSec: number }[] | null;
  /** True where somebody else stays in the picture throughout, so that nothing says who is to be followed. */
  readonly isShared: boolean;
  /** Moments at which a joint that was at full speed stands still. Empty where the truth says nothing of them. */
  readonly stops: readonly DeadStop[];
}

/** One authored pose and the time it is kept: from arriving until leaving (the same where it only turns). */
export interface TrueKey {
  readonly arriveSec: number;
  readonly leaveSec: number;
}

/** The parts of a truth file that are measured against. */
interface TruthFile {
  /** Joint names in snake or camel case → [x px, y px, 1 if visible]. */
  readonly pose?: readonly { readonly t: number; readonly joints: Readonly<Record<string, readonly number[]>> }[];
  /** `leave`: not a pose of its own, but the moment at which the one before is left. */
  readonly keys?: readonly { readonly t: number; readonly leave?: boolean }[];
  readonly holds?: readonly { readonly start: number; readonly end: number }[];
  readonly stops?: readonly { readonly t: number; readonly joint: string }[];
  /** `in_picture`: when they are there, if not throughout. */
  readonly others?: readonly { readonly in_picture?: unknown }[];
}

/** Shorter takes are there for tests of their own; nothing can be measured on them. */
const leastSec = 0.5;

/**
 * Every take in a folder whose truth holds the performer's joints; a ball's or a pendulum's is passed over. Where others
 * come into the picture the performer is the truth's own `pose`, theirs stand apart.
 */
export function truthTakes(folder: string): TruthTake[] {
  const names = readdirSync(folder)
    .filter((file) => file.endsWith('.truth.json'))
    .map((file) => file.slice(0, -'.truth.json'.length))
    .sort();
  return names.flatMap((name) => {
    const videoPath = join(folder, `${name}.mp4`);
    const file = JSON.parse(readFileSync(join(folder, `${name}.truth.json`), 'utf8')) as TruthFile;
    if (!file.pose || !existsSync(videoPath)) return [];
    const truth = jointTruth(file.pose);
    if (truth.joints.size === 0 || !((truth.timesSec.at(-1) ?? 0) >= leastSec)) return [];
    const holds = file.holds?.map((h) => ({ startSec: h.start, endSec: h.end })) ?? null;
    const stops = (file.stops ?? []).flatMap(({ t, joint }) => {
      const known = detectedJoint(joint);
      return known ? [{ joint: known, sec: t }] : [];
    });
    const keys = file.keys ? trueKeys(file.keys, holds ?? []) : null;
    const isShared = file.others?.some((other) => !other.in_picture) ?? false;
    return [{ name, videoPath, truth, keys, holds, isShared, stops }];
  });
}

function jointTruth(pose: NonNullable<TruthFile['pose']>): JointTruth {
  const joints = new Map<DetectedJoint, { xPx: Float64Array; yPx: Float64Array; visible: Uint8Array }>();
  const first = pose[0]?.joints ?? {};
  for (const name of Object.keys(first)) {
    const joint = detectedJoint(name);
    if (!joint) continue;
    const column = (i: number) => Float64Array.from(pose, (p) => p.joints[name]?.[i] ?? Number.NaN);
    joints.set(joint, {
      xPx: column(0),
      yPx: column(1),
      visible: Uint8Array.from(column(2), (v) => (v >= 0.5 ? 1 : 0)),
    });
  }
  return { timesSec: Float64Array.from(pose, (p) => p.t), joints };
}

/** Folds "left here" entries into the pose before them; a pose at which a hold begins is kept until that ends. */
function trueKeys(keys: NonNullable<TruthFile['keys']>, holds: NonNullable<TruthTake['holds']>): TrueKey[] {
  return keys.flatMap((key, i) => {
    if (key.leave) return [];
    const next = keys[i + 1];
    const hold = holds.find((h) => Math.abs(h.startSec - key.t) < 0.02);
    return [{ arriveSec: key.t, leaveSec: next?.leave ? next.t : (hold?.endSec ?? key.t) }];
  });
}

/** The joint of this name in snake or camel case. */
function detectedJoint(name: string): DetectedJoint | undefined {
  const camelCase = name.replace(/_(.)/g, (_, letter: string) => letter.toUpperCase());
  return detectedJoints.find((joint) => joint === camelCase);
}
