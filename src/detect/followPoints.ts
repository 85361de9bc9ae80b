import { PropLeg } from '../flow/propLeg.ts';
import { makePyramid, type Pyramid } from '../flow/pyramid.ts';
import type { Job } from '../ingest/calls.ts';
import type { OpenTake } from '../ingest/openTake.ts';
import { walkLuma } from './pictureWalk.ts';
import type { FollowPointsRequest, PointLeg, PointsProgress } from './protocol.ts';

/**
 * Pictures are followed at a size whose longer side has at most so many samples: the windows about a point then hold about as
 * much of a ball or a tail in every take, and a tenth of a sample is sure to a fifth of a pixel of a picture twice as large.
 */
const longestSide = 960;
const levels = 4;
/** A take is walked backward in runs of so many pictures, each decoded forward and kept meanwhile (16 MB at most). */
const backwardRun = 30;
/** How far the walk has come is told every so many pictures. */
const toldEvery = 10;

/**
 * Legs as they were left, by where they set out: a shot grows still by still, and following it all from its first picture would take
 * longer with each. What a follower knows (looks, and where they were) is more than its trace tells, so it lives as long as the worker.
 */
export type KeptLegs = Map<string, PropLeg>;

/** No shot has more marks than some dozens; those left longest are forgotten. */
const mostKept = 400;

interface Walker {
  readonly plan: PointLeg;
  readonly leg: PropLeg;
  told: boolean;
}

/**
 * Follows marked points along their legs: all forward legs in one walk over the pictures, then all backward ones in another.
 * A leg is told when it is done. One that was followed before, as far as is known of it, goes on from there: it comes out the very same.
 * @param kept legs of before; those of now are left in it.
 * @throws WorldFailure; an AbortError when the job is cancelled, with the legs told until then standing.
 */
export async function followPoints(
  take: OpenTake,
  { legs, stampsSec }: Pick<FollowPointsRequest, 'legs' | 'stampsSec'>,
  job: Job<PointsProgress>,
  kept: KeptLegs = new Map(),
): Promise<void> {
  const { widthPx, heightPx } = take.footage;
  const scale = Math.min(1, longestSide / Math.max(widthPx, heightPx));
  const width = Math.round(widthPx * scale);
  const height = Math.round(heightPx * scale);
  const placeOf = Array.from(stampsSec, (stamp) => take.placeOfStamp(stamp));
  const pictureAt = new Map(placeOf.map((place, picture) => [place, picture]));
  const walkers = legs.map((plan): Walker => {
    const [xPx, yPx] = [plan.xPx * (width / widthPx), plan.yPx * (height / heightPx)];
    const key = [width, height, plan.from, Math.sign(plan.to - plan.from), xPx, yPx].join(' ');
    const before = kept.get(key);
    kept.delete(key);
    const isKnown = before !== undefined && isSameSoFar(unscaled(before, widthPx / width, 1).xPx, plan.knownXPx);
    if (isKnown) before.goOnTo(plan.to);
    const leg = isKnown ? before : new PropLeg({ from: plan.from, to: plan.to, xPx, yPx });
    kept.set(key, leg);
    return { plan, leg, told: false };
  });
  for (const key of [...kept.keys()].slice(0, Math.max(0, kept.size - mostKept))) kept.delete(key);
  const forward = walkers.filter(({ plan }) => plan.to >= plan.from);
  const backward = walkers.filter(({ plan }) => plan.to < plan.from);
  const total = spanOf(forward) + spanOf(backward);
  let done = 0;
  const tell = (some: readonly Walker[], all = false) => {
    for (const walker of some) {
      if (walker.told || !(all || walker.leg.isDone)) continue;
      walker.told = true;
      job.progress({
        kind: 'leg',
        leg: walker.plan.leg,
        trace: unscaled(walker.leg, widthPx / width, heightPx / height),
      });
    }
  };
  const step = (some: readonly Walker[], picture: number, before: Pyramid | null, now: Pyramid) => {
    for (const { leg } of some) leg.take(picture, before, now);
    tell(some);
    if (++done % toldEvery === 0) job.progress({ kind: 'pace', done, total });
  };
  const region = { x: 0, y: 0, width: widthPx, height: heightPx };
  /** Decodes a run of pictures of the request, both ends included. */
  const walk = (from: number, to: number, work: (picture: number, luma: Uint8Array) => void) => {
    const places = placeOf.slice(from, to + 1).filter((place) => place >= 0);
    if (places.length === 0) return Promise.resolve(0);
    const run = { from: places[0]!, to: places[places.length - 1]! + 1 };
    return walkLuma(take, run, region, width, height, job, (place, luma) => {
      const picture = pictureAt.get(place);
      if (picture !== undefined) work(picture, luma);
    });
  };

  if (forward.length > 0) {
    let before: Pyramid | null = null;
    let spare: Pyramid | undefined;
    await walk(...endsOf(forward), (picture, luma) => {
      if (forward.every(({ leg }) => leg.isDone)) return;
      const now = makePyramid(luma, width, height, levels, spare);
      step(forward, picture, before, now);
      spare = before ?? undefined;
      before = now;
    });
    tell(forward, true);
  }
  if (backward.length > 0) {
    const [first, last] = endsOf(backward);
    let before: Pyramid | null = null;
    let spare: Pyramid | undefined;
    for (let end = last; end >= first && !backward.every(({ leg }) => leg.isDone); end -= backwardRun) {
      const kept: { picture: number; luma: Uint8Array }[] = [];
      await walk(Math.max(first, end - backwardRun + 1), end, (picture, luma) => {
        kept.push({ picture, luma: luma.slice() });
      });
      for (const { picture, luma } of kept.reverse()) {
        await job.goOn();
        const now = makePyramid(luma, width, height, levels, spare);
        step(backward, picture, before, now);
        spare = before ?? undefined;
        before = now;
      }
    }
    tell(backward, true);
  }
}

/** Is what is known of a leg all that it was followed, to the last bit? Another shot's leg may set out from the same place. */
function isSameSoFar(xPx: Float64Array, known: Float64Array): boolean {
  return known.length > 1 && known.length === xPx.length && known.every((x, k) => Object.is(x, xPx[k]));
}

/** First and last picture that the legs visit; those that go on are held against the picture that they took last. */
function endsOf(walkers: readonly Walker[]): [number, number] {
  const ends = walkers.flatMap(({ plan, leg }) => [leg.lastTaken, plan.to]);
  return [Math.min(...ends), Math.max(...ends)];
}

function spanOf(walkers: readonly Walker[]): number {
  if (walkers.length === 0) return 0;
  const [first, last] = endsOf(walkers);
  return last - first + 1;
}

function unscaled(leg: PropLeg, byX: number, byY: number) {
  const { xPx, yPx, sdPx, lost } = leg.trace();
  return {
    xPx: xPx.map((x) => x * byX),
    yPx: yPx.map((y) => y * byY),
    sdPx: sdPx.map((sd) => sd * byX),
    lost: lost && { ...lost, xPx: lost.xPx * byX, yPx: lost.yPx * byY },
  };
}
