import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { computeTiming } from '../../src/timing/computeTiming.ts';
import { minimumJerk } from '../../src/timing/ease.ts';
import { findPhases, type Phase, type PhaseWishes } from '../../src/timing/phases.ts';
import type { TimingChoices } from '../../src/timing/timing.ts';
import { findTogether } from '../../src/timing/twinning.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import type { Tracks } from '../../src/track/motion.ts';
import { keptSightings } from '../track/keptSightings.ts';
import { tracksThrough, wander } from './authored.ts';
import { choicesFor, oneJoint } from './choices.ts';
import { type ArmMove, madeArms } from './madeArms.ts';

const height = 400;

/** Sizes as parts of the move between the two poses. */
interface Authored {
  readonly back: number;
  readonly beyond: number;
}

/** A wrist that goes back, goes, goes beyond and settles, with rests of half a second around it; pixels along x. */
function oneMove({ back, beyond }: Authored, wayPx = 160) {
  const turns = [
    { startSec: 0.5, endSec: 0.75, byPx: -back * wayPx },
    { startSec: back > 0 ? 0.75 : 0.5, endSec: 1.2, byPx: (1 + back + beyond) * wayPx },
    { startSec: 1.2, endSec: 1.45, byPx: -beyond * wayPx },
  ];
  return (sec: number) =>
    turns.reduce((x, t) => x + t.byPx * minimumJerk((sec - t.startSec) / (t.endSec - t.startSec)), 100);
}

const wristTracks = (authored: Authored, wayPx = 160): Tracks => {
  const x = oneMove(authored, wayPx);
  return oneJoint('leftWrist', 30, 2.2, height, x, () => 300);
};

function phasesOf(
  tracks: Tracks,
  endSec: number,
  wishes: PhaseWishes = {},
  changes: Partial<TimingChoices> = {},
): Phase[] {
  return findPhases(tracks, computeTiming(tracks, choicesFor(endSec, changes)), wishes);
}

const sizeOf = (phases: readonly Phase[], kind: Phase['kind']) => phases.find((p) => p.kind === kind)?.share ?? 0;

describe('the size of an anticipation and of an overshoot', () => {
  test.each([0.05, 0.1, 0.18, 0.25, 0.4])('of %s of the move is told within 3 % in exact tracks', (part) => {
    const phases = phasesOf(wristTracks({ back: part, beyond: part / 2 + 0.03 }), 2.2);
    expect(sizeOf(phases, 'anticipation') / part).toBeCloseTo(1, 1);
    expect(Math.abs(sizeOf(phases, 'anticipation') / part - 1)).toBeLessThan(0.03);
    expect(Math.abs(sizeOf(phases, 'overshoot') / (part / 2 + 0.03) - 1)).toBeLessThan(0.03);
  });

  test.each([0.05, 0.1, 0.18, 0.25, 0.4])('of %s of the move is told within 15 % where tracks wander', (part) => {
    const x = oneMove({ back: part, beyond: part });
    for (let seed = 1; seed <= 6; seed++) {
      const timesSec = Float64Array.from({ length: 66 }, (_, i) => i / 30);
      const places = new Map([['leftWrist' as const, { x: timesSec.map(x), y: timesSec.map(() => 300) }]]);
      // 0.1 % of the body height: the most that fine readings of our takes wander; and blurred as tracks are.
      const tracks = tracksThrough(wander({ timesSec, places }, seed, 0.001 * height, 0.12, 0.008), height, 1);
      const phases = phasesOf(tracks, 2.2, { part: 'leftWrist' });
      expect(Math.abs(sizeOf(phases, 'anticipation') / part - 1)).toBeLessThan(0.15);
      expect(Math.abs(sizeOf(phases, 'overshoot') / part - 1)).toBeLessThan(0.15);
    }
  });

  test('comes with its frames: back for 6, over the pose, still 6 after', () => {
    const phases = phasesOf(wristTracks({ back: 0.2, beyond: 0.15 }), 2.2);
    expect(phases.map((p) => p.kind)).toEqual(['anticipation', 'action', 'overshoot', 'settle']);
    const [anticipation, action, overshoot, settle] = phases;
    expect([anticipation!.firstFrame, anticipation!.frames]).toEqual([12, 6]);
    expect(action!.firstFrame).toBe(18);
    expect(action!.firstFrame + action!.frames).toBe(overshoot!.firstFrame);
    expect([settle!.firstFrame, settle!.frames]).toEqual([29, 6]);
    expect(anticipation!.sizeMm).toBeCloseTo((0.2 * 160 * 250) / height, 0);
    expect(anticipation!.sentence).toBe('Left wrist draws 20 mm back for 6 frames before it goes: 20 % of the move.');
  });

  test('is nothing for a part that only goes, along a line or round an arc of 160°', () => {
    for (const degrees of [0, 90, 160]) {
      const u = (sec: number) => minimumJerk((sec - 0.5) / 0.7);
      const angle = (sec: number) => (degrees * u(sec) * Math.PI) / 180;
      const x = (sec: number) => (degrees ? 300 + 80 * Math.cos(angle(sec)) : 100 + 160 * u(sec));
      const y = (sec: number) => (degrees ? 200 - 80 * Math.sin(angle(sec)) : 300);
      const kinds = phasesOf(oneJoint('leftWrist', 30, 2.2, height, x, y), 2.2).map((p) => p.kind);
      expect(kinds).toEqual(['action']);
    }
  });

  test('of going back and of going beyond change places when time runs backwards', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.06, max: 0.4, noNaN: true }),
        fc.double({ min: 0.06, max: 0.4, noNaN: true }),
        (a, b) => {
          const x = oneMove({ back: a, beyond: b });
          const there = phasesOf(
            oneJoint('leftWrist', 60, 2.2, height, x, () => 300),
            2.2,
          );
          const backwards = phasesOf(
            oneJoint(
              'leftWrist',
              60,
              2.2,
              height,
              (sec) => x(2.2 - sec),
              () => 300,
            ),
            2.2,
          );
          expect(sizeOf(backwards, 'overshoot')).toBeCloseTo(sizeOf(there, 'anticipation'), 2);
          expect(sizeOf(backwards, 'anticipation')).toBeCloseTo(sizeOf(there, 'overshoot'), 2);
        },
      ),
      { numRuns: 12 },
    );
  });
});

