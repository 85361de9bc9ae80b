import { describe, expect, it } from 'vitest';
import { findStands } from '../../src/puppet/feet.ts';
import { trueTake } from './truthMotion.ts';

const framesOf = (sec: number) => Float64Array.from({ length: Math.round(sec * 24) }, (_, k) => k / 24);

describe('standing feet', () => {
  it('do not stand while they slide, and stand before and after', () => {
    const take = trueTake('stops');
    for (const heightsPerSec of [0.06, 0.09, 0.12, 0.2]) {
      const motion = take.at(framesOf(take.durationSec));
      for (const joint of ['leftAnkle', 'leftHeel', 'leftToe'] as const) {
        const x = motion.paths.get(joint)!.xPx;
        for (let k = 20; k < x.length; k++) x[k]! += (Math.min(k - 20, 24) / 24) * heightsPerSec * take.heightPx;
      }
      const { left, right } = findStands(motion, take.heightPx);
      for (let k = 26; k <= 38; k++) expect(left[k], `frame ${k} at ${heightsPerSec}`).toBeNull();
      for (const k of [0, 15, 50, 70]) expect(left[k]).toBe('foot');
      expect(right.every((on) => on === 'foot')).toBe(true);
    }
  });

  it('stand in a take of two pictures', () => {
    const take = trueTake('two_frames');
    const { left, right } = findStands(take.at(framesOf(take.durationSec)), take.heightPx);
    expect([...left, ...right].every((on) => on === 'foot')).toBe(true);
  });

  it('do not stand where a pose in mid-air is held', () => {
    const take = trueTake('enters');
    const times = [...framesOf(take.durationSec)];
    const held = 29;
    const { left } = findStands(
      take.at(
        Float64Array.from([...times.slice(0, held), ...Array<number>(12).fill(times[held]!), ...times.slice(held)]),
      ),
      take.heightPx,
    );
    expect(left.slice(held, held + 12).every((on) => on === null)).toBe(true);
  });
});
