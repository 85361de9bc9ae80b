import { afterAll, describe, expect, it } from 'vitest';
import type { Footage } from '../../src/base/footage.ts';
import type { PropId } from '../../src/base/joints.ts';
import { PointsFollower } from '../../src/detect/pointsClient.ts';
import { openTake } from '../../src/ingest/openTake.ts';
import { samplesOfProp } from '../../src/timing/pointSamples.ts';
import { fitSwing, smallPeriodOf } from '../../src/timing/swing.ts';
import { readWave } from '../../src/timing/waves.ts';
import { findFall } from '../../src/timing/weight.ts';
import {
  type DueLeg,
  dueLegs,
  type FollowedLeg,
  type FollowedProps,
  nothingFollowed,
  withLeg,
} from '../../src/track/followedProp.ts';
import type { Prop, PropMark } from '../../src/track/prop.ts';
import { fitProp, type SeenProp, seeProp } from '../../src/track/propTracks.ts';

interface Truth {
  readonly px_per_m: number;
  readonly pose: readonly { readonly t: number; readonly joints: Record<string, readonly [number, number, number]> }[];
  readonly events: readonly { readonly contact_t: number; readonly ball?: string }[];
}

async function takeFile(name: string): Promise<File> {
  return new File(
    [await (await fetch(new URL(`../../fixtures/takes/${name}.mp4`, import.meta.url))).blob()],
    `${name}.mp4`,
  );
}

async function truthOf(name: string): Promise<Truth> {
  return (await fetch(new URL(`../../fixtures/takes/${name}.truth.json`, import.meta.url))).json();
}

const markIn = (truth: Truth, joint: string, picture: number, off = [0, 0]): PropMark => {
  const { t, joints } = truth.pose[picture]!;
  return { takeSec: t, xPx: joints[joint]![0] + off[0]!, yPx: joints[joint]![1] + off[1]! };
};

const prop = (name: string, ...marks: PropMark[]): Prop => ({ id: `prop:${name}`, name, marks, absent: [] });

const follower = new PointsFollower();
afterAll(() => follower.close());

/** Follows what is due, through the real decoder in a worker. */
async function follow(
  file: File,
  props: readonly Prop[],
  before: FollowedProps = nothingFollowed,
  signal?: AbortSignal,
) {
  const opened = await openTake(file);
  if (!opened.ok) throw new Error(opened.failure.sentence);
  const { footage } = opened.value;
  opened.value.close();
  let followed = before;
  const told: PropId[] = [];
  const due = dueLegs(props, before, footage.timesSec);
  const outcome = await follower.follow(file, footage, 24, due, {
    signal,
    onLeg: (id, leg) => {
      told.push(id);
      followed = withLeg(followed, id, leg);
    },
  });
  const seen = new Map<string, SeenProp>(
    props.map((p) => [p.name, seeProp(p, followed.get(p.id) ?? [], footage.timesSec)]),
  );
  return { outcome, followed, told, footage, due, seen };
}

/** Follows one leg. @returns it, and how many pictures were looked at. */
async function followUntil(file: File, footage: Footage, due: DueLeg, by = follower) {
  let [leg, looked]: [FollowedLeg | null, number] = [null, 0];
  await by.follow(file, footage, 24, [due], {
    onLeg: (_, done) => {
      leg = done;
    },
    onPace: (_, total) => {
      looked = total;
    },
  });
  if (!leg) throw new Error('no leg was told');
  return { leg: leg as FollowedLeg, looked };
}

/** Median distance from the truth, pixels. */
function medianError(seen: SeenProp, truth: Truth, joint: string): number {
  const off = truth.pose.flatMap(({ joints }, i) => {
    const [x, y] = joints[joint]!;
    return Number.isNaN(seen.xPx[i]!) ? [] : [Math.hypot(seen.xPx[i]! - x, seen.yPx[i]! - y)];
  });
  return off.sort((a, b) => a - b)[off.length >> 1]!;
}

const halfFrame = 0.5 / 24;