const arms = (moves: readonly ArmMove[], sides: readonly ('left' | 'right')[], foreLag = 0, scale = 1) =>
  tracksThrough(
    madeArms({ moves, sides, foreLag, handLag: 0, heightPx: scale * height, endSec: 2.6 }),
    scale * height,
    0,
  );
/** Wound up, raised, gone beyond, settled. */
const raising: ArmMove[] = [
  { startSec: 0.5, endSec: 0.75, upperDeg: -12, foreDeg: -14, bendDeg: 0 },
  { startSec: 0.75, endSec: 1.25, upperDeg: 90, foreDeg: 106, bendDeg: 0 },
  { startSec: 1.25, endSec: 1.5, upperDeg: -10, foreDeg: -12, bendDeg: 0 },
];

describe('phases of the whole body', () => {
  test('are those of the part that shows them most; the mirrored picture tells of the other side', () => {
    const left = phasesOf(arms(raising, ['left']), 2.6);
    const right = phasesOf(arms(raising, ['right']), 2.6);
    expect(left.map((p) => p.kind)).toEqual(['anticipation', 'action', 'overshoot', 'settle']);
    expect(left.every((p) => p.part === 'leftWrist')).toBe(true);
    const swapped = right.map((p) => p.sentence.replace('Right', 'Left'));
    expect(swapped).toEqual(left.map((p) => p.sentence));
  });

  test('are as large again in millimetres on a puppet twice as high, and the same in a larger picture', () => {
    const plain = phasesOf(arms(raising, ['left']), 2.6);
    const tall = phasesOf(arms(raising, ['left']), 2.6, {}, { puppetHeightMm: 500 });
    const large = phasesOf(arms(raising, ['left'], 0, 2.5), 2.6);
    plain.forEach((p, i) => {
      expect(tall[i]!.sizeMm! / p.sizeMm!).toBeCloseTo(2, 6);
      expect(large[i]!.sizeMm! / p.sizeMm!).toBeCloseTo(1, 3);
      expect(large[i]!.sizePx! / p.sizePx!).toBeCloseTo(2.5, 2);
      expect(tall[i]!.firstFrame).toBe(p.firstFrame);
    });
  });

  test('last twice as long where the animator doubles the shot’s length, and keep ids and names', () => {
    const tracks = arms(raising, ['left']);
    // Knots far outside too: near the outermost ones time eases back into the take's own.
    const retiming = { knots: [-4, -2, 5, 7].map((takeSec) => ({ takeSec, shotSec: 2 * takeSec })) };
    const plain = phasesOf(tracks, 2.6);
    const names = new Map([[plain[0]!.id, 'the dip']]);
    const slow = phasesOf(tracks, 2.6, { names }, { retiming });
    expect(slow.map((p) => p.id)).toEqual(plain.map((p) => p.id));
    expect(slow[0]!.name).toBe('the dip');
    slow.forEach((p, i) => {
      expect(Math.abs(p.firstFrame - 2 * plain[i]!.firstFrame)).toBeLessThanOrEqual(1);
      expect(Math.abs(p.frames - 2 * plain[i]!.frames)).toBeLessThanOrEqual(2);
    });
  });

  test('tell the longer way where poses are pushed further, and are the same phases', () => {
    const tracks = arms(raising, ['left']);
    const plain = phasesOf(tracks, 2.6);
    const pushed = phasesOf(tracks, 2.6, {}, { exaggeration: { amount: 1.3, neutralSec: null } });
    expect(pushed.map((p) => p.id)).toEqual(plain.map((p) => p.id));
    const way = (phases: readonly Phase[]) => phases.find((p) => p.kind === 'action')!.sizeMm!;
    expect(way(pushed) / way(plain)).toBeGreaterThan(1.02);
  });

  test('an ordinary key more in the shot does not change the ids of other moves', () => {
    const tracks = arms(raising, ['left']);
    const plain = phasesOf(tracks, 2.6);
    const pinned = { id: 'mine', takeSec: 2.3, kind: 'key' as const, name: '' };
    const ids = phasesOf(tracks, 2.6, {}, { pinnedKeys: [pinned] }).map((p) => p.id);
    expect(ids).toEqual(expect.arrayContaining(plain.map((p) => p.id)));
  });

  test('a cue is followed by how long the body waits; without one nothing is said of it', () => {
    const tracks = arms(raising, ['left']);
    const [reaction] = phasesOf(tracks, 2.6, { cuesSec: [0.25] });
    expect(reaction).toMatchObject({ kind: 'reaction', part: null, firstFrame: 6, frames: 6 });
    expect(reaction!.sentence).toBe('The body goes 6 frames after the cue at frame 7.');
    expect(phasesOf(tracks, 2.6).some((p) => p.kind === 'reaction')).toBe(false);
  });

  test('one part’s own phases are told on request, also where another part shows more', () => {
    const elbow = phasesOf(arms(raising, ['left']), 2.6, { part: 'leftElbow' });
    expect(elbow.map((p) => [p.kind, p.part])).toEqual([
      ['anticipation', 'leftElbow'],
      ['action', 'leftElbow'],
      ['overshoot', 'leftElbow'],
      ['settle', 'leftElbow'],
    ]);
    expect(elbow[0]!.id).toMatch(/anticipation\/leftElbow$/);
    expect(phasesOf(arms(raising, ['left']), 2.6, { part: 'rightElbow' })).toEqual([]);
  });

  test('nobody moves: no phases', () => {
    expect(phasesOf(arms([], ['left']), 2.6)).toEqual([]);
  });
});

