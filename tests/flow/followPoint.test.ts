import { describe, expect, it } from 'vitest';
import { type FollowedPoint, PointFollower, usualFollow } from '../../src/flow/followPoint.ts';
import type { Pyramid } from '../../src/flow/pyramid.ts';
import { type Look, picture, type Surface, texture } from './madePictures.ts';

const noise = 2;
const cloth = texture(81);

/** Follows a point that is at (80, 60) in the first picture, through all of them. */
function follow(pictures: Iterable<Pyramid>, x = 80, y = 60, options = usualFollow): FollowedPoint[] {
  let before: Pyramid | null = null;
  let follower: PointFollower | null = null;
  const points: FollowedPoint[] = [];
  for (const p of pictures) {
    if (before && follower) points.push(follower.step(before, p));
    else {
      follower = new PointFollower(p, x, y, options);
      points.push(follower.point);
    }
    before = p;
  }
  return points;
}

function* film(count: number, surface: (k: number) => Surface, look: (k: number) => Look): Generator<Pyramid> {
  for (let k = 0; k < count; k++) yield picture(surface(k), { noise, seed: 500 + k, look: look(k) });
}

/** Seen after a move by (dx, dy) and a turn about the point (80, 60) by `deg`. */
const turnedBy =
  (dx: number, dy: number, deg: number): Look =>
  (x, y) => {
    const [c, s] = [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
    const [u, v] = [x - 80 - dx, y - 60 - dy];
    return [80 + c * u + s * v, 60 - s * u + c * v];
  };

describe('PointFollower', () => {
  it('does not drift: errors after eighty noisy pictures are those of one', () => {
    const way = (k: number) => [25 * Math.sin(k / 9), 12 * Math.sin(k / 5)] as const;
    const points = follow(
      film(
        80,
        () => cloth,
        (k) => turnedBy(...way(k), 0),
      ),
    );
    const off = points.map((p, k) => Math.hypot(p.xPx - 80 - way(k)[0], p.yPx - 60 - way(k)[1]));
    expect(Math.max(...off)).toBeLessThan(0.12);
    expect(Math.max(...points.map((p) => p.sdPx))).toBeLessThan(0.15);
  });

  it('does not drift on what turns by a right angle and grows by a half', () => {
    const growth = (k: number) => 1 + k / 60;
    const look =
      (k: number): Look =>
      (x, y) => {
        const [u, v] = turnedBy(k / 2, 0, 3 * k)(x, y);
        return [80 + (u - 80) / growth(k), 60 + (v - 60) / growth(k)];
      };
    const points = follow(film(31, () => cloth, look));
    const off = points.map((p, k) => Math.hypot(p.xPx - 80 - k / 2, p.yPx - 60));
    expect(Math.max(...off)).toBeLessThan(0.3);
    expect(points[30]!.sdPx).toBeLessThan(0.5);
  });

  it('follows what changes its look little by little, and says that its doubt grows', () => {
    const other = texture(84);
    const changing =
      (k: number): Surface =>
      (u, v) =>
        ((30 - k) * cloth(u, v) + k * other(u, v)) / 30;
    const points = follow(film(31, changing, (k) => turnedBy(k, -k / 2, 0)));
    points.forEach((p, k) => {
      expect(Math.hypot(p.xPx - 80 - k, p.yPx - 60 + k / 2)).toBeLessThan(k === 0 ? 1e-9 : 3 * p.sdPx);
    });
    expect(points[30]!.sdPx).toBeGreaterThan(3 * points[2]!.sdPx);
  });

  it('is less sure on a smooth ball than on cloth', () => {
    const ball: Surface = (u, v) => 120 + 3 * (u - 80) - 0.1 * ((u - 80) ** 2 + (v - 60) ** 2);
    const on = (surface: Surface) =>
      follow(
        film(
          3,
          () => surface,
          () => turnedBy(0, 0, 0),
        ),
      )[2]!.sdPx;
    expect(on(ball)).toBeGreaterThan(1.5 * on(cloth));
  });

  it('says how unsure it is at the end of a rod that turns before a lively wall', () => {
    const rod = (deg: number): Surface => {
      const [c, s] = [Math.cos((deg * Math.PI) / 180), Math.sin((deg * Math.PI) / 180)];
      return (u, v) => {
        const [along, across] = [c * (u - 80) + s * (v - 60), -s * (u - 80) + c * (v - 60)];
        return along > -4 && Math.abs(across) < 3 ? 210 : cloth(u, v);
      };
    };
    const points = follow(
      film(
        20,
        (k) => rod(2 * k),
        () => turnedBy(0, 0, 0),
      ),
    );
    for (const p of points.slice(5)) expect(Math.hypot(p.xPx - 80, p.yPx - 60)).toBeLessThan(2 * p.sdPx);
    expect(points[19]!.sdPx).toBeLessThan(1.5);
  });

  it('gives up when the look has changed too often, and is as sure as at first when the look comes back', () => {
    const looks = Array.from({ length: 9 }, (_, i) => texture(90 + i));
    const changing = (k: number): Surface => {
      const [a, b] = [looks[Math.floor(k / 12)]!, looks[Math.floor(k / 12) + 1]!];
      return (u, v) => ((12 - (k % 12)) * a(u, v) + (k % 12) * b(u, v)) / 12;
    };
    const on = follow(film(90, changing, (k) => turnedBy(k / 4, 0, 0)));
    const gone = on.findIndex((p) => p.lost !== null);
    expect(on[gone]!.lost).toBe('changed');
    on.slice(0, gone).forEach((p, k) => {
      expect(Math.hypot(p.xPx - 80 - k / 4, p.yPx - 60)).toBeLessThan(k === 0 ? 1e-9 : 3 * p.sdPx);
    });
    const back = follow(
      film(
        25,
        (k) => changing(Math.min(k, 24 - k)),
        (k) => turnedBy(k / 4, 0, 4 * k),
      ),
    );
    expect(back[12]!.sdPx).toBeGreaterThan(0.9);
    expect(back[24]!.sdPx).toBeLessThan(0.2);
    expect(Math.hypot(back[24]!.xPx - 86, back[24]!.yPx - 60)).toBeLessThan(0.2);
  });

  it('gives up where a hand covers the point, and is silent until it is marked again', () => {
    const hand = texture(82);
    const surface =
      (k: number): Surface =>
      (u, v) =>
        u < 4 * k + 30 ? hand(u - 4 * k, v) : cloth(u, v);
    const pictures = [...film(20, surface, () => turnedBy(0, 0, 0))];
    const points = follow(pictures);
    const gone = points.findIndex((p) => p.lost !== null);
    // The hand's edge reaches the window's (10 px before the point) at picture 10 and the point at 12 or 13.
    expect(gone).toBeGreaterThan(9);
    expect(gone).toBeLessThan(15);
    expect(points[gone]!.lost).toBe('covered');
    for (const p of points.slice(0, gone)) expect(Math.hypot(p.xPx - 80, p.yPx - 60)).toBeLessThan(1);
    for (const p of points.slice(gone)) expect(p).toEqual({ xPx: NaN, yPx: NaN, sdPx: NaN, lost: 'covered' });

    const follower = new PointFollower(pictures[gone - 1]!, 80, 60);
    follower.step(pictures[gone - 1]!, pictures[19]!);
    follower.mark(pictures[19]!, 140, 60);
    expect(follower.step(pictures[19]!, pictures[18]!).lost).toBeNull();
    expect(Math.hypot(follower.point.xPx - 140, follower.point.yPx - 60)).toBeLessThan(0.2);
  });

  it('says when the point leaves the picture', () => {
    const points = follow(
      film(
        24,
        () => cloth,
        (k) => turnedBy(4 * k, 0, 0),
      ),
    );
    const gone = points.findIndex((p) => p.lost !== null);
    expect(points[gone]!.lost).toBe('left-picture');
    expect(gone).toBeGreaterThan(16);
    points.slice(0, gone).forEach((p, k) => {
      expect(Math.abs(p.xPx - 80 - 4 * k)).toBeLessThan(0.5);
    });
  });

  it('says when there is nothing to hold on to', () => {
    const flat = picture(() => 100);
    expect(follow([flat, flat])[1]!.lost).toBe('no-texture');
    const edge = picture((x) => (x < 80 ? 50 : 150));
    expect(follow([edge, edge])[1]!.lost).toBe('no-texture');
  });

  it('keeps up with a point that goes farther each time than the levels find from rest', () => {
    const way = (k: number) => 2 * k * k;
    const pictures = film(
      7,
      () => cloth,
      (k) => turnedBy(way(k), 0, 0),
    );
    const points = follow(pictures, 45, 60, { ...usualFollow, levels: 1 });
    points.forEach((p, k) => {
      expect(Math.hypot(p.xPx - 45 - way(k), p.yPx - 60)).toBeLessThan(0.3);
    });
  });
});
