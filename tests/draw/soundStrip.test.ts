import { describe, expect, it } from 'vitest';
import { beatsIn } from '../../src/base/tempo.ts';
import { FrameScale } from '../../src/draw/scales.ts';
import { boxOf, type PathMark, type Scene } from '../../src/draw/scene.ts';
import { layOutSoundStrip, type SoundLane, soundStripHeight } from '../../src/draw/soundStrip.ts';
import { findOnsets } from '../../src/timing/onsets.ts';
import { click, mix, soundtrackOf } from '../madeSound.ts';

// A click at 3.0 s of the take; the shot begins at 1 s.
const sound = soundtrackOf(mix(5, [{ atSec: 3, samples: click() }]));
const style = { width: 992, scale: new FrameScale(0, 16, 10) };
const lane: SoundLane = {
  rate: { frames: 24, seconds: 1 },
  frameCount: 96,
  sound,
  place: { startSec: 1, nudgeSec: 0 },
  onsets: findOnsets(sound),
  beats: beatsIn({ frames: 24, seconds: 1 }, 120, 0, 96),
  dialogue: [{ frameIndex: 12, text: 'o' }],
};

const paths = (scene: Scene, role: string) =>
  scene.marks.filter((m): m is PathMark => m.kind === 'path' && m.role === role);

/** Where the wave is highest, screen pixels. */
function crest(scene: Scene): number {
  const points = [...paths(scene, 'wave')[0]!.d.matchAll(/L([\d.]+) ([\d.]+)/g)].map((m) => [
    Number(m[1]),
    Number(m[2]),
  ]);
  return points.reduce((best, p) => (p[1]! < best[1]! ? p : best))[0]!;
}

describe('layOutSoundStrip', () => {
  it('draws a sound on the frame on which it is heard, moved by trim and nudge alone', () => {
    // 3 s of the take are 2 s of the shot: frame 48 begins there.
    expect(crest(layOutSoundStrip(lane, style))).toBeCloseTo(style.scale.x(48), -0.5);
    const later = layOutSoundStrip({ ...lane, place: { startSec: 1, nudgeSec: 0.25 } }, style);
    expect(crest(later) - crest(layOutSoundStrip(lane, style))).toBeCloseTo(60, 0);
    const pin = boxOf(paths(later, 'onset')[0]!.d);
    expect((pin.left + pin.right) / 2).toBeCloseTo(style.scale.x(54), 0);
  });

  it('leaves out what sounds before or after the shot', () => {
    expect(paths(layOutSoundStrip({ ...lane, place: { startSec: 3.1, nudgeSec: 0 } }, style), 'onset')).toEqual([]);
    expect(paths(layOutSoundStrip({ ...lane, frameCount: 48 }, style), 'onset')).toEqual([]);
  });

  it('puts beats and words at their frames, also where there is no sound', () => {
    const scene = layOutSoundStrip({ ...lane, sound: null, onsets: [] }, style);
    expect(scene.height).toBe(soundStripHeight(false));
    const named = scene.marks.filter((m) => m.role === 'beat' && m.kind === 'text');
    expect(named.map((m) => (m.kind === 'text' ? m.text : ''))).toEqual(['1', '2', '3', '4', '5', '6', '7', '8']);
    const said = scene.marks.find((m) => m.role === 'dialogue');
    expect(said?.kind === 'text' ? said.x : 0).toBeCloseTo(style.scale.x(12) + 0.5, 6);
    expect(scene.summary).toContain('no sound');
  });
});
