import { readFileSync } from 'node:fs';
import { detectedJoints } from '../../src/base/joints.ts';
import type { JointTruth } from '../../src/track/score.ts';
import type { Sightings } from '../../src/track/sighting.ts';

const fixture = (path: string): string => readFileSync(new URL(`../../fixtures/${path}`, import.meta.url), 'utf8');

interface KeptFile {
  readonly model: string;
  readonly backend: string;
  readonly widthPx: number;
  readonly heightPx: number;
  readonly timesSec: readonly number[];
  readonly xTenths: readonly (number | null)[];
  readonly yTenths: readonly (number | null)[];
  readonly confidenceHundredths: readonly (number | null)[];
  readonly peopleSeen: Sightings['peopleSeen'];
}

/** What the accurate detector saw in one of our takes (written by `fixtures/keepSightings.ts`). */
export function keptSightings(take: string): Sightings {
  const kept = JSON.parse(fixture(`sightings/${take}.json`)) as KeptFile;
  const column = (whole: readonly (number | null)[], factor: number): Float32Array =>
    Float32Array.from(whole, (v) => (v === null ? Number.NaN : v / factor));
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
    xPx: column(kept.xTenths, 10),
    yPx: column(kept.yTenths, 10),
    confidence: column(kept.confidenceHundredths, 100),
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
      detectedJoints.map((joint) => {
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
