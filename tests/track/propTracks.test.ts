import { describe, expect, it } from 'vitest';
import {
  dueLegs,
  type FollowedLeg,
  legOf,
  nothingFollowed,
  withLeg,
  withoutOldLegs,
} from '../../src/track/followedProp.ts';
import type { Prop, PropMark } from '../../src/track/prop.ts';
import { fitProp, seeProp, tracksOfProps, withProps } from '../../src/track/propTracks.ts';
import { gaussian, seeded } from '../make.ts';

const fps = 30;
const timesSec = Float64Array.from({ length: 90 }, (_, k) => k / fps);
/** Where the point truly is: to the right evenly, up and down twice a second. */
const truth = (sec: number) => ({ xPx: 100 + 60 * sec, yPx: 200 + 20 * Math.sin(4 * Math.PI * sec) });
const markAt = (picture: number): PropMark => ({ takeSec: timesSec[picture]!, ...truth(timesSec[picture]!) });
const prop = (marks: PropMark[], more: Partial<Prop> = {}): Prop => ({
  id: 'prop:tail',
  name: 'tail',
  marks,
  absent: [],
  ...more,
});

/** A leg that sees the truth with a little noise, from one picture to another; `lostAt` = given up there. */
function leg(from: number, to: number, { noise = 0.1, shift = 0, lostAt = -1 } = {}): FollowedLeg {
  const draw = gaussian(seeded(from * 100 + to));
  const direction = to < from ? -1 : 1;
  const pictures = Array.from({ length: Math.abs(to - from) + 1 }, (_, k) => from + k * direction);
  const isSeen = (p: number) => lostAt < 0 || (lostAt - p) * direction > 0;
  const column = (of: (p: number) => number) => Float64Array.from(pictures, (p) => (isSeen(p) ? of(p) : Number.NaN));
  const end = truth(timesSec[Math.max(0, lostAt - direction)] ?? 0);
  return {
    mark: markAt(from),
    direction,
    timesSec: Float64Array.from(pictures, (p) => timesSec[p]!),
    xPx: column((p) => truth(timesSec[p]!).xPx + noise * draw() + (p === from ? 0 : shift)),
    yPx: column((p) => truth(timesSec[p]!).yPx + noise * draw()),
    sdPx: column(() => Math.max(noise, 0.05)),
    lost: lostAt < 0 ? null : { takeSec: timesSec[lostAt]!, why: 'covered', ...end },
  };
}

describe('legs that are due', () => {
  it('asks for both ways from each mark, and for nothing that was followed', () => {
    const one = prop([markAt(30)]);
    expect(dueLegs([one], nothingFollowed, timesSec).map((d) => [d.direction, d.untilSec])).toEqual([
      [1, timesSec[89]],
      [-1, 0],
    ]);
    const followed = withLeg(withLeg(nothingFollowed, one.id, leg(30, 89)), one.id, leg(30, 0));
    expect(dueLegs([one], followed, timesSec)).toEqual([]);
    // A further mark asks only for its own legs: the others reach it already.
    const two = prop([markAt(30), markAt(60)]);
    expect(dueLegs([two], followed, timesSec).map((d) => [d.mark.takeSec, d.direction])).toEqual([
      [timesSec[60], 1],
      [timesSec[60], -1],
    ]);
  });

  it('follows a moved mark anew, and does not look again where the point was lost', () => {
    const followed = withLeg(nothingFollowed, 'prop:tail', leg(0, 89, { lostAt: 40 }));
    expect(dueLegs([prop([markAt(0)])], followed, timesSec)).toEqual([]);
    const moved = prop([{ ...markAt(0), xPx: 104 }]);
    expect(dueLegs([moved], followed, timesSec).length).toBe(1);
    expect(withoutOldLegs(followed, [moved]).size).toBe(0);
    expect(withoutOldLegs(followed, [prop([markAt(0)])]).get('prop:tail')?.length).toBe(1);
    expect(legOf([leg(0, 50)], markAt(0), 1, timesSec[60]!)).toBeNull();
  });

  it('goes on with what is known when pictures were added, and searches on where the point was lost just before', () => {
    const dueAfter = (known: FollowedLeg) =>
      dueLegs([prop([markAt(0)])], withLeg(nothingFollowed, 'prop:tail', known), timesSec);
    const known = leg(0, 50);
    expect(dueAfter(known)).toEqual([
      { id: 'prop:tail', mark: markAt(0), direction: 1, untilSec: timesSec[89], known },
    ]);
    // Lost in seven pictures, it is still searched for; after eight it was given up.
    expect(dueAfter(leg(0, 50, { lostAt: 44 })).length).toBe(1);
    expect(dueAfter(leg(0, 50, { lostAt: 43 }))).toEqual([]);
    expect(dueAfter(leg(0, 89, { lostAt: 86 }))).toEqual([]);
    const [fresh] = dueLegs([prop([markAt(30)])], nothingFollowed, timesSec);
    expect(fresh!.known).toBeNull();
  });
});

