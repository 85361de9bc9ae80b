import { detectedJoints, sideFollowers, sidePairs } from '../base/joints.ts';
import { type ExpectedMove, type PatchStep, patchAround, patchStep } from '../flow/patchStep.ts';
import { makePyramid, type Pyramid } from '../flow/pyramid.ts';
import type { Job } from '../ingest/calls.ts';
import type { OpenTake } from '../ingest/openTake.ts';
import type { Region } from '../ingest/pixels.ts';
import { fitTracks } from '../track/fitTracks.ts';
import type { Motion } from '../track/motion.ts';
import { cell, type Sightings } from '../track/sighting.ts';
import { walkLuma } from './pictureWalk.ts';
import type { FollowRequest, ReadProgress, StepsBatch } from './protocol.ts';

/** Points are laid this far around a joint, torso lengths. */
const reachOfTorso = 0.15;
/** The detector's tracks say where a joint goes until the next picture to about this, sd, torso lengths. */
const expectedSdOfTorso = 0.02;
/** A torso longer than this many samples is made so long: more pixels cost time and hardly tell more. */
const longestTorso = 160;
/** Levels of the pyramid: on the coarsest a window of 15 samples spans most of a torso. */
const levels = 4;
/** Room around the joints, torso lengths, so that windows lie inside the region. */
const marginOfTorso = 0.6;
/** Rows are sent this many at a time. */
const batchLength = 15;

/** Where one joint of a row is looked for in a picture, and where it is likely to go until the next. */
interface Anchor {
  readonly xPx: number;
  readonly yPx: number;
  readonly dxPx: number;
  readonly dyPx: number;
}

/**
 * Measures how far the picture around each joint goes from picture to picture, for rows `from` ≤ i < `to` of sightings.
 * The places are those of tracks fitted to the sightings, which lie nearer to the joint than single sightings do and go
 * on where one is missing; a row's left is the track's right where the tracks took the detector's sides to be exchanged.
 * @throws WorldFailure; an AbortError when the job is cancelled.
 */
export async function followPicture(
  take: OpenTake,
  { sightings, stampsSec, from, to }: Pick<FollowRequest, 'sightings' | 'stampsSec' | 'from' | 'to'>,
  job: Job<ReadProgress>,
): Promise<void> {
  const tracks = fitTracks(sightings, []);
  // Too short a take, or too little of the body, for a torso to be measured: nothing tells how far to look.
  if (tracks.joints.length === 0 || !(tracks.torsoPx > 0)) return;
  const motion = tracks.at(sightings.timesSec);
  const region = regionOfMotion(motion, tracks.torsoPx, sightings);
  if (!region) return;
  const last = Math.min(to, stampsSec.length - 1);
  const rowAt = new Map<number, number>();
  for (let i = from; i <= last; i++) {
    const place = take.placeOfStamp(stampsSec[i]!);
    if (place >= 0) rowAt.set(place, i);
  }
  if (rowAt.size < 2) return;
  const places = [...rowAt.keys()];
  const scale = Math.min(1, longestTorso / tracks.torsoPx);
  const width = Math.round(region.width * scale);
  const height = Math.round(region.height * scale);
  const torso = tracks.torsoPx * scale;
  const outbox = new StepsOutbox(job);
  let before: Pyramid | undefined;
  let spare: Pyramid | undefined;
  let beforeRow = -1;
  await walkLuma(
    take,
    { from: places[0]!, to: places[places.length - 1]! + 1 },
    region,
    width,
    height,
    job,
    (place, luma) => {
      const row = rowAt.get(place);
      if (row === undefined) return;
      const pyramid = makePyramid(luma, width, height, levels, spare);
      if (before && beforeRow === row - 1)
        outbox.add(
          beforeRow,
          anchorsOf(motion, sightings, beforeRow).map((anchor) => {
            if (!anchor) return null;
            const x = (anchor.xPx - region.x) * scale;
            const y = (anchor.yPx - region.y) * scale;
            if (!(x >= 0 && y >= 0 && x < width && y < height)) return null;
            const expected: ExpectedMove = {
              dxPx: anchor.dxPx * scale,
              dyPx: anchor.dyPx * scale,
              sdPx: expectedSdOfTorso * torso,
            };
            return unscaled(patchStep(before!, pyramid, patchAround(x, y, reachOfTorso * torso), expected), scale);
          }),
        );
      spare = before;
      before = pyramid;
      beforeRow = row;
    },
  );
  outbox.send();
}

