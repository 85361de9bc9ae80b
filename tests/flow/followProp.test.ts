import { describe, expect, it } from 'vitest';
import type { FollowedPoint } from '../../src/flow/followPoint.ts';
import { PropFollower } from '../../src/flow/followProp.ts';
import { hunt, takeScent } from '../../src/flow/hunt.ts';
import type { Pyramid } from '../../src/flow/pyramid.ts';
import { picture, type Surface, texture } from './madePictures.ts';

const [widthPx, heightPx] = [200, 240];
const wall = texture(31, 14, 12);
const floorY = 210;
const radiusPx = 14;

/** A shaded ball before a wall and a dark floor. `smearPx` = how far it falls while the shutter is open. */
function ballAt(x: number, y: number, smearPx = 0): Surface {
  const sharp = (u: number, v: number): number | null => {
    const [a, b] = [(u - x) / radiusPx, (v - y) / radiusPx];
    return a * a + b * b < 1 ? 190 - 60 * (a + b) - 50 * (a * a + b * b) : null;
  };
  return (u, v) => {
    const behind = v > floorY ? 60 : wall(u, v);
    const steps = 9;
    let sum = 0;
    for (let i = 0; i < steps; i++) sum += sharp(u, v - smearPx * ((i + 0.5) / steps - 0.5)) ?? behind;
    return sum / steps;
  };
}

const film = (surfaces: readonly Surface[]): Pyramid[] =>
  surfaces.map((surface, k) => picture(surface, { noise: 2, seed: 700 + k, widthPx, heightPx }));

function follow(
  pictures: readonly Pyramid[],
  x: number,
  y: number,
): { points: FollowedPoint[]; follower: PropFollower } {
  const follower = new PropFollower(pictures[0]!, x, y);
  const points = [follower.point];
  for (let k = 1; k < pictures.length; k++) points.push(follower.step(pictures[k - 1]!, pictures[k]!));
  return { points, follower };
}

/** Dropped from 30 px at 1.6 px per picture², thrown back at 0.75 of its speed at each bounce; at picture k. */
function bounced(k: number): { y: number; speed: number } {
  const [g, rest] = [1.6, floorY - radiusPx];
  let [at, y, speed] = [0, 30, 0];
  for (;;) {
    const till = (-speed + Math.sqrt(speed * speed + 2 * g * (rest - y))) / g;
    if (at + till > k) {
      const t = k - at;
      return { y: y + speed * t + (g * t * t) / 2, speed: speed + g * t };
    }
    at += till;
    speed = -0.75 * (speed + g * till);
    y = rest;
  }
}

describe('PropFollower', () => {
  it('follows a blurred ball through its bounces', () => {
    const places = Array.from({ length: 60 }, (_, k) => bounced(k));
    // It turns round by more than its own size from one picture to the next.
    expect(Math.max(...places.map((p) => p.speed))).toBeGreaterThan(20);
    const { points } = follow(film(places.map((p) => ballAt(60, p.y, p.speed / 2))), 60, 30);
    expect(points.every((p) => p.lost === null)).toBe(true);
    const off = points.map((p, k) => Math.hypot(p.xPx - 60, p.yPx - places[k]!.y)).sort((a, b) => a - b);
    expect(off[30]).toBeLessThan(0.4);
    expect(off[59]).toBeLessThan(3);
  });

  it('finds a thing again that went behind a board for some pictures, and has nothing to say meanwhile', () => {
    const board: (behind: Surface) => Surface = (behind) => (u, v) => (u > 85 && u < 118 ? 90 : behind(u, v));
    const pictures = film(Array.from({ length: 30 }, (_, k) => board(ballAt(30 + 5 * k, 100))));
    const { points, follower } = follow(pictures, 30, 100);
    const hidden = points.flatMap((p, k) => (p.lost ? [k] : []));
    // Wholly behind the board when its middle is 14 px behind either edge: pictures 14 and 15.
    expect(hidden).toContain(14);
    expect(hidden.length).toBeLessThan(10);
    expect(follower.isGivenUp).toBe(false);
    for (const k of [2, 8, 22, 29])
      expect(Math.hypot(points[k]!.xPx - 30 - 5 * k, points[k]!.yPx - 100)).toBeLessThan(1);
  });

  it('is given up, with a reason and the last place seen, when the thing does not come back', () => {
    const gone = film(
      Array.from({ length: 45 }, (_, k) => (k < 10 ? ballAt(60 + k, 90) : (u: number, v: number) => wall(u, v))),
    );
    const { points, follower } = follow(gone, 60, 90);
    expect(follower.isGivenUp).toBe(true);
    expect(points[12]!.lost).toBe('covered');
    expect(points.slice(10).every((p) => p.lost !== null)).toBe(true);
    expect(Math.hypot(follower.lastSeen.xPx - 69, follower.lastSeen.yPx - 90)).toBeLessThan(0.5);
  });
});

describe('hunt', () => {
  it('finds where a window went, however far, and rates other places lower', () => {
    const [here, there] = film([ballAt(50, 60), ballAt(150, 180)]) as [Pyramid, Pyramid];
    const scent = takeScent(here, 50, 60, 31)!;
    const traces = hunt(there, scent, 100, 120, 120, 3, 0.2);
    expect(Math.hypot(traces[0]!.xPx - 150, traces[0]!.yPx - 180)).toBeLessThan(4);
    expect(traces[0]!.likeness).toBeGreaterThan(0.85);
    for (const other of traces.slice(1)) expect(other.likeness).toBeLessThan(traces[0]!.likeness - 0.08);
  });

  it('has no scent of what is flat', () => {
    expect(
      takeScent(
        picture(() => 100),
        60,
        60,
        31,
      ),
    ).toBeNull();
  });
});
