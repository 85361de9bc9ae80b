import { describe, expect, it } from 'vitest';
import { layOutPictureOverlay, sceneSize } from '../../src/draw/pictureOverlay.ts';
import { fileWord, scenesOfPlan } from '../../src/draw/planScenes.ts';
import { boxOf, type PathMark, type TextMark } from '../../src/draw/scene.ts';
import { themes } from '../../src/draw/tokens.ts';
import { toSvg } from '../../src/draw/toSvg.ts';
import { madePlan } from '../plan/madeTiming.ts';

const plan = madePlan();

describe('the scenes of a plan', () => {
  const scenes = [...scenesOfPlan(plan, { paper: 'A4' })];
  const names = scenes.map((s) => s.name);

  it('have names of their own that are good on every disk', () => {
    expect(new Set(names).size).toBe(names.length);
    for (const name of names) expect(name).toMatch(/^[a-z0-9-]+(\/[a-z0-9-]+)*\.svg$/);
  });

  it('are all pages and every chart', () => {
    expect(names.filter((n) => n.startsWith('pages/')).length).toBeGreaterThanOrEqual(2);
    for (const name of [
      'charts/timeline.svg',
      'charts/phases.svg',
      'charts/keys.svg',
      'charts/exposures.svg',
      'charts/right-wrist/path.svg',
      'charts/right-wrist/steps.svg',
      'charts/right-wrist/extremes.svg',
      'charts/right-wrist/place.svg',
      'charts/right-wrist/speed.svg',
      'puppet/measures.svg',
    ])
      expect(names, name).toContain(name);
    expect(names.some((n) => /^charts\/right-wrist\/spacing-\d{4}-\d{4}\.svg$/.test(n))).toBe(true);
    expect(names.some((n) => n.startsWith('charts/lead-and-drag/'))).toBe(true);
    // A figure for every pose of the rough pass: keys, not breakdowns.
    const keys = plan.timing.keys.filter((k) => k.kind === 'key').length;
    expect(names.filter((n) => n.startsWith('puppet/pose-'))).toHaveLength(keys);
    // Parts that are not on the sheet have none, nor has a shot without sound or beats a sound strip.
    expect(names.some((n) => n.includes('left-knee'))).toBe(false);
    expect(names).not.toContain('charts/sound.svg');
  });

  it('become SVG without a number missing', () => {
    for (const { name, scene } of scenes) {
      const svg = toSvg(scene, { theme: themes.paper });
      expect(svg, name).not.toMatch(/NaN|undefined|Infinity/);
      expect(scene.marks.length, name).toBeGreaterThan(0);
    }
  });

  it('have a strip for beats that were laid', () => {
    const sound = { ...plan.book.sound, beatsPerMinute: 120 };
    const withBeats = [...scenesOfPlan(madePlan({ book: { sound } }), { paper: 'A4' })];
    expect(withBeats.map((s) => s.name)).toContain('charts/sound.svg');
  });

  it('are told apart where two chains have one name', () => {
    const parts = ['leftWrist', 'leftElbow', 'leftShoulder'] as const;
    const chains = [
      { id: 'a', name: 'Ärmel', parts },
      { id: 'b', name: 'armel', parts },
    ];
    const both = [...scenesOfPlan(madePlan({ book: { chains } }), { paper: 'A4' })].map((s) => s.name);
    expect(both.filter((n) => /lead-and-drag\/armel-\d{4}-\d{4}\.svg/.test(n)).length).toBeGreaterThan(0);
    expect(both.filter((n) => /lead-and-drag\/armel-\d{4}-\d{4}-2\.svg/.test(n)).length).toBeGreaterThan(0);
    expect(fileWord('/// ')).toBe('part');
  });
});

describe('what is laid over a picture', () => {
  const choices = { showsSkeleton: true, arcs: ['rightWrist'], reach: 'shot', showsNumbers: true } as const;
  const middleOf = (mark: PathMark) => {
    const box = boxOf(mark.d);
    return [(box.left + box.right) / 2, (box.top + box.bottom) / 2];
  };

  it('lies on the joints at any size and shape', () => {
    const { paths } = plan.timing.motion;
    for (const [widthPx, heightPx] of [
      [960, 540],
      [3840, 2160],
      [100, 400],
      [1000, 1000],
    ] as const) {
      const scene = layOutPictureOverlay(plan, 40, { ...choices, widthPx, heightPx });
      const { pxPerUnit } = sceneSize({ widthPx, heightPx });
      const mark = scene.marks.find((m) => m.id === 'joint-leftKnee') as PathMark;
      const [x, y] = middleOf(mark).map((v) => v * pxPerUnit);
      // Whole and centred: the smaller of both scales, half of what is left to each side.
      const scale = Math.min(widthPx / 960, heightPx / 540);
      const { xPx, yPx } = paths.get('leftKnee')!;
      expect(x).toBeCloseTo((widthPx - 960 * scale) / 2 + scale * xPx[40]!, 1);
      expect(y).toBeCloseTo((heightPx - 540 * scale) / 2 + scale * yPx[40]!, 1);
    }
  });

  it('shows the pose that is exposed, with its number and its frame', () => {
    const size = { widthPx: 960, heightPx: 540 };
    const [first, second] = [40, 41].map((frame) => layOutPictureOverlay(plan, frame, { ...choices, ...size }));
    const textOf = (scene: typeof first, id: string) => (scene!.marks.find((m) => m.id === id) as TextMark).text;
    // On twos, frame 41 (from 0) is the second of the exposure before.
    expect(first!.marks.find((m) => m.id === 'joint-nose')).toEqual(second!.marks.find((m) => m.id === 'joint-nose'));
    expect(textOf(first, 'corner-pose')).toBe(textOf(second, 'corner-pose'));
    expect([textOf(first, 'corner-frame'), textOf(second, 'corner-frame')]).toEqual(['frame 41', 'frame 42']);
    const pose = plan.poses.find((p) => p.firstFrame <= 40 && 40 < p.firstFrame + p.frames)!;
    expect(textOf(first, 'corner-pose')).toBe(String(pose.number));
    expect(textOf(first, 'pose-rightWrist-40')).toBe(String(pose.number));
  });

  it('has a tick for every exposure of the shot, or of the move alone', () => {
    const size = { widthPx: 960, heightPx: 540 };
    const ticks = (reach: 'shot' | 'move') =>
      layOutPictureOverlay(plan, 40, { ...choices, ...size, reach })
        .marks.filter((m) => m.role === 'tick')
        .map((m) => Number(m.id.split('-').at(-1)));
    expect(ticks('shot')).toEqual(plan.timing.exposures.map((e) => e.firstFrame));
    const here = ticks('move');
    expect(here.length).toBeGreaterThan(2);
    expect(here.length).toBeLessThan(ticks('shot').length / 2);
    expect(here[0]).toBeLessThanOrEqual(40);
    expect(here.at(-1)).toBeGreaterThan(40);
  });

  it('is empty where nothing is asked for', () => {
    const bare = { ...choices, showsSkeleton: false, arcs: [], showsNumbers: false, widthPx: 960, heightPx: 540 };
    expect(layOutPictureOverlay(plan, 0, bare).marks).toEqual([]);
    expect(layOutPictureOverlay(plan, 0, bare).ground).toBeNull();
  });
});
