import { describe, expect, it } from 'vitest';
import type { PropId } from '../../src/base/joints.ts';
import { buildPlan, type Plan } from '../../src/plan/plan.ts';
import { planJson } from '../../src/plan/planJson.ts';
import { togetherJson } from '../../src/plan/togetherJson.ts';
import { weightJson } from '../../src/plan/weightJson.ts';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { bouncesOf, heightAt } from '../../src/timing/idealFall.ts';
import { smallPeriodOf } from '../../src/timing/swing.ts';
import type { SeenProp } from '../../src/track/propTracks.ts';
import { gaussian, seeded } from '../make.ts';
import { tracksThrough } from '../timing/authored.ts';
import { choicesFor } from '../timing/choices.ts';
import { madeArms } from '../timing/madeArms.ts';
import { madePlan } from './madeTiming.ts';

const [fps, pictures, pxPerMetre] = [30, 150, 160];

/** A marked point seen in every picture of the take, with an error of 0.2 px. */
function seenAt(id: PropId, at: (sec: number) => readonly [number, number]): SeenProp {
  const draw = gaussian(seeded(id.length));
  const timesSec = Float64Array.from({ length: pictures }, (_, k) => k / fps);
  const [xPx, yPx] = [timesSec.map((t) => at(t)[0] + 0.2 * draw()), timesSec.map((t) => at(t)[1] + 0.2 * draw())];
  const prop = { id, name: id, marks: [{ takeSec: 0, xPx: xPx[0]!, yPx: yPx[0]! }], absent: [] };
  return { prop, timesSec, xPx, yPx, sdPx: timesSec.map(() => 0.2), gaps: [] };
}

/** Held until 1.5 s, let go from 1.8 m, keeping 0.7 of its speed. */
const drop = { dropHeightM: 1.8, restitution: 0.7 };
const ball = seenAt('prop:ball', (sec) => [150, 430 - pxPerMetre * heightAt(drop, sec - 1.5)]);
/** Within a hundredth of a pixel of a small swing of a string of 1 m: 2° only. */
const bob = seenAt('prop:bob', (sec) => {
  const rad = ((2 * Math.PI) / 180) * Math.cos((2 * Math.PI * sec) / smallPeriodOf(1));
  return [700 + 600 * Math.sin(rad), 20 + 600 * Math.cos(rad)];
});
/** A wave of 1.4 swings a second that runs along the tail at 300 px a second, half as large again from point to point. */
const tail = [0, 1, 2, 3].map((k) =>
  seenAt(`prop:tail${k}`, (sec) => [
    100 + 40 * k,
    200 + 6 * 1.5 ** k * Math.sin(2 * Math.PI * 1.4 * (sec - (40 * k) / 300)),
  ]),
);

/** The shot begins half a second into the take. */
function weighed(seenProps: readonly SeenProp[] = [ball, bob, ...tail]): Plan {
  const chains = [{ id: 'tail', name: 'tail', parts: tail.map((t) => t.prop.id) }];
  const plan = madePlan({ book: { chains, props: seenProps.map((s) => s.prop) } });
  const places = madeArms({ moves: [], sides: [], foreLag: 0, handLag: 0, heightPx: 400, endSec: 5 });
  const tracks = tracksThrough(places, 400, 0);
  const timing = computeTiming(tracks, choicesFor(4.9, { startSec: 0.5 }));
  return { ...plan, tracks, timing, seenProps };
}