describe('seeProp', () => {
  it('averages two legs where they agree, and doubts them where they do not', () => {
    const both = prop([markAt(0), markAt(89)]);
    const agreed = seeProp(both, [leg(0, 89), leg(89, 0)], timesSec);
    const off = (seen: typeof agreed) => [...seen.xPx].map((x, i) => Math.abs(x - truth(timesSec[i]!).xPx));
    expect(Math.max(...off(agreed))).toBeLessThan(0.35);
    expect(agreed.gaps).toEqual([]);
    // The second leg has slipped by 8 px: near the first mark the first is believed.
    const torn = seeProp(both, [leg(0, 89), leg(89, 0, { shift: 8 })], timesSec);
    expect(off(torn)[20]).toBeLessThan(0.5);
    expect(torn.sdPx[20]).toBeGreaterThan(3);
  });

  it('asks about long gaps, not about short ones, nor where the point is said to be away', () => {
    const marks = [markAt(0), markAt(60)];
    const legs = [leg(0, 60, { lostAt: 30 }), leg(60, 0, { lostAt: 45 }), leg(60, 89)];
    const { gaps, xPx } = seeProp(prop(marks), legs, timesSec);
    expect(gaps.length).toBe(1);
    expect(gaps[0]).toMatchObject({ startSec: timesSec[30], endSec: timesSec[45], why: 'covered', isAsked: true });
    expect(gaps[0]!.near.xPx).toBeCloseTo(truth(timesSec[29]!).xPx, 6);
    expect(Number.isNaN(xPx[40]!)).toBe(true);
    const short = [leg(0, 60, { lostAt: 30 }), leg(60, 0, { lostAt: 33 }), leg(60, 89)];
    expect(seeProp(prop(marks), short, timesSec).gaps.map((g) => g.isAsked)).toEqual([false]);
    // Of stills each is an exposure: one is filled in, two are asked about.
    const without = (pictures: number) => [
      leg(0, 60, { lostAt: 30 }),
      leg(60, 0, { lostAt: 29 + pictures }),
      leg(60, 89),
    ];
    const asked = (pictures: number, areStills: boolean) =>
      seeProp(prop(marks), without(pictures), timesSec, areStills).gaps.map((g) => g.isAsked);
    expect([1, 2, 9].map((pictures) => asked(pictures, true))).toEqual([[false], [true], [true]]);
    expect([1, 2, 9].map((pictures) => asked(pictures, false))).toEqual([[false], [false], [false]]);
    const away = prop(marks, { absent: [{ startSec: timesSec[30]!, endSec: timesSec[45]! }] });
    expect(seeProp(away, legs, timesSec).gaps).toEqual([]);
    // While a leg has not been followed yet, nothing is missed.
    expect(seeProp(prop(marks), [legs[0]!], timesSec).gaps).toEqual([]);
  });
});

describe('fitProp', () => {
  const seen = seeProp(prop([markAt(0)]), [leg(0, 89, { noise: 0.3 })], timesSec);

  it('is nearer to the truth than the pictures, between them too, and knows its speed', () => {
    const path = fitProp(seen)!;
    const at = Float64Array.from({ length: 170 }, (_, k) => (k + 2.5) / 60);
    const { xPx, yPx, vyPx, sdPx, guessed } = path.at(at);
    const off = [...at].map((t, k) => Math.hypot(xPx[k]! - truth(t).xPx, yPx[k]! - truth(t).yPx));
    const rms = Math.sqrt(off.reduce((sum, d) => sum + d * d, 0) / off.length);
    expect(rms).toBeLessThan(0.38);
    const within = [...at].filter((_, k) => off[k]! < 2.45 * sdPx[k]!).length / at.length;
    expect(within).toBeGreaterThan(0.9);
    const k = 60;
    expect(vyPx[k]! / (20 * 4 * Math.PI * Math.cos(4 * Math.PI * at[k]!))).toBeCloseTo(1, 1);
    expect(Math.max(...guessed)).toBe(0);
    expect(path.stepSd(1, 1 + 1 / 24)).toBeLessThan(2 * Math.SQRT2 * sdPx[60]!);
  });

  it('fills a short gap as a guess, and says nothing beyond its ends or while the point is away', () => {
    const marks = [markAt(0), markAt(50)];
    const legs = [leg(0, 50, { lostAt: 20 }), leg(50, 0, { lostAt: 27 }), leg(50, 89, { lostAt: 70 })];
    const path = fitProp(seeProp(prop(marks, { absent: [{ startSec: 1.3, endSec: 1.5 }] }), legs, timesSec))!;
    const { xPx, guessed } = path.at(Float64Array.of(timesSec[23]!, 1.4, 2.9));
    expect(Math.abs(xPx[0]! - truth(timesSec[23]!).xPx)).toBeLessThan(3);
    expect([...guessed]).toEqual([1, 0, 0]);
    expect(Number.isNaN(xPx[1]!)).toBe(true);
    expect(Number.isNaN(xPx[2]!)).toBe(true);
  });

  it('cannot be made of a single picture', () => {
    expect(fitProp(seeProp(prop([markAt(10)]), [], timesSec))).toBeNull();
  });

  it('stands beside the joints in the tracks, also where nobody is', () => {
    const path = fitProp(seen)!;
    const nobody = tracksOfProps(timesSec, [path]);
    expect(nobody.joints).toEqual([]);
    const motion = nobody.at(Float64Array.of(0.5, 1));
    expect([...motion.paths.keys()]).toEqual(['prop:tail']);
    expect(motion.stepSdPx!('prop:tail', 0, 1)).toBeGreaterThan(0);
    const twice = withProps(nobody, [{ ...path, id: 'prop:ball' }]).at(Float64Array.of(0.5));
    expect([...twice.paths.keys()]).toEqual(['prop:tail', 'prop:ball']);
    expect(withProps(nobody, [])).toBe(nobody);
  });
});
