import { readFileSync } from 'node:fs';
import { cocoJoints } from '../../src/base/joints.ts';
import type { JointTruth } from '../../src/track/score.ts';
import { emptySightingColumns, type Sightings } from '../../src/track/sighting.ts';

const fixture = (path: string): string => readFileSync(new URL(`../../fixtures/${path}`, import.meta.url), 'utf8');

/** Sightings as `fixtures/packSightings.ts` packs them. */
export interface KeptFile {
  readonly model: string;
  readonly backend: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly timesSec: readonly number[];
  readonly xTenths: readonly (number | null)[];
  readonly yTenths: readonly (number | null)[];
  readonly confidenceHundredths: readonly (number | null)[];
  readonly depthTenths: readonly (number | null)[];
  readonly onwardXHundredths: readonly (number | null)[];
  readonly onwardYHundredths: readonly (number | null)[];
  readonly onwardSdHundredths: readonly (number | null)[];
  readonly peopleSeen: Sightings['peopleSeen'];
}

/** What the accurate detector saw in one of our takes (written by `fixtures/keepSightings.ts`). */
export function keptSightings(take: string): Sightings {
  return unpackSightings(JSON.parse(fixture(`sightings/${take}.json`)) as KeptFile);
}

/** Sightings as they were before they were packed. */
export function unpackSightings(kept: KeptFile): Sightings {
  const pictures = kept.timesSec.length;
  const columns = emptySightingColumns(pictures);
  const fill = (into: Float32Array, whole: readonly (number | null)[], factor: number): void => {
    for (const [i, v] of whole.entries()) into[i] = v === null ? Number.NaN : v / factor;
  };
  fill(columns.xPx, kept.xTenths, 10);
  fill(columns.yPx, kept.yTenths, 10);
  fill(columns.confidence, kept.confidenceHundredths, 100);
  fill(columns.depthPx, kept.depthTenths, 10);
  fill(columns.onwardXPx, kept.onwardXHundredths, 100);
  fill(columns.onwardYPx, kept.onwardYHundredths, 100);
  fill(columns.onwardSdPx, kept.onwardSdHundredths, 100);
  return {
    detector: {
      model: kept.model,
      backend: kept.backend,
      millisecondsPerFrame: Number.NaN,
      readSeconds: Number.NaN,
    },
    widthPx: kept.widthPx,
    heightPx: kept.heightPx,
    timesSec: Float64Array.from(kept.timesSec),
    ...columns,
    readCount: kept.timesSec.length,
    peopleSeen: kept.peopleSeen,
  };
}

/** Where the joints of one of our takes really are. */
export function takeTruth(take: string): JointTruth {
  const { pose } = JSON.parse(fixture(`takes/${take}.truth.json`)) as {
    pose: { t: number; joints: Record<string, [number, number, number]> }[];
  };
  const snake = (joint: string): string => joint.replace(/[A-Z]/g, (c) => `_${c.toLowerCase()}`);
  return {
    timesSec: Float64Array.from(pose, (p) => p.t),
    joints: new Map(
      cocoJoints.map((joint) => {
        const at = pose.map((p) => p.joints[snake(joint)]!);
        return [
          joint,
          {
            xPx: Float64Array.from(at, (a) => a[0]),
            yPx: Float64Array.from(at, (a) => a[1]),
            visible: Uint8Array.from(at, (a) => a[2]),
          },
        ];
      }),
    ),
  };
}
