import { describe, it } from 'vitest';
import { beatsIn } from '../../src/base/tempo.ts';
import { doubtLaneHeight, drawDoubtLane } from '../../src/draw/doubtMarks.ts';
import { layOutDrops } from '../../src/draw/dropChart.ts';
import { layOutExposureCurve } from '../../src/draw/exposureCurve.ts';
import { layOutExtremes, type PlacedExtreme } from '../../src/draw/extremeMarks.ts';
import { drawJointNotes } from '../../src/draw/jointNotes.ts';
import { layOutLagChart } from '../../src/draw/lagChart.ts';
import { layOutOwnTiming } from '../../src/draw/ownTiming.ts';
import { layOutPhaseStrip } from '../../src/draw/phaseStrip.ts';
import { printedPages } from '../../src/draw/printedPages.ts';
import { drawProps } from '../../src/draw/propMarks.ts';
import { FrameScale, StageView } from '../../src/draw/scales.ts';
import type { Mark, Scene } from '../../src/draw/scene.ts';
import { layOutSoundStrip } from '../../src/draw/soundStrip.ts';
import { layOutTimingChart } from '../../src/draw/spacingScene.ts';
import { poseAt } from '../../src/draw/stage.ts';
import { uniformPoints } from '../../src/timing/exposureAdvice.ts';
import { budgetFor } from '../../src/timing/exposures.ts';
import type { Lag } from '../../src/timing/lags.ts';
import { findOnsets } from '../../src/timing/onsets.ts';
import { besideEachOther, idealDrop } from '../../src/timing/sideBySide.ts';
import { movesOf, spacingOfMove } from '../../src/timing/spacingChart.ts';
import { visibleError } from '../../src/timing/visibleError.ts';
import { click, mix, soundtrackOf } from '../madeSound.ts';
import { madePlan, madeTiming } from '../plan/madeTiming.ts';
import { expectGolden } from './expectGolden.ts';
import { madePhase } from './madePhase.ts';

const scale = new FrameScale(0, 8, 10);
/** Marks that lie over something else, as a scene of their own. */
const sceneOf = (width: number, height: number, marks: readonly Mark[]): Scene => ({
  unit: 'px',
  width,
  height,
  title: 'Marks',
  summary: '',
  ground: 'desk',
  marks,
});

