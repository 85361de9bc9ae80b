import { describe, expect, it } from 'vitest';
import { supportAt, supportChanges, supportPhrase } from '../../src/plan/support.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import type { Planted } from '../../src/puppet/puppetMotion.ts';
import { fromTheSide, madeMotion } from '../puppet/madePuppet.ts';

const planted = (side: 'left' | 'right', on: Planted['on'], firstFrame: number, frames: number): Planted => ({
  ...{ side, on, firstFrame, frames, xMm: 0, yMm: 0 },
});
const pose = fromTheSide(newPuppet);
const puppet = madeMotion([pose, pose, pose, pose, pose, pose], {
  planted: [planted('left', 'foot', 0, 3), planted('right', 'foot', 0, 1), planted('right', 'toe', 1, 1)],
  unplanted: [
    { how: 'air', firstFrame: 3, frames: 1 },
    { how: 'sliding', firstFrame: 4, frames: 2 },
  ],
});

describe('what the puppet stands on', () => {
  it('is told frame by frame, and where it changes', () => {
    const words = ['both feet', 'left foot, right toes', 'left foot', 'in the air', 'foot slides', 'foot slides'];
    expect([0, 1, 2, 3, 4, 5].map((k) => supportAt(puppet, k))).toEqual(words);
    expect(supportChanges(puppet, 6)).toEqual([...words.slice(0, 5), '']);
  });

  it('is a phrase of its own', () => {
    expect(['both feet', 'in the air', 'foot slides', ''].map(supportPhrase)).toEqual([
      'stands on both feet',
      'in the air',
      'foot slides',
      '',
    ]);
  });

  it('is not known where no foot was seen', () => {
    expect(supportAt({ ...puppet, feetSeen: false }, 0)).toBe('');
  });
});
