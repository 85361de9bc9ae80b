import { describe, expect, it } from 'vitest';
import { Bounces, bounceMs } from '../../src/app/onset/bounces.ts';

describe('a press at the set', () => {
  it('counts once, however often the contact closes within the time of a bounce', () => {
    const bounces = new Bounces();
    const counted = [0, 12, 40, 199, 200, 230, 1000].filter((ms) => !bounces.isBounce('takeExposure', 5000 + ms));
    expect(counted).toEqual([0, 200, 1000]);
    expect(bounceMs).toBeLessThan(250);
  });

  it('is another one where it asks for something else', () => {
    const bounces = new Bounces();
    expect(bounces.isBounce('takeExposure', 100)).toBe(false);
    expect(bounces.isBounce('notShot', 120)).toBe(false);
    expect(bounces.isBounce('exposureBack', 130)).toBe(false);
    expect(bounces.isBounce('notShot', 140)).toBe(true);
    // What changes no mark may come as fast as it likes.
    expect([0, 10, 20].some((ms) => bounces.isBounce('jumpToExposure', ms))).toBe(false);
  });
});