describe('golden charts of the bench', () => {
  it('exposures against what is seen', () => {
    const timing = madeTiming({ frameCount: 96 });
    const { motion, bodyHeightPx, choices, forcedFrames, exposures } = timing;
    const style = { width: 330, height: 132, bodyHeight: 250, unit: 'mm' as const, exposures: exposures.length };
    const now = visibleError(motion, bodyHeightPx, exposures);
    const { curve } = budgetFor(motion, bodyHeightPx, choices, forcedFrames);
    expectGolden('exposureCurve', layOutExposureCurve(curve, uniformPoints(timing), { ...style, now }), 'light');
  });

  it('the spacing of a move beside the charts that are drawn', () => {
    const timing = madeTiming();
    const chart = spacingOfMove(timing, 'rightWrist', movesOf(timing)[1]!);
    if (typeof chart === 'string') throw new Error(chart);
    const drawn = { ...chart, against: chart.against.slice(0, 3) };
    expectGolden('timingChart', layOutTimingChart(drawn, chart.ticks[4]!.frame, 340), 'light');
  });

  it('where poses stood before they were moved', () => {
    const anchor = (id: string, frame: number, ownFrame: number) => ({
      id,
      frame,
      ownFrame,
      takeSec: ownFrame / 24,
      shotSec: frame / 24,
    });
    const anchors = [anchor('start', 0, 0), anchor('key a', 14, 14), anchor('key b', 30, 24), anchor('end', 50, 46)];
    const style = { width: 520, scale, fromShot: true };
    expectGolden('ownTiming', layOutOwnTiming(anchors, style), 'light');
  });

  it('the extremes of a part, each kind, keys among them', () => {
    const kinds = ['left', 'right', 'top', 'bottom', 'turn', 'stop'] as const;
    const extremes = kinds.map(
      (kind, i): PlacedExtreme => ({
        kind,
        frame: 4 + 8 * i,
        prominence: 3 + 7 * i,
        unit: 'mm' as const,
        isKey: i % 3 === 1,
      }),
    );
    expectGolden('extremes', layOutExtremes(extremes, { width: 520, scale, part: 'left wrist' }), 'light');
  });

  it('the phases of a move, one of them named and chosen', () => {
    const phases = [
      madePhase('reaction', 2, 4),
      madePhase('anticipation', 6, 8, { name: 'gathers' }),
      madePhase('action', 14, 14),
      madePhase('overshoot', 28, 5),
      madePhase('settle', 33, 9),
    ];
    const style = { width: 520, scale, chosen: 'k0>k1/anticipation' };
    expectGolden('phaseStrip', layOutPhaseStrip(phases, style), 'light');
  });

  it('lead and drag: sure, unsure, and what cannot be said', () => {
    const lag = (leader: string, follower: string, lagFrames: number | null, sdFrames: number | null): Lag => ({
      chainId: 'leftArm',
      measure: 'turning',
      moveId: 'k0>k1',
      leader,
      follower,
      leaderParts: ['leftShoulder', 'leftElbow'],
      followerParts: ['leftElbow', 'leftWrist'],
      firstFrame: 10,
      frames: 20,
      startSec: 10 / 24,
      endSec: 30 / 24,
      lagFrames,
      lagSec: lagFrames === null ? null : lagFrames / 24,
      sdFrames,
      confidence: sdFrames === null ? 0 : sdFrames < 0.3 ? 0.9 : 0.4,
      follows: lagFrames === null ? null : 'free',
      why: '',
    });
    const lags = [
      lag('trunk', 'left upper arm', 1.2, 0.1),
      lag('left upper arm', 'left forearm', 2.1, 0.6),
      lag('left forearm', 'left hand', null, null),
    ];
    expectGolden('lagChart', layOutLagChart(lags, { width: 330 }), 'light');
  });

  it('two drops side by side', () => {
    const drop = (name: string, restitution: number) =>
      idealDrop(name, { dropHeightM: 1.5, restitution }, 26, 24, 1000 / 6);
    const rows = besideEachOther(drop('rubber', 0.8), drop('clay', 0.3));
    expectGolden('drops', layOutDrops(rows, ['rubber', 'clay'], 9, { width: 330, height: 190 }), 'light');
  });

  it('sound along the shot: wave, beats, beginnings and what is said', () => {
    const sound = soundtrackOf(
      mix(
        2.4,
        [0.5, 1.4].map((atSec) => ({ atSec, samples: click() })),
        0.001,
      ),
    );
    const rate = { frames: 24, seconds: 1 };
    const lane = {
      rate,
      frameCount: 50,
      sound,
      place: { startSec: 0, nudgeSec: 0 },
      onsets: findOnsets(sound),
      beats: beatsIn(rate, 120, 0, 50),
      dialogue: [
        { frameIndex: 12, text: 'o' },
        { frameIndex: 30, text: 'm, then a long breath' },
      ],
    };
    expectGolden('soundStrip', layOutSoundStrip(lane, { width: 520, scale }), 'light');
  });

  it('the lane of doubts, one chosen', () => {
    const codes = [
      'hidden',
      'guessed',
      'swapped',
      'blurred',
      'out-of-frame',
      'out-of-plane',
      'outlier',
      'cut',
    ] as const;
    const doubts = codes.map((code, i) => ({ code, firstFrame: 1 + 6 * i, frames: 3 + (i % 3), headline: code }));
    const marks = drawDoubtLane(doubts, doubts[3]!, scale, 0);
    expectGolden('doubtLane', sceneOf(520, doubtLaneHeight, marks), 'light');
  });

  it('marked points and notes on joints over the picture', () => {
    const { motion } = madeTiming({ frameCount: 48 });
    const view = StageView.fit(960, 540, 480, 270);
    const point = { xPx: 300, yPx: 200, sdPx: 0.4, guessed: false, isMarked: false };
    const points = drawProps(
      [
        { ...point, id: 'prop:a', name: 'ball', isMarked: true },
        { ...point, id: 'prop:b', name: 'hem', xPx: 620, yPx: 330, guessed: true, sdPx: 14 },
      ],
      view,
    );
    const wrist = motion.paths.get('leftWrist')!;
    const notes = drawJointNotes({
      view,
      pose: poseAt(motion, 20),
      doubted: [
        { joint: 'leftWrist', code: 'out-of-plane' },
        { joint: 'nose', code: 'hidden' },
      ],
      placed: [{ joint: 'rightWrist', xPx: 420, yPx: 300 }],
      way: Array.from({ length: 20 }, (_, i) => ({
        xPx: wrist.xPx[10 + i]!,
        yPx: wrist.yPx[10 + i]!,
        isMoved: i > 12,
      })),
    });
    expectGolden('overPicture', sceneOf(480, 270, [...points, ...notes]), 'dark');
  });

  it('the sound on the sheet', () => {
    const track = soundtrackOf(
      mix(
        2,
        [0.5, 1.25].map((atSec) => ({ atSec, samples: click() })),
        0.001,
      ),
    );
    const sound = { nudgeSec: 0, beatsPerMinute: 112, firstBeatSec: 0.1 };
    const plan = { ...madePlan({ frameCount: 40, book: { sound } }), heard: { track, onsets: findOnsets(track) } };
    expectGolden('sheet-a4-sound', printedPages(plan, { paper: 'A4' })[1]!, 'paper');
  });
});
