import { describe, expect, it } from 'vitest';
import { compareShot } from '../../src/compare/compareShot.ts';
import { renderedNames, renderedShots, shotOf } from './renderedShots.ts';
import { newTally, type Tally, tallyFindings } from './tally.ts';

function tallyOf(names: readonly string[]): Tally {
  const tally = newTally();
  for (const name of names) {
    const all = renderedShots(name);
    const last = all.plan.exposures.at(-1)!;
    for (const shot of all.shots) {
      const { findings } = compareShot(all.plan, shotOf(all, shot))!;
      tallyFindings(tally, name, shot.made, findings, last.firstFrame + last.frames);
    }
  }
  return tally;
}

const names = renderedNames();
const tally = tallyOf(names);
const counted = (of: Record<string, number>) => Object.values(of).reduce((a, b) => a + b, 0);

describe('rendered shots, looked at by the detector', () => {
  it('have no more than one false report in 100 frames', () => {
    expect(names.length).toBeGreaterThanOrEqual(5);
    expect((100 * tally.wrong.length) / tally.frames, tally.wrong.join('\n')).toBeLessThanOrEqual(1);
  });

  it('have each pose that is off, bump and flicker found and named, and all slides but one', () => {
    for (const fault of ['offPose', 'cameraBump', 'flicker'])
      expect(tally.found[fault], `${fault}\n${tally.missed.join('\n')}`).toBe(tally.made[fault]);
    expect(tally.found.footSlide).toBeGreaterThanOrEqual(tally.made.footSlide! - 1);
  });

  it('have most of all faults found and named', () => {
    expect(counted(tally.found) / counted(tally.made), tally.missed.join('\n')).toBeGreaterThan(0.87);
  });
});