describe('marked points through the decoder', () => {
  it('reads two balls, a pendulum and a pennant from one mark each, in one walk', async () => {
    const truth = await truthOf('toys');
    const dots = [0, 1, 2, 3, 4, 5].map((k) => `dot${k}`);
    const props = ['bob', 'heavy', 'light', ...dots].map((name) => prop(name, markIn(truth, name, 30)));
    const { outcome, seen, told } = await follow(await takeFile('toys'), props);
    expect(outcome.ok).toBe(true);
    // One leg forward and one backward each.
    expect(told.length).toBe(18);
    for (const { gaps } of seen.values()) expect(gaps.filter((gap) => gap.isAsked)).toEqual([]);
    for (const dot of dots) expect(medianError(seen.get(dot)!, truth, dot)).toBeLessThan(0.6);

    for (const ball of ['heavy', 'light']) {
      const fall = findFall(samplesOfProp(seen.get(ball)!))!;
      expect(Math.abs(fall.pxPerMetre / truth.px_per_m - 1)).toBeLessThan(0.03);
      const events = truth.events.filter((e) => e.ball === ball);
      for (const bounce of fall.bounces.slice(0, 3)) {
        const nearest = Math.min(...events.map((e) => Math.abs(e.contact_t - bounce.takeSec)));
        expect(nearest).toBeLessThan(halfFrame);
        expect(Math.abs(bounce.restitution - (ball === 'heavy' ? 0.35 : 0.78))).toBeLessThan(0.03);
      }
      expect(fall.bounces.length).toBeGreaterThan(0);
    }

    const swing = fitSwing(samplesOfProp(seen.get('bob')!))!;
    expect(Math.abs(swing.smallPeriodSec / smallPeriodOf(0.55) - 1)).toBeLessThan(0.01);

    const wave = readWave(dots.map((dot) => samplesOfProp(seen.get(dot)!)))!;
    expect(Math.abs(wave.frequencyHz / 1.25 - 1)).toBeLessThan(0.01);
    for (const link of wave.links) expect(Math.abs(link.delaySec - 0.2 / 1.375)).toBeLessThan(halfFrame / 2);
    expect(Math.abs(wave.speed!.pxPerSec / (1.375 * truth.px_per_m) - 1)).toBeLessThan(0.03);
  });

  it('follows a falling ball from a mark in the middle of the take, and its path runs between the pictures', async () => {
    const truth = await truthOf('fall');
    const ball = prop('ball', markIn(truth, 'ball', 60));
    const { seen, footage } = await follow(await takeFile('fall'), [ball]);
    const seenBall = seen.get('ball')!;
    expect(seenBall.gaps).toEqual([]);
    const fall = findFall(samplesOfProp(seenBall))!;
    expect(Math.abs(fall.pxPerMetre / truth.px_per_m - 1)).toBeLessThan(0.03);
    expect(Math.abs(fall.bounces[0]!.takeSec - truth.events[0]!.contact_t)).toBeLessThan(halfFrame);
    expect(Math.abs(fall.bounces[0]!.restitution - 0.7)).toBeLessThan(0.02);

    const path = fitProp(seenBall)!;
    // Half-way between pictures 40 and 41, in free fall.
    const sec = (footage.timesSec[40]! + footage.timesSec[41]!) / 2;
    const at = path.at(Float64Array.of(sec));
    const height = 2 - (9.80665 * (sec - 0.5) ** 2) / 2;
    const [, y0] = truth.pose[0]!.joints.ball!;
    expect(Math.abs(at.yPx[0]! - (y0 + (2 - height) * truth.px_per_m))).toBeLessThan(2);
    expect(at.vyPx[0]! / (9.80665 * (sec - 0.5) * truth.px_per_m)).toBeCloseTo(1, 1);
    expect(at.guessed[0]).toBe(0);
  });

  it('follows only what a new mark asks for, and keeps whole legs when it is stopped', async () => {
    const truth = await truthOf('toys');
    const file = await takeFile('toys');
    const first = prop('bob', markIn(truth, 'bob', 0));
    const once = await follow(file, [first]);
    expect(once.due.length).toBe(1);
    const second = { ...first, marks: [...first.marks, markIn(truth, 'bob', 60)] };
    const again = await follow(file, [second], once.followed);
    // From the new mark on, and back to the first one; the first leg is there already.
    expect(again.due.map((leg) => [Math.round(leg.mark.takeSec), leg.direction])).toEqual([
      [2, 1],
      [2, -1],
    ]);
    expect(again.seen.get('bob')!.xPx[60]).toBe(second.marks[1]!.xPx);
    expect(dueLegs([second], again.followed, again.footage.timesSec)).toEqual([]);
    // Taking the second mark back leaves the first leg as it was.
    expect(dueLegs([first], again.followed, again.footage.timesSec)).toEqual([]);

    const stop = new AbortController();
    stop.abort();
    const stopped = await follow(file, [first], nothingFollowed, stop.signal);
    expect(stopped.outcome.ok).toBe(false);
    expect(stopped.outcome.ok ? '' : stopped.outcome.failure.code).toBe('cancelled');
    expect(stopped.seen.get('bob')!.gaps).toEqual([]);
  });

  it('follows on from what is known when there are more pictures, to the very same path', async () => {
    const truth = await truthOf('toys');
    const file = await takeFile('toys');
    const bob = prop('bob', markIn(truth, 'bob', 0));
    const whole = await follow(file, [bob]);
    const end = whole.footage.timesSec.length - 1;
    // As if the take had ended here once: what was followed then is all that is known.
    const early = await followUntil(file, whole.footage, { ...whole.due[0]!, untilSec: whole.footage.timesSec[40]! });
    expect(early.leg.xPx.length).toBe(41);
    expect(early.looked).toBe(41);
    const on = await followUntil(file, whole.footage, { ...whole.due[0]!, known: early.leg });
    expect(on.leg).toEqual(whole.followed.get('prop:bob')![0]);
    // The last known picture is looked at again: the next is held against it.
    expect(on.looked).toBe(end - 40 + 1);
    // Another worker, as after a reload, knows nothing of it.
    const other = new PointsFollower();
    const anew = await followUntil(file, whole.footage, { ...whole.due[0]!, known: early.leg }, other);
    other.close();
    expect(anew.leg).toEqual(on.leg);
    expect(anew.looked).toBe(end + 1);
    // And what is known of another shot is nothing of this one's.
    const shifted = { ...early.leg, xPx: early.leg.xPx.map((x, k) => (k === 0 ? x : x + 1)) };
    expect((await followUntil(file, whole.footage, { ...whole.due[0]!, known: shifted })).looked).toBe(end + 1);
  });

  it('asks where a mark holds on to nothing', async () => {
    const truth = await truthOf('toys');
    const astray = prop('floor', { ...markIn(truth, 'light', 0), xPx: 3, yPx: 3 });
    const { seen } = await follow(await takeFile('toys'), [prop('ball', markIn(truth, 'light', 0)), astray]);
    expect(seen.get('ball')!.gaps).toEqual([]);
    const { gaps, sdPx } = seen.get('floor')!;
    // The corner of a still room: either it is seen throughout, or the animator is asked; never a wild path.
    if (gaps.length === 0) expect(Math.max(...sdPx)).toBeLessThan(3);
    else expect(gaps[0]!.isAsked).toBe(true);
  });
});
