import { describe, expect, it } from 'vitest';
import { lagWords, layOutLagChart, signedFrames } from '../../src/draw/lagChart.ts';
import { layOutPhaseStrip } from '../../src/draw/phaseStrip.ts';
import { FrameScale } from '../../src/draw/scales.ts';
import { boxOf, type PathMark, type Scene, type TextMark } from '../../src/draw/scene.ts';
import type { Lag } from '../../src/timing/lags.ts';
import { madePhase } from './madePhase.ts';

const phases = [
  madePhase('reaction', 5, 3),
  madePhase('anticipation', 8, 6),
  madePhase('action', 14, 10),
  madePhase('overshoot', 24, 2),
  madePhase('settle', 26, 5),
];
const style = { width: 1000, scale: new FrameScale(0, 16, 16), chosen: null };
const bars = (scene: Scene) => scene.marks.filter((m): m is PathMark => m.kind === 'path' && m.role === 'phase');
const names = (scene: Scene) => scene.marks.filter((m): m is TextMark => m.kind === 'text').map((m) => m.text);

describe('layOutPhaseStrip', () => {
  it('lays each phase over its own frames, and says so to who cannot see it', () => {
    const drawn = bars(layOutPhaseStrip(phases, style));
    expect(drawn.map((b) => b.label)).toEqual([
      'reaction, frames 6 to 8',
      'anticipation, frames 9 to 14',
      'action, frames 15 to 24',
      'overshoot, frames 25 to 26',
      'settle, frames 27 to 31',
    ]);
    drawn.forEach((b, i) => {
      const box = boxOf(b.d);
      expect(Math.abs(box.left - style.scale.x(phases[i]!.firstFrame))).toBeLessThan(1);
      expect(Math.abs(box.right - style.scale.x(phases[i]!.firstFrame + phases[i]!.frames))).toBeLessThan(1);
    });
  });

  it('tells kinds apart without colour: no two bars have one filling', () => {
    const scene = layOutPhaseStrip(
      phases.map((p, i) => ({ ...p, firstFrame: 10 * i, frames: 8 })),
      style,
    );
    const shape = (i: number) => {
      const bar = bars(scene)[i]!;
      const hatch = scene.marks.find((m) => m.id === `phase-${i}-hatch`);
      const left = boxOf(bar.d).left;
      const lines = hatch?.kind === 'path' ? hatch.d.split('M')[1]! : '';
      const [x1 = 0, , x2 = 0] = lines.split(/[ L]/).map(Number);
      return `${bar.fill} ${bar.dash.length > 0} ${Math.sign(x2 - x1)} ${bar.d.split('L').length} ${left > 0}`;
    };
    expect(new Set([0, 1, 2, 3, 4].map(shape)).size).toBe(5);
  });

  it('hatching stays inside its bar', () => {
    const scene = layOutPhaseStrip(phases, style);
    for (const i of [1, 3]) {
      const box = boxOf((scene.marks.find((m) => m.id === `phase-${i}`) as PathMark).d);
      const hatch = boxOf((scene.marks.find((m) => m.id === `phase-${i}-hatch`) as PathMark).d);
      expect(hatch.left).toBeGreaterThanOrEqual(box.left - 1e-6);
      expect(hatch.right).toBeLessThanOrEqual(box.right + 1e-6);
      expect(hatch.top).toBeGreaterThanOrEqual(box.top - 1e-6);
      expect(hatch.bottom).toBeLessThanOrEqual(box.bottom + 1e-6);
    }
  });

  it('names phases as the animator does, shorter where there is less room', () => {
    const named = phases.map((p) => (p.kind === 'anticipation' ? { ...p, name: 'the dip' } : p));
    expect(names(layOutPhaseStrip(named, style))).toEqual(['reaction', 'the dip', 'action', 'over', 'settle']);
    const narrow = { ...style, scale: new FrameScale(0, 16, 5) };
    expect(names(layOutPhaseStrip(phases, narrow))).toEqual(['r', 'antic', 'action', 'o', 'settle']);
  });
});

const lag = (leader: string, follower: string, lagFrames: number | null): Lag => ({
  chainId: 'leftArm',
  measure: 'turning',
  moveId: 'k0>k1',
  leader,
  follower,
  leaderParts: [],
  followerParts: [],
  firstFrame: 0,
  frames: 20,
  startSec: 0,
  endSec: 1,
  lagFrames,
  lagSec: lagFrames === null ? null : lagFrames / 24,
  sdFrames: lagFrames === null ? null : 0.2,
  confidence: lagFrames === null ? 0 : 0.95,
  follows: lagFrames === null ? null : 'free',
  why: lagFrames === null ? 'left hand is not seen here' : 'from how both turn',
});

describe('layOutLagChart', () => {
  const chain = [lag('left upper arm', 'left forearm', 2.5), lag('left forearm', 'left hand', 2)];
  const middle = (scene: Scene, i: number) => {
    const box = boxOf((scene.marks.find((m) => m.id === `link-${i}`) as PathMark).d);
    return (box.left + box.right) / 2;
  };

  it('stands each link as far right as it is later than the first', () => {
    const scene = layOutLagChart(chain, { width: 330 });
    const perFrame = (middle(scene, 1) - middle(scene, 0)) / 2.5;
    expect(perFrame).toBeGreaterThan(10);
    expect((middle(scene, 2) - middle(scene, 0)) / perFrame).toBeCloseTo(4.5, 1);
    expect(scene.summary).toBe('left forearm 2.5 frames after left upper arm; left hand 2 frames after left forearm.');
  });

  it('keeps a link of which nothing can be said under the one before, marked otherwise', () => {
    const scene = layOutLagChart([chain[0]!, lag('left forearm', 'left hand', null)], { width: 330 });
    expect(middle(scene, 2)).toBeCloseTo(middle(scene, 1), 6);
    expect((scene.marks.find((m) => m.id === 'link-2') as PathMark).fill).toBeNull();
    expect((scene.marks.find((m) => m.id === 'link-2-lag') as TextMark).text).toBe('not said');
    expect(scene.summary).toContain('left hand after left forearm: not to be said, left hand is not seen here');
  });

  it('says who leads, with signs', () => {
    expect(signedFrames(2.46)).toBe('+2.5');
    expect(signedFrames(-0.52)).toBe('−0.5');
    expect(signedFrames(0.02)).toBe('0');
    expect(lagWords(lag('trunk', 'head', -3))).toBe('head 3 frames before trunk');
    expect(lagWords(lag('trunk', 'head', 0.03))).toBe('head together with trunk');
  });

  it('draws nothing for no links', () => {
    expect(layOutLagChart([], { width: 300 }).marks).toEqual([]);
  });
});