describe('what happens together', () => {
  const both = (foreLag: number) => {
    const tracks = arms(raising, ['left', 'right'], foreLag);
    return findTogether(tracks, computeTiming(tracks, choicesFor(2.6)));
  };

  test('mirrored arms are twins, told with their frame', () => {
    const [twins] = both(0);
    expect(twins).toMatchObject({ kind: 'twins', parts: ['leftWrist', 'rightWrist'] });
    expect(twins!.sentence).toMatch(/^Both wrists do the same, mirrored, and arrive together on frame 3\d\.$/);
    expect(Math.abs(twins!.withinFrames)).toBeLessThan(0.1);
  });

  test('one arm alone has no twin', () => {
    const tracks = arms(raising, ['left']);
    expect(findTogether(tracks, computeTiming(tracks, choicesFor(2.6)))).toEqual([]);
  });

  test('arms three frames apart are no twins', () => {
    const early = madeArms({ moves: raising, sides: ['left'], foreLag: 0, handLag: 0, heightPx: height, endSec: 2.6 });
    const late = madeArms({
      moves: raising,
      sides: ['right'],
      foreLag: 0,
      handLag: 0,
      heightPx: height,
      endSec: 2.6,
      shiftSec: 3 / 24,
    });
    const places = new Map([...early.places, ...[...late.places].filter(([joint]) => /^right/.test(joint))]);
    const tracks = tracksThrough({ timesSec: early.timesSec, places }, height, 0);
    const found = findTogether(tracks, computeTiming(tracks, choicesFor(2.6)));
    expect(found.filter((t) => t.kind === 'twins')).toEqual([]);
  });

  test('everything that stops on one frame is told, and not where a part drags', () => {
    const whole = (dragSec: number): Tracks => {
      const u = (sec: number, late: number) => minimumJerk((sec - 0.5 - late) / 0.6);
      const places = madeArms({ moves: [], sides: [], foreLag: 0, handLag: 0, heightPx: height, endSec: 2.6 });
      const goes = (joint: 'nose' | 'leftWrist' | 'rightWrist', byPx: number, late: number) =>
        places.timesSec.forEach((sec, i) => {
          places.places.get(joint)!.x[i]! += byPx * u(sec, late);
        });
      goes('nose', 40, 0);
      goes('leftWrist', 60, dragSec);
      goes('rightWrist', 50, 0);
      return tracksThrough(places, height, 0);
    };
    const found = (dragSec: number) =>
      findTogether(whole(dragSec), computeTiming(whole(dragSec), choicesFor(2.6))).filter((t) => t.kind === 'stop');
    expect(found(0)).toMatchObject([{ kind: 'stop', frame: 26 }]);
    expect(found(4 / 24)).toEqual([]);
  });
});

