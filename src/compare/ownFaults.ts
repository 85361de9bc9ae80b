import { gridTimesSec } from '../base/frameGrid.ts';
import type { FrameRate } from '../base/frameRate.ts';
import { type Joint, jointWords } from '../base/joints.ts';
import type { ArcFault } from '../timing/arcFault.ts';
import { arcJoints, beyondNoise } from '../timing/arcFaults.ts';
import { evenFaults } from '../timing/evenFaults.ts';
import { kneeFaults } from '../timing/kneeFaults.ts';
import { movesOf } from '../timing/spacingChart.ts';
import { makeTimeMap, ownTiming } from '../timing/timeMap.ts';
import { asFilmed, type Exposure, type Hold, type Key, type Timing } from '../timing/timing.ts';
import type { JointPath, Motion } from '../track/motion.ts';
import type { Finding } from './finding.ts';
import { columnAt, type JointPlaces } from './places.ts';
import type { PlannedKey } from './shot.ts';

/** A row of poses with its keys and holds, as the timing room's fault finders want it. */
export interface Row {
  /** Millimetres, y down. Shape [exposure]. */
  readonly places: JointPlaces;
  readonly exposures: readonly Exposure[];
  readonly keys: readonly PlannedKey[];
  readonly holds: readonly Hold[];
  readonly rate: FrameRate;
  readonly sizeMm: number;
}

/**
 * Those faults of a row of exposures that no pose by itself shows: even spacing and knees that snap, largest first. To look for the others, which
 * the plan tells more surely, would take several times as long.
 */
export function spacingAndKneeFaults(row: Row): ArcFault[] {
  const timing = asTiming(row);
  const moves = movesOf(timing);
  const even = arcJoints
    .filter((joint) => timing.motion.paths.has(joint))
    .flatMap((joint) => evenFaults(timing, joint, moves, jointWords));
  return [...even, ...kneeFaults(timing, 'exposures', jointWords)].sort((a, b) => beyondNoise(b) - beyondNoise(a));
}

/** Faults of the shot that the plan does not have: of the same kind and joint, at about the same frames and nearly as large. */
export function ownFindings(shot: readonly ArcFault[], plan: readonly ArcFault[], sizeMm: number): Finding[] {
  const own = shot.filter(
    (f) =>
      !plan.some(
        (p) =>
          p.kind === f.kind && p.part === f.part && Math.abs(p.atFrame - f.atFrame) <= 4 && p.sizeMm > f.sizeMm / 2,
      ),
  );
  return own.map((f) => ({
    kind: f.kind,
    joint: f.part as Joint,
    also: [],
    firstFrame: f.firstFrame,
    frames: f.frames,
    atFrame: f.atFrame,
    size: f.sizeMm,
    unit: 'mm',
    sd: f.sdMm,
    weight: (f.sizeMm - 2 * f.sdMm) / (0.006 * sizeMm) / (f.kind === 'evenSpacing' ? 4 : 1),
    sentence: f.sentence,
  }));
}

/** A row of exposures by itself, whatever the plan was, as faults are looked for in. Frames count from the row's own first. */
export function asTiming({ places, exposures, keys, holds, rate, sizeMm }: Row): Timing {
  const last = exposures.at(-1)!;
  const frameCount = last.firstFrame + last.frames;
  const grid = { rate, frameCount, startSec: 0 };
  const takeTimeSec = gridTimesSec(grid);
  const endSec = (frameCount * rate.seconds) / rate.frames;
  return {
    choices: {
      rate,
      startSec: 0,
      endSec,
      onFrames: 1,
      keyCount: null,
      pinnedKeys: [],
      removedKeysSec: [],
      retiming: ownTiming,
      exaggeration: asFilmed,
      handContacts: [],
      exposureBudget: null,
      exposureSpans: [],
      exposedFrames: [],
      puppetHeightMm: sizeMm,
      smallestStepMm: 0.3,
    },
    grid,
    map: makeTimeMap(ownTiming, 0, endSec),
    takeTimeSec,
    motion: perFrame(places, exposures, takeTimeSec),
    activity: new Float64Array(frameCount),
    keys: keys.map(
      (k): Key => ({ ...k, takeSec: takeTimeSec[k.frameIndex] ?? 0, anchorSec: 0, reasons: [], locked: false }),
    ),
    keyCurve: [],
    holds,
    cutFrames: [],
    forcedFrames: [],
    exposures,
    phase: 0,
    bodyHeightPx: sizeMm,
    mmPerPx: 1,
    joints: [...places.at.keys()],
  };
}

/** Each exposure's pose on all its frames: what is on screen. */
function perFrame({ at }: JointPlaces, exposures: readonly Exposure[], timesSec: Float64Array): Motion {
  const n = timesSec.length;
  const shown = new Int32Array(n);
  exposures.forEach((e, i) => {
    shown.fill(i, e.firstFrame, e.firstFrame + e.frames);
  });
  const paths = new Map<Joint, JointPath>();
  for (const [joint, { x, y, sd }] of at) {
    const spread = (column: Float64Array) => Float64Array.from(shown, (i) => column[i]!);
    paths.set(joint, {
      xPx: spread(x),
      yPx: spread(y),
      vxPx: new Float64Array(n),
      vyPx: new Float64Array(n),
      sdPx: spread(sd),
      confidence: new Float32Array(n).fill(1),
      guessed: new Uint8Array(n),
    });
  }
  return { timesSec, paths };
}

/** The planned poses at frames of the plan, as sure as the shot's are. Shape [exposure]. */
export function plannedRow(planned: JointPlaces, planFrame: Float64Array, shot: JointPlaces): JointPlaces {
  const at = new Map(
    [...shot.at].flatMap(([joint, { sd }]) => {
      const plan = planned.at.get(joint);
      if (!plan) return [];
      const x = planFrame.map((f) => columnAt(plan.x, f));
      const y = planFrame.map((f) => columnAt(plan.y, f));
      return [[joint, { x, y, sd }] as const];
    }),
  );
  return { count: planFrame.length, at };
}
