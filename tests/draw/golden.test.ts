import { describe, expect, it } from 'vitest';
import { KeyCountScale, layOutKeyCurve, layOutSpacing } from '../../src/draw/charts.ts';
import { layOutJointGraph } from '../../src/draw/jointGraph.ts';
import { printedPages } from '../../src/draw/printedPages.ts';
import { FrameScale, StageView } from '../../src/draw/scales.ts';
import { layOutStage, poseAt } from '../../src/draw/stage.ts';
import { layOutTimeline } from '../../src/draw/timeline.ts';
import { newPuppet } from '../../src/puppet/builtIn.ts';
import { puppetOfHeight } from '../../src/puppet/profile.ts';
import { arcOf } from '../../src/timing/arcs.ts';
import { stepsOf } from '../../src/timing/spacing.ts';
import { madePlan, madeTiming, twelveParts, withHitches } from '../plan/madeTiming.ts';
import { expectGolden } from './expectGolden.ts';

const notes = new Map([
  [0, { action: '', dialogue: '(wind, far off)', camera: 'locked' }],
  [20, { action: 'ANTIC down', dialogue: '', camera: '' }],
  [98, { action: '', dialogue: 'a gull cries over the lamp room, twice, then nothing', camera: 'slow push in' }],
]);
const doubt = {
  code: 'out-of-plane',
  joint: 'leftWrist',
  startSec: 1.6,
  endSec: 2.4,
  sentence: '',
  headline: '',
  worth: 0,
  plane: null,
} as const;

describe('golden pages', () => {
  const plan = madePlan({ doubts: [doubt], book: { frameNotes: notes, notes: 'Keep the can heavy.' } });
  const pages = printedPages(plan, { paper: 'A4' });

  it('the pop-through list', () => expectGolden('popThrough-a4', pages[0]!, 'paper'));
  it('the pop-through list on a page that lies', () => {
    const lying = printedPages(plan, { paper: 'Letter', orientation: 'landscape', pages: ['popThrough'] });
    expectGolden('popThrough-letter-lying', lying[0]!, 'paper');
  });
  it('the exposure sheet on twos', () => expectGolden('sheet-a4-twos', pages[1]!, 'paper'));
  it('the exposure sheet’s last page', () => expectGolden('sheet-a4-last', pages[2]!, 'paper'));
  it('the tables of moves and angles', () => {
    const short = printedPages(madePlan({ frameCount: 48, doubts: [{ ...doubt, startSec: 0.5, endSec: 0.7 }] }), {
      paper: 'A4',
      pages: ['popThrough', 'sheet', 'moves'],
    });
    expectGolden('moves-a4', short[2]!, 'paper');
    expectGolden('angles-a4', short[3]!, 'paper');
  });
  it('the shot card, with what the puppet may not be able to do', () => {
    const sentence = 'Stands on the left toes alone: a tie-down, or a rig.';
    const onToes = withHitches(plan, [{ firstFrame: 60, frames: 7, sentence, support: 'tie-down' }]);
    expectGolden('card-a4', printedPages(onToes, { paper: 'A4', pages: ['card'] })[0]!, 'paper');
  });
  it('arcs at their own size, several to a page', () => {
    expectGolden('arcs-a4', printedPages(plan, { paper: 'A4', pages: ['arcs'] })[0]!, 'paper');
  });
  it('a large arc in pieces that join', () => {
    const large = madePlan({ doubts: [doubt], book: { puppet: puppetOfHeight(newPuppet, 900) } });
    const pieces = printedPages(large, { paper: 'Letter', orientation: 'landscape', pages: ['arcs'] });
    expectGolden('arcs-letter-piece', pieces.find((p) => p.summary.includes('piece 2 of'))!, 'paper');
  });
  it('spacing on paper', () => {
    const lying = printedPages(plan, { paper: 'Letter', orientation: 'landscape', pages: ['spacing'] });
    expectGolden('spacing-letter-lying', lying[0]!, 'paper');
  });
  it('spacing that is too long for the page, scaled', () => {
    const large = madePlan({ on: 1, doubts: [doubt], book: { puppet: puppetOfHeight(newPuppet, 900) } });
    const pages = printedPages(large, { paper: 'A4', pages: ['spacing'] });
    expectGolden('spacing-a4-scaled', pages[0]!, 'paper');
  });
  it('the exposure sheet on a page that lies, in two halves', () => {
    const film = madePlan({ frameCount: 96, doubts: [doubt], book: { frameNotes: notes } });
    const lying = printedPages(film, { paper: 'A4', orientation: 'landscape', pages: ['sheet'] });
    expectGolden('sheet-a4-lying', lying[0]!, 'paper');
  });
  it('the exposure sheet on ones at 25 fps with twelve parts, on Letter', () => {
    const book = {
      sheetJoints: twelveParts,
    } as const;
    const ones = madePlan({ frameCount: 40, on: 1, rate: { frames: 25, seconds: 1 }, book });
    expectGolden('sheet-letter-ones', printedPages(ones, { paper: 'Letter' })[1]!, 'paper');
  });
});

