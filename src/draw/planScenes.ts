import { isProp, type Part } from '../base/joints.ts';
import { beatsOfPlan, soundPlaceOf } from '../plan/heard.ts';
import type { Plan } from '../plan/plan.ts';
import { listPopThrough } from '../plan/popThrough.ts';
import { arcOf } from '../timing/arcs.ts';
import { bodyChains, partWordsWith } from '../timing/chains.ts';
import { uniformPoints } from '../timing/exposureAdvice.ts';
import { budgetFor } from '../timing/exposures.ts';
import { measureLags } from '../timing/lags.ts';
import { findPhases } from '../timing/phases.ts';
import { extremesInShot } from '../timing/placedExtremes.ts';
import { anchorsOf } from '../timing/retime.ts';
import { sizeUnitOf } from '../timing/sizeUnit.ts';
import { stepsOf } from '../timing/spacing.ts';
import { movesOf, spacingOfMove } from '../timing/spacingChart.ts';
import { visibleError } from '../timing/visibleError.ts';
import { KeyCountScale, layOutKeyCurve, layOutSpacing } from './charts.ts';
import { layOutExposureCurve } from './exposureCurve.ts';
import { layOutExtremes } from './extremeMarks.ts';
import { layOutJointGraph } from './jointGraph.ts';
import { layOutLagChart } from './lagChart.ts';
import { layOutOwnTiming } from './ownTiming.ts';
import { layOutPhaseStrip } from './phaseStrip.ts';
import { sceneSize } from './pictureOverlay.ts';
import { type PrintChoices, printedPages } from './printedPages.ts';
import { layOutMeasures } from './puppetMeasures.ts';
import { layOutPuppetStage } from './puppetStage.ts';
import { FrameScale, StageView } from './scales.ts';
import type { Scene } from './scene.ts';
import { layOutSoundStrip } from './soundStrip.ts';
import { layOutTimingChart } from './spacingScene.ts';
import { layOutStage } from './stage.ts';
import { layOutTimeline } from './timeline.ts';

/** A scene with the name of the file that it becomes. */
export interface NamedScene {
  /** Path within the folder of a shot, "charts/timeline.svg": small letters, digits and hyphens, so that it is good on every disk. */
  readonly name: string;
  readonly scene: Scene;
}

/** Charts along the frames are drawn at this width for a frame, and no narrower in all, screen pixels. */
const frameWidth = 10;
const leastWidth = 720;
const chart = { width: 720, height: 240 } as const;

/**
 * Every page and every chart of a plan with its file name; no two names are alike. One at a time, since a long shot has hundreds and
 * some take a while to work out: the page can draw in between.
 */
export function* scenesOfPlan(plan: Plan, print: PrintChoices): Generator<NamedScene, void, undefined> {
  const taken = new Set<string>();
  for (const { name, scene } of everyScene(plan, print)) {
    let free = name;
    for (let n = 2; taken.has(free); n++) free = name.replace(/\.svg$/, `-${n}.svg`);
    taken.add(free);
    yield { name: free, scene };
  }
}

function* everyScene(plan: Plan, print: PrintChoices): Generator<NamedScene, void, undefined> {
  yield* printedPages(plan, print).map((scene, i) => ({ name: `pages/page-${digits(i + 1, 2)}.svg`, scene }));
  yield* alongFrames(plan);
  yield* curves(plan);
  const parts: readonly Part[] = [...plan.book.sheetJoints, ...plan.book.props.map((p) => p.id)];
  for (const part of parts) if (plan.timing.motion.paths.has(part)) yield* ofPart(plan, part);
  yield* lagCharts(plan);
  yield* ofPuppet(plan);
}

/** Strips that lie under one another, frame under frame. */
function* alongFrames(plan: Plan): Generator<NamedScene, void, undefined> {
  const { timing, tracks, book, heard } = plan;
  const style = stripStyle(plan);
  yield { name: 'charts/timeline.svg', scene: layOutTimeline(timing, style) };
  const phases = findPhases(tracks, timing, { names: book.phaseNames, wordsOf: partWordsWith(book.props) });
  yield { name: 'charts/phases.svg', scene: layOutPhaseStrip(phases, { ...style, chosen: null }) };
  const isRetimed = book.retiming.knots.length > 0;
  if (isRetimed)
    yield { name: 'charts/own-timing.svg', scene: layOutOwnTiming(anchorsOf(timing), { ...style, fromShot: true }) };
  const beats = beatsOfPlan(plan);
  if (!heard && beats.length === 0) return;
  const dialogue = [...book.frameNotes]
    .flatMap(([frameIndex, note]) => (note.dialogue === '' ? [] : [{ frameIndex, text: note.dialogue }]))
    .sort((a, b) => a.frameIndex - b.frameIndex);
  const lane = {
    rate: timing.grid.rate,
    frameCount: timing.grid.frameCount,
    sound: heard?.track ?? null,
    place: soundPlaceOf(plan),
    onsets: heard?.onsets ?? [],
    ...{ beats, dialogue },
  };
  yield { name: 'charts/sound.svg', scene: layOutSoundStrip(lane, style) };
}