describe('on filmed takes', () => {
  interface TruthFile {
    duration: number;
    pose: { t: number; joints: Record<string, [number, number, number]> }[];
    anticipation: { t: number; start: number }[];
    overshoot: { t: number; settled: number }[];
  }
  const truthOf = (name: string): TruthFile =>
    JSON.parse(readFileSync(new URL(`../../fixtures/takes/${name}.truth.json`, import.meta.url), 'utf8'));
  /** Distance in the picture between a joint's places at two times (linear between pictures). */
  const between = ({ pose }: TruthFile, joint: string, a: number, b: number): number => {
    const at = (sec: number): [number, number] => {
      const k = Math.max(
        0,
        pose.findLastIndex((p) => p.t <= sec),
      );
      const p = pose[k]!;
      const q = pose[Math.min(k + 1, pose.length - 1)]!;
      const u = q.t > p.t ? (sec - p.t) / (q.t - p.t) : 0;
      const mix = (axis: 0 | 1) => p.joints[joint]![axis] * (1 - u) + q.joints[joint]![axis] * u;
      return [mix(0), mix(1)];
    };
    return Math.hypot(at(a)[0] - at(b)[0], at(a)[1] - at(b)[1]);
  };
  const near = (phases: readonly Phase[], kind: Phase['kind'], sec: number) =>
    phases.find((p) => p.kind === kind && Math.abs((kind === 'settle' ? p.startSec : p.endSec) - sec) < 2 / 24);

  test('wind-ups and overshoots of the signalling arm are found with sizes within 15 % and ends within a frame', () => {
    const truth = truthOf('drags');
    const phases = phasesOf(fitTracks(keptSightings('drags'), []), truth.duration);
    expect(phases.filter((p) => p.kind === 'anticipation')).toHaveLength(2);
    expect(phases.filter((p) => p.kind === 'overshoot')).toHaveLength(2);
    for (const a of truth.anticipation) {
      const found = near(phases, 'anticipation', a.t)!;
      expect(found.part).toBe('rightWrist');
      expect(Math.abs(found.sizePx! / between(truth, 'right_wrist', a.start, a.t) - 1)).toBeLessThan(0.15);
      expect(Math.abs(found.startSec - a.start)).toBeLessThan(1 / 24);
      expect(Math.abs(found.endSec - a.t)).toBeLessThan(1 / 24);
    }
    for (const o of truth.overshoot) {
      const found = near(phases, 'settle', o.t)!;
      expect(found.part).toBe('rightWrist');
      expect(Math.abs(found.sizePx! / between(truth, 'right_wrist', o.t, o.settled) - 1)).toBeLessThan(0.15);
      expect(Math.abs(found.startSec - o.t)).toBeLessThan(1 / 24);
      expect(Math.abs(found.endSec - o.settled)).toBeLessThan(1 / 24);
    }
  });

  test('the keeper sinks before he heaves, goes beyond, and hears with his head three frames before he moves', () => {
    const truth = truthOf('keeper');
    const tracks = fitTracks(keptSightings('keeper'), []);
    const phases = phasesOf(tracks, truth.duration);
    const [sink] = truth.anticipation;
    const [heave] = truth.overshoot;
    const found = near(phases, 'anticipation', sink!.t)!;
    expect(found.part).toBe('nose');
    expect(Math.abs(found.sizePx! / between(truth, 'nose', sink!.start, sink!.t) - 1)).toBeLessThan(0.15);
    const head = near(phasesOf(tracks, truth.duration, { part: 'nose' }), 'settle', heave!.t)!;
    expect(Math.abs(head.sizePx! / between(truth, 'nose', heave!.t, heave!.settled) - 1)).toBeLessThan(0.15);
    const reactions = phases.filter((p) => p.kind === 'reaction');
    expect(reactions.map((p) => [p.part, p.frames])).toEqual([['nose', 3]]);
    expect(Math.abs(reactions[0]!.startSec - 80 / 24)).toBeLessThan(1 / 24);
  });
});
