import type { Job } from '../ingest/calls.ts';
import type { OpenTake } from '../ingest/openTake.ts';
import { emptySightingColumns } from '../track/sighting.ts';
import { type FineModels, seeFinely, unseenRow } from './looks.ts';
import { Outbox } from './outbox.ts';
import { walkPictures } from './pictureWalk.ts';
import type { ReadProgress, RefineRequest } from './protocol.ts';

/**
 * The fine pass over a run of pictures: every one is looked at within its own crop and independently of the others, so
 * that several workers may share a take. Where no crop is given, nobody is seen.
 * @throws WorldFailure; an AbortError when the job is cancelled.
 */
export async function refineTake(
  take: OpenTake,
  models: FineModels,
  request: Pick<RefineRequest, 'stampsSec' | 'crops' | 'from' | 'to'>,
  job: Job<ReadProgress>,
): Promise<void> {
  const { stampsSec, crops, from, to } = request;
  const places = Array.from(stampsSec.subarray(from, to), (stamp) => take.placeOfStamp(stamp));
  const pictureAt = new Map(places.map((place, i) => [place, from + i]));
  const known = places.filter((place) => place >= 0);
  if (known.length === 0) return;
  const outbox = new Outbox(job, emptySightingColumns(stampsSec.length));
  const run = { from: known[0]!, to: known[known.length - 1]! + 1 };
  await walkPictures(take, run, job, async (picture) => {
    const i = pictureAt.get(picture.index);
    if (i === undefined) return;
    const crop = { centreX: crops.centreX[i]!, centreY: crops.centreY[i]!, side: crops.side[i]! };
    outbox.add(i, crop.side > 0 ? await seeFinely(picture, models, crop) : unseenRow());
  });
  outbox.send();
}