/** What keys and exposures cost and give. */
function* curves({ timing }: Plan): Generator<NamedScene, void, undefined> {
  const { keyCurve } = timing;
  const keys = timing.keys.filter((k) => k.kind === 'key').length;
  const scale = new KeyCountScale(keyCurve[0]?.keyCount ?? 2, keyCurve.at(-1)?.keyCount ?? 3, chart.width);
  yield { name: 'charts/keys.svg', scene: layOutKeyCurve(keyCurve, keys, scale, chart.height) };
  const { curve } = budgetFor(timing.motion, timing.bodyHeightPx, timing.choices, timing.forcedFrames);
  const now = visibleError(timing.motion, timing.bodyHeightPx, timing.exposures);
  const exposures = timing.exposures.length;
  const { name: unit, perPx } = sizeUnitOf(timing);
  const style = { ...chart, bodyHeight: timing.bodyHeightPx * perPx, unit, exposures, now };
  yield { name: 'charts/exposures.svg', scene: layOutExposureCurve(curve, uniformPoints(timing), style) };
}

/** One part's way, steps, spacing of each move, extremes and path over time. */
function* ofPart(plan: Plan, part: Part): Generator<NamedScene, void, undefined> {
  const { timing, tracks, footage, book } = plan;
  const wordsOf = partWordsWith(book.props);
  const folder = `charts/${fileWord(wordsOf(part))}`;
  const size = sceneSize(footage);
  const view = StageView.fit(footage.widthPx, footage.heightPx, size.width, size.height);
  const nothing = { pose: null, onions: [], chosen: null };
  // No frame is on screen: the ring that marks one is left away.
  const stage = { ...size, ...nothing, view, arcs: [arcOf(timing, part)], words: wordsOf, frame: -1 };
  yield { name: `${folder}/path.svg`, scene: layOutStage(stage) };
  const firstFrames = timing.exposures.map((e) => e.firstFrame);
  const { width } = stripStyle(plan);
  yield {
    name: `${folder}/steps.svg`,
    scene: layOutSpacing(stepsOf(timing, part), firstFrames, -1, { width, height: chart.height }),
  };
  for (const move of movesOf(timing)) {
    const spaced = spacingOfMove(timing, part, move);
    if (typeof spaced === 'string') continue;
    const frames = `${digits(move.firstFrame + 1, 4)}-${digits(move.lastFrame + 1, 4)}`;
    // The two nearest charts and the smoothest reach, as on screen.
    const against = spaced.against.filter((c, i) => i < 2 || c.chart === 'minimumJerk');
    yield {
      name: `${folder}/spacing-${frames}.svg`,
      scene: layOutTimingChart({ ...spaced, against }, -1, chart.width),
    };
  }
  yield {
    name: `${folder}/extremes.svg`,
    scene: layOutExtremes(extremesInShot(tracks, timing, part), { ...stripStyle(plan), part: wordsOf(part) }),
  };
  const path = timing.motion.paths.get(part);
  if (!path) return;
  const startSec = timing.takeTimeSec[0] ?? 0;
  const graph = {
    path,
    // Sightings lie in the take's time: they would stand beside the path of a shot that was given another timing.
    seen: isProp(part) || book.retiming.knots.length > 0 ? null : tracks.seen(part),
    frameOf: (sec: number) => ((sec - startSec) * timing.grid.rate.frames) / timing.grid.rate.seconds,
    doubts: plan.doubts.filter((d) => d.joint === part || d.joint === null),
    chosen: null,
    hidden: [],
    marking: null,
  };
  const { scale } = stripStyle(plan);
  const graphSize = { width, height: chart.height };
  for (const shows of ['place', 'speed'] as const)
    yield { name: `${folder}/${shows}.svg`, scene: layOutJointGraph({ ...graph, shows }, scale, -1, graphSize) };
}

/** Lead and drag down every chain, a chart for each move. */
function* lagCharts({ tracks, timing, book }: Plan): Generator<NamedScene, void, undefined> {
  for (const chain of [...bodyChains, ...book.chains]) {
    const lags = measureLags(tracks, timing, [chain], ['turning'], partWordsWith(book.props));
    for (const moveId of new Set(lags.map((l) => l.moveId))) {
      const of = lags.filter((l) => l.moveId === moveId);
      const first = Math.min(...of.map((l) => l.firstFrame));
      const last = Math.max(...of.map((l) => l.firstFrame + l.frames));
      const name = `charts/lead-and-drag/${fileWord(chain.name)}-${digits(first + 1, 4)}-${digits(last, 4)}.svg`;
      yield { name, scene: layOutLagChart(of, { width: chart.width }) };
    }
  }
}

/** What is measured of the puppet, and the puppet on its floor in every pose of the pop-through list. */
function* ofPuppet(plan: Plan): Generator<NamedScene, void, undefined> {
  const size = { width: 900, height: 640 };
  yield { name: 'puppet/measures.svg', scene: layOutMeasures(plan.puppet.profile, null, size) };
  // Marked points alone move no puppet.
  if (plan.puppet.paths.size === 0) return;
  for (const pose of listPopThrough(plan)) {
    const name = `puppet/pose-${digits(pose.poseNumber, 3)}-frame-${digits(pose.poseFrame + 1, 4)}.svg`;
    const style = { ...size, frame: pose.poseFrame, onions: [], warnings: [] };
    yield { name, scene: layOutPuppetStage(plan.puppet, style) };
  }
}

function stripStyle({ timing }: Plan): { width: number; scale: FrameScale } {
  const { frameCount } = timing.grid;
  const width = Math.max(leastWidth, frameWidth * frameCount);
  return { width, scale: FrameScale.fit(0, frameCount, 0, width) };
}

/** Words as a part of a file name; letters that not every disk keeps alike are left out. */
export function fileWord(words: string): string {
  const plain = words
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[\u0300-\u036f]/g, '')
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '');
  return plain || 'part';
}

/** A number with noughts before it. */
function digits(n: number, least: number): string {
  return String(n).padStart(least, '0');
}