describe('weight in plan.json', () => {
  const { falls, swings, waves } = weightJson(weighed());

  it('tells a bounce: gravity, restitution, and the contact in seconds of the take and frames of the shot', () => {
    expect(falls.map((f) => f.of)).toEqual(['prop:ball']);
    const fall = falls[0]!;
    expect(fall.gravityPxS2! / (9.80665 * pxPerMetre)).toBeCloseTo(1, 2);
    expect(fall.pxPerMetre! / pxPerMetre).toBeCloseTo(1, 2);
    const contactsSec = bouncesOf(drop).map((b) => 1.5 + b.sec);
    for (const [k, bounce] of fall.bounces.slice(0, 3).entries()) {
      expect(Math.abs(bounce.contact.takeSec! - contactsSec[k]!)).toBeLessThan(0.004);
      expect(Math.abs(bounce.contact.frame! - 24 * (contactsSec[k]! - 0.5))).toBeLessThan(0.1);
      expect(bounce.restitution!).toBeCloseTo(0.7, 1);
    }
    expect(fall.flights[0]).toMatchObject({ begins: 'released', ends: 'bounce' });
  });

  it('tells a swing by its period, in seconds and frames', () => {
    expect(swings.map((s) => s.of)).toEqual(['prop:bob']);
    const swing = swings[0]!;
    expect(Math.abs(swing.smallPeriodSec! / smallPeriodOf(1) - 1)).toBeLessThan(0.01);
    expect(swing.periodFrames! / swing.periodSec!).toBeCloseTo(24, 2);
    expect(swing.turns.length).toBeGreaterThan(2);
  });

  it('tells a wave along a picked chain: delay, speed, growth', () => {
    expect(waves.map((w) => [w.chain, w.kind, w.parts.length])).toEqual([['tail', 'toAndFro', 4]]);
    const wave = waves[0]!;
    expect(wave.frequencyHz!).toBeCloseTo(1.4, 1);
    expect(Math.abs(wave.speedPxPerSec! / 300 - 1)).toBeLessThan(0.05);
    for (const link of wave.links) {
      expect(Math.abs(link.delayFrames! - (24 * 40) / 300)).toBeLessThan(0.15);
      expect(link.growth!).toBeCloseTo(1.5, 1);
    }
    expect(wave.points[0]!.amplitudePx!).toBeCloseTo(6, 0);
  });

  it('is empty where nothing was marked and nobody jumps, and leaves out a chain that is not known', () => {
    expect(weightJson(weighed([]))).toEqual({ falls: [], swings: [], waves: [] });
    expect(weightJson(weighed([ball, tail[0]!])).waves).toEqual([]);
  });

  it('comes with what a plan is built from, and never holds NaN', () => {
    const { book, footage, timing, tracks, detector } = weighed();
    const sightings = { detector, peopleSeen: [] } as unknown as Parameters<typeof buildPlan>[0]['sightings'];
    const built = buildPlan({ book, footage, sightings, tracks, timing, seenProps: [ball, bob, ...tail] });
    const { weight } = planJson(built);
    expect(weight).toEqual({ falls, swings, waves });
    expect(JSON.parse(JSON.stringify(weight))).toEqual(weight);
    expect(buildPlan({ book, footage, sightings, tracks, timing }).seenProps).toEqual([]);
  });
});

describe('what happens together, in plan.json', () => {
  it('tells twins with the frame where both arrive', () => {
    const places = madeArms({
      moves: [{ startSec: 0.8, endSec: 1.4, upperDeg: 70, foreDeg: 70, bendDeg: 0 }],
      sides: ['left', 'right'],
      foreLag: 0,
      handLag: 0,
      heightPx: 400,
      endSec: 2.6,
    });
    const tracks = tracksThrough(places, 400, 0);
    const timing = computeTiming(tracks, choicesFor(2.6));
    const [twins] = togetherJson({ tracks, timing });
    expect(twins).toMatchObject({ kind: 'twins', parts: ['leftWrist', 'rightWrist'] });
    expect(Math.abs(twins!.frameIndex - 1.4 * 24)).toBeLessThan(3);
    expect(Math.abs(twins!.withinFrames)).toBeLessThan(0.2);
    expect(twins!.sentence).toContain(`frame ${twins!.frameIndex + 1}.`);
    expect(timing.keys.map((k) => k.id)).toEqual(expect.arrayContaining(twins!.move.split('>')));
  });
});