function unscaled(step: PatchStep, scale: number): PatchStep {
  return { ...step, dxPx: step.dxPx / scale, dyPx: step.dyPx / scale, sdPx: step.sdPx / scale };
}

/** The part of the picture that the performer's joints come to lie in, whole pixels. Null when none does. */
function regionOfMotion(motion: Motion, torsoPx: number, { widthPx, heightPx }: Sightings): Region | null {
  let left = widthPx;
  let right = 0;
  let top = heightPx;
  let bottom = 0;
  for (const path of motion.paths.values())
    for (let i = 0; i < path.xPx.length; i++) {
      const x = path.xPx[i]!;
      const y = path.yPx[i]!;
      if (!(x >= 0 && y >= 0 && x <= widthPx && y <= heightPx)) continue;
      left = Math.min(left, x);
      right = Math.max(right, x);
      top = Math.min(top, y);
      bottom = Math.max(bottom, y);
    }
  if (right <= left || bottom <= top) return null;
  const room = marginOfTorso * torsoPx;
  const x = Math.max(0, Math.floor(left - room));
  const y = Math.max(0, Math.floor(top - room));
  return {
    x,
    y,
    width: Math.min(widthPx, Math.ceil(right + room)) - x,
    height: Math.min(heightPx, Math.ceil(bottom + room)) - y,
  };
}

/** The other one of a pair, by place in a row; absent = the joint has no partner. */
const partners: ReadonlyMap<number, number> = new Map(
  [...sidePairs, ...sideFollowers.map((f) => f.pair)].flatMap(([left, right]) => {
    const l = detectedJoints.indexOf(left);
    const r = detectedJoints.indexOf(right);
    return [
      [l, r],
      [r, l],
    ] as [number, number][];
  }),
);

/** Where the joints of a row are to be looked for. Shape [joint]; null = nothing is known of it. */
function anchorsOf(motion: Motion, s: Sightings, row: number): (Anchor | null)[] {
  const place = (j: number): Anchor | null => {
    const path = motion.paths.get(detectedJoints[j]!);
    if (!path || Number.isNaN(path.xPx[row]!)) return null;
    return {
      xPx: path.xPx[row]!,
      yPx: path.yPx[row]!,
      dxPx: path.xPx[row + 1]! - path.xPx[row]!,
      dyPx: path.yPx[row + 1]! - path.yPx[row]!,
    };
  };
  return detectedJoints.map((_, j) => {
    const own = place(j);
    const partner = partners.get(j);
    const other = partner === undefined ? null : place(partner);
    const x = s.xPx[cell(row, j)]!;
    const y = s.yPx[cell(row, j)]!;
    if (!other || !own || Number.isNaN(x)) return own;
    return Math.hypot(other.xPx - x, other.yPx - y) < Math.hypot(own.xPx - x, own.yPx - y) ? other : own;
  });
}

/** Keeps measured rows and sends them to the page, some at a time. */
class StepsOutbox {
  readonly #job: Job<ReadProgress>;
  readonly #rows: { readonly picture: number; readonly steps: readonly (PatchStep | null)[] }[] = [];

  constructor(job: Job<ReadProgress>) {
    this.#job = job;
  }

  add(picture: number, steps: readonly (PatchStep | null)[]): void {
    this.#rows.push({ picture, steps });
    if (this.#rows.length >= batchLength) this.send();
  }

  send(): void {
    if (this.#rows.length === 0) return;
    const column = (of: (step: PatchStep) => number) =>
      Float32Array.from(this.#rows.flatMap(({ steps }) => steps.map((step) => (step ? of(step) : Number.NaN))));
    const batch: StepsBatch = {
      pictures: Int32Array.from(this.#rows, (row) => row.picture),
      onwardXPx: column((step) => step.dxPx),
      onwardYPx: column((step) => step.dyPx),
      onwardSdPx: column((step) => step.sdPx),
    };
    this.#rows.length = 0;
    this.#job.progress({ kind: 'steps', batch });
  }
}