describe('golden charts', () => {
  const timing = madeTiming();
  const scale = FrameScale.fit(0, timing.grid.frameCount, 8, 952);

  it('the timeline', () => expectGolden('timeline', layOutTimeline(timing, { width: 960, scale }), 'light'));
  it('keys against error', () =>
    expectGolden('keyCurve', layOutKeyCurve(timing.keyCurve, 7, new KeyCountScale(3, 20, 320), 120), 'light'));
  it('spacing', () => {
    const first = timing.exposures.map((e) => e.firstFrame);
    expectGolden(
      'spacing',
      layOutSpacing(stepsOf(timing, 'rightWrist'), first, 40, { width: 720, height: 160 }),
      'dark',
    );
  });
  it('a joint over time, with what was seen, placed and doubted', () => {
    const path = timing.motion.paths.get('leftWrist')!;
    const timesSec = timing.takeTimeSec;
    const placement = {
      kind: 'place',
      joint: 'leftWrist',
      takeSec: timesSec[30]!,
      xPx: path.xPx[30]! + 20,
      yPx: path.yPx[30]!,
      reachSec: 0.25,
    } as const;
    const seen = {
      timesSec,
      xPx: path.xPx.map((x, k) => x + (k === 60 ? 25 : 0)),
      yPx: path.yPx,
      believed: Uint8Array.from(timesSec, (_, k) => (k === 60 ? 0 : 1)),
      influences: [{ placement, fromSec: placement.takeSec - 0.25, toSec: placement.takeSec + 0.25 }],
    };
    const doubts = [
      { code: 'hidden', firstFrame: 10, frames: 9, headline: 'left hand hard to see' },
      { code: 'blurred', firstFrame: 50, frames: 4, headline: 'left hand smeared by speed' },
    ] as const;
    const graph = {
      path,
      seen,
      frameOf: (sec: number) => sec * 24,
      doubts,
      chosen: doubts[0],
      hidden: [{ startSec: 3, endSec: 3.4 }],
      marking: null,
      shows: 'place',
    } as const;
    expectGolden('jointGraph', layOutJointGraph(graph, scale, 40, { width: 960, height: 220 }), 'light');
    const speed = layOutJointGraph({ ...graph, shows: 'speed' }, scale, 40, { width: 960, height: 220 });
    expect(speed.marks.filter((m) => m.role === 'path')).toHaveLength(1);
    expect(speed.marks.filter((m) => m.role === 'placed')).toHaveLength(0);
  });
  it('the body, onions and arcs over the picture', () => {
    const scene = layOutStage({
      view: StageView.fit(960, 540, 960, 540),
      width: 960,
      height: 540,
      pose: poseAt(timing.motion, 50),
      onions: [poseAt(timing.motion, 44), poseAt(timing.motion, 58)],
      arcs: [arcOf(timing, 'rightWrist'), arcOf(timing, 'nose')],
      frame: 50,
      chosen: 'leftWrist',
    });
    expectGolden('stage', scene, 'dark');
  });
});
