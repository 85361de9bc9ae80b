import { describe, expect, it } from 'vitest';
import { baselineMotion, baselines } from '../../src/track/baselines.ts';
import { groupDoubts } from '../../src/track/doubtGroups.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import { meanScore, scoreMotion } from '../../src/track/score.ts';
import { keptSightings, takeTruth } from './keptSightings.ts';

/** The frames of a 24 fps shot over the whole take. */
const frames = (timesSec: Float64Array): Float64Array =>
  Float64Array.from({ length: Math.floor(timesSec[timesSec.length - 1]! * 24) + 1 }, (_, k) => k / 24);

const takes = ['keeper', 'snap60', 'uneven2997'].map((name) => ({
  name,
  seen: keptSightings(name),
  truth: takeTruth(name),
}));

const ours = meanScore(
  takes.map(({ seen, truth }) => scoreMotion(fitTracks(seen, []).at(frames(seen.timesSec)), truth)),
);
const by = (clean: (typeof baselines)['raw']) =>
  meanScore(takes.map(({ seen, truth }) => scoreMotion(baselineMotion(seen, clean, frames(seen.timesSec)), truth)));

describe('tracks of filmed takes against their truth', () => {
  it.each(['butterworth', 'savitzkyGolay', 'raw'] as const)('steps on ones and twos are nearer than by %s', (name) => {
    const theirs = by(baselines[name]);
    expect(ours.onesMedian).toBeLessThan(0.9 * theirs.onesMedian);
    expect(ours.onesP95).toBeLessThan(0.9 * theirs.onesP95);
    expect(ours.twosMedian).toBeLessThan(0.95 * theirs.twosMedian);
    expect(ours.twosP95).toBeLessThan(0.95 * theirs.twosP95);
  });

  it('nothing is missing, positions do not suffer, and the stated spread covers the error', () => {
    expect(ours.missing).toBe(0);
    expect(ours.positionMedian).toBeLessThan(1.02 * by(baselines.raw).positionMedian);
    expect(ours.within1Sd).toBeGreaterThan(0.68);
    expect(ours.within2Sd).toBeGreaterThan(0.92);
  });

  it('the errors stay as small as they were measured when this was written', () => {
    // 0.044, 0.45, 0.081 and 0.85 % of the torso.
    expect(ours.onesMedian).toBeLessThan(0.06);
    expect(ours.onesP95).toBeLessThan(0.6);
    expect(ours.twosMedian).toBeLessThan(0.11);
    expect(ours.twosP95).toBeLessThan(1.1);
    expect(ours.positionMedian).toBeLessThan(0.85);
  });

  it('steps say how sure they are', () => {
    expect(ours.onesWithin1Sd).toBeGreaterThan(0.68);
    expect(ours.twosWithin1Sd).toBeGreaterThan(0.68);
    expect(ours.twosWithin2Sd).toBeGreaterThan(0.93);
  });

  it.each(['keeper', 'snap60', 'uneven2997'])('%s without flow is followed worse by at least half', (name) => {
    const seen = keptSightings(name);
    const none = new Float32Array(seen.xPx.length).fill(Number.NaN);
    const without = { ...seen, onwardXPx: none, onwardYPx: none, onwardSdPx: none };
    const of = (sightings: typeof seen) =>
      scoreMotion(fitTracks(sightings, []).at(frames(seen.timesSec)), takeTruth(name)).onesMedian;
    expect(of(seen)).toBeLessThan(of(without) / 1.5);
  });

  it.each(takes.map((t) => t.name))('no sides are exchanged in %s, and little is doubted', (name) => {
    const { doubts } = fitTracks(keptSightings(name), []);
    expect(doubts.filter((d) => d.code === 'swapped' || d.code === 'nobody' || d.code === 'two-people')).toEqual([]);
    expect(groupDoubts(doubts, 'worst').length).toBeLessThan(5);
  });

  it('feet out of the picture and a second person are told', () => {
    const feet = fitTracks(keptSightings('no_feet'), []).doubts.filter((d) => d.code === 'out-of-frame');
    expect(feet.map((d) => d.joint)).toEqual(expect.arrayContaining(['leftAnkle', 'rightAnkle']));
    expect(fitTracks(keptSightings('two_people'), []).doubts.map((d) => d.code)).toContain('two-people');
  });
});
