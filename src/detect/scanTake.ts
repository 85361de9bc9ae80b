import type { Job } from '../ingest/calls.ts';
import type { OpenTake } from '../ingest/openTake.ts';
import { checkSightings, emptySightingColumns, type Sightings, sightingRows } from '../track/sighting.ts';
import { ActorReader } from './actorReader.ts';
import { cropOfBox, type SeenPose } from './crop.ts';
import { see, unseenRow } from './looks.ts';
import { Outbox, rowOf } from './outbox.ts';
import { type Crowd, choosePerformer, performerBoxes } from './performer.ts';
import { walkPictures } from './pictureWalk.ts';
import type { PeopleFinder, PoseModel } from './poseModel.ts';
import type { DetectorChoice, PerformerAt, ReadProgress, ScanRequest, TakeReading } from './protocol.ts';
import { type Stray, strayOf, sureness } from './strays.ts';

/** The models of a quick reading, and why they run where they do. */
export interface Detector {
  readonly model: PoseModel;
  readonly finder: PeopleFinder | null;
  readonly choice: DetectorChoice;
}

/** While several people are about, they are looked for at least this often, seconds. */
const crowdedEverySec = 0.1;

/**
 * The quick pass: one look at every picture, following an actor, and people looked for now and then. When all has been
 * seen, the performer is chosen over the whole take, and pictures in which somebody else was followed are looked at once
 * more. Nothing is kept of a picture but its joints.
 * @throws WorldFailure; an AbortError when the job is cancelled.
 */
export async function scanTake(
  take: OpenTake,
  detector: Detector,
  request: Pick<ScanRequest, 'countPeopleEverySec' | 'performer' | 'before'>,
  job: Job<ReadProgress>,
): Promise<TakeReading> {
  const { footage } = take;
  const { before } = request;
  const from = before?.readCount ?? 0;
  const outbox = new Outbox(job, before?.columns ?? emptySightingColumns(footage.timesSec.length));
  outbox.peopleSeen.push(...(before?.people ?? []));
  take.trustDecoded(from);
  const began = performance.now();
  const { crowds, waited } = await followActor(take, detector, request.countPeopleEverySec, outbox, from, job);
  outbox.send();
  const waitedMore = await lookAgain(take, detector.model, crowds, request.performer, outbox, from, job);
  outbox.send();

  const settled = take.settle();
  const readSeconds = (performance.now() - began - waited - waitedMore) / 1000;
  const sightings: Sightings = {
    detector: {
      model: detector.choice.model,
      backend: detector.choice.backend,
      millisecondsPerFrame: (1000 * readSeconds) / Math.max(1, settled.kept.length - from),
      readSeconds,
    },
    widthPx: footage.widthPx,
    heightPx: footage.heightPx,
    timesSec: settled.footage.timesSec,
    ...sightingRows(outbox.columns, settled.kept),
    readCount: settled.kept.length,
    peopleSeen: outbox.peopleSeen,
  };
  checkSightings(sightings);
  return { footage: settled.footage, sightings, detector: detector.choice, pixelWay: take.pixelWay() };
}

async function followActor(
  take: OpenTake,
  detector: Detector,
  countEverySec: number,
  outbox: Outbox,
  from: number,
  job: Job<ReadProgress>,
): Promise<{ crowds: Crowd[]; waited: number }> {
  const { widthPx, heightPx, timesSec } = take.footage;
  const reader = new ActorReader(detector.model, detector.finder, widthPx, heightPx);
  if (from > 0) reader.followFrom(rowOf(outbox.columns, from - 1));
  const crowds: Crowd[] = [];
  let nextCountSec = countEverySec > 0 ? 0 : Number.POSITIVE_INFINITY;
  let nextLookSec = nextCountSec;
  const waited = await walkPictures(take, { from, to: timesSec.length }, job, async (picture) => {
    const timeSec = timesSec[picture.index]!;
    const isCounted = timeSec >= nextCountSec - 1e-9;
    const { pose, people } = await reader.read(picture, timeSec >= nextLookSec - 1e-9);
    if (isCounted) nextCountSec = timeSec + countEverySec;
    if (people) {
      crowds.push({ picture: picture.index, timeSec, people });
      outbox.peopleSeen.push({ timeSec, count: people.length });
      nextLookSec = Math.min(nextCountSec, people.length > 1 ? timeSec + crowdedEverySec : Number.POSITIVE_INFINITY);
    }
    outbox.add(picture.index, pose);
  });
  return { crowds, waited };
}

/** Looks once more at the pictures from `from` on in which the actor who was followed was not the performer. */
async function lookAgain(
  take: OpenTake,
  model: PoseModel,
  crowds: readonly Crowd[],
  pointed: readonly PerformerAt[],
  outbox: Outbox,
  from: number,
  job: Job<ReadProgress>,
): Promise<number> {
  const { widthPx, heightPx, timesSec } = take.footage;
  const chosen = choosePerformer(crowds, pointed);
  // Where the finder hardly saw anybody it has nothing to say about who was followed: one find may be a ghost.
  if (chosen.filter((person) => person >= 0).length < 2) return 0;
  const boxes = performerBoxes(crowds, chosen, timesSec);
  const judge = (picture: number, pose: SeenPose): Stray | null => {
    const c = nearestCrowd(crowds, timesSec[picture]!);
    const crowd = crowds[c] ?? null;
    return strayOf(pose, timesSec[picture]!, boxes[picture]!, crowd, chosen[c] ?? -1, widthPx, heightPx);
  };
  const again: number[] = [];
  for (let i = from; i < timesSec.length; i++) {
    const pose = rowOf(outbox.columns, i);
    // Not decoded: there is nothing to look at.
    if (Number.isNaN(pose.xPx[0]!)) continue;
    const stray = judge(i, pose);
    if (stray === 'nobody-there') outbox.add(i, unseenRow());
    else if (stray) again.push(i);
  }
  if (again.length === 0) return 0;
  const isDue = new Set(again);
  return walkPictures(take, { from: again[0]!, to: again[again.length - 1]! + 1 }, job, async (picture) => {
    const box = boxes[picture.index];
    if (!isDue.has(picture.index) || !box) return;
    const first = rowOf(outbox.columns, picture.index);
    const pose = await see(picture, model, cropOfBox(box));
    if (judge(picture.index, pose) === null) outbox.add(picture.index, pose);
    else if (judge(picture.index, first) === 'somebody-else') outbox.add(picture.index, unseenRow());
    else if (sureness(pose) > sureness(first)) outbox.add(picture.index, pose);
  });
}

function nearestCrowd(crowds: readonly Crowd[], timeSec: number): number {
  let nearest = -1;
  for (const [c, crowd] of crowds.entries())
    if (nearest < 0 || Math.abs(crowd.timeSec - timeSec) < Math.abs(crowds[nearest]!.timeSec - timeSec)) nearest = c;
  return nearest;
}
