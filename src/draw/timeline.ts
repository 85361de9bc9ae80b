import type { Timing } from '../timing/timing.ts';
import { PathPen } from './pathPen.ts';
import type { FrameScale } from './scales.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

/** Where the timeline is drawn. */
export interface TimelineStyle {
  /** Screen pixels. */
  readonly width: number;
  readonly scale: FrameScale;
}

/** The bands of the timeline from the top, screen pixels. */
const band = { keys: 24, motion: 34, exposures: 15, ruler: 20 } as const;
const top = {
  keys: 0,
  motion: band.keys,
  exposures: band.keys + band.motion,
  ruler: band.keys + band.motion + band.exposures,
} as const;
/** Height of the whole, screen pixels. */
export const timelineHeight = top.ruler + band.ruler;

const small: TextStyle = { size: 11.5, font: 'mono', weight: 400 };
const keyFace: TextStyle = { size: 12.5, font: 'mono', weight: 700 };

/**
 * The shot along x: key marks (key circled, breakdown underlined), how much the body moves from frame to frame, holds as
 * tinted spans, exposures as blocks as long as their frames, and a ruler counted from 1.
 */
export function layOutTimeline(timing: Timing, style: TimelineStyle): Scene {
  return {
    unit: 'px',
    width: style.width,
    height: timelineHeight,
    title: 'Timing of the shot',
    summary: `${timing.grid.frameCount} frames, ${timing.keys.length} keys, ${timing.holds.length} holds, ${timing.exposures.length} exposures.`,
    ground: null,
    marks: [
      ...drawHolds(timing, style),
      ...drawMotion(timing, style),
      ...drawExposures(timing, style),
      ...drawRuler(timing, style),
      ...drawKeys(timing, style),
    ],
  };
}

function drawHolds({ holds }: Timing, { scale }: TimelineStyle): Mark[] {
  return holds.map((hold) => {
    const x = scale.x(hold.firstFrame);
    const width = scale.x(hold.firstFrame + hold.frames) - x;
    const words = `${hold.kind === 'hold' ? 'hold' : 'moving hold'}, frames ${hold.firstFrame + 1} to ${hold.firstFrame + hold.frames}`;
    return pathMark(`hold-${hold.firstFrame}`, new PathPen().rect(x, top.motion, width, band.motion).toString(), {
      fill: 'tint',
      stroke: hold.kind === 'movingHold' ? 'faint' : null,
      dash: [2, 3],
      role: 'hold',
      label: words,
    });
  });
}

/** Movement per frame as an area on a square-root scale: a breath shows beside a throw. */
function drawMotion({ activity, grid }: Timing, { scale }: TimelineStyle): Mark[] {
  const most = Math.max(1e-9, ...activity);
  const floor = top.motion + band.motion;
  const y = (value: number) => floor - Math.sqrt(Math.max(0, value) / most) * (band.motion - 4);
  const pen = new PathPen().moveTo(scale.x(0), floor);
  for (let k = 0; k < grid.frameCount; k++) pen.lineTo(scale.middle(k), y(activity[k] ?? 0));
  pen.lineTo(scale.x(grid.frameCount), floor).close();
  return [
    pathMark('motion', pen.toString(), {
      fill: 'markSoft',
      stroke: 'mark',
      strokeWidth: 1.2,
      role: 'motion',
      label: 'how much the body moves from frame to frame',
    }),
  ];
}

function drawExposures({ exposures, keys }: Timing, { scale }: TimelineStyle): Mark[] {
  const keyed = new Set(keys.map((k) => k.frameIndex));
  // Where a frame is under three pixels the gaps between blocks would eat the blocks.
  const gap = scale.frameWidth > 3 ? 1.5 : 0.4;
  return exposures.map((e) => {
    const x = scale.x(e.firstFrame) + gap / 2;
    const width = Math.max(0.6, scale.x(e.firstFrame + e.frames) - x - gap / 2);
    return pathMark(
      `exposure-${e.firstFrame}`,
      new PathPen().rect(x, top.exposures + 4, width, band.exposures - 6).toString(),
      {
        fill: keyed.has(e.firstFrame) ? 'ink' : 'line',
        role: 'exposure',
        label: `exposure of ${e.frames} ${e.frames === 1 ? 'frame' : 'frames'} from frame ${e.firstFrame + 1}`,
      },
    );
  });
}

/** Distances between numbered frames that people count in, by the least room a number needs. */
function rulerStep(frameWidth: number, second: number): number {
  const room = 34;
  return (
    [1, 2, 4, 8, second / 2, second, second * 2, second * 5, second * 10].find((n) => n * frameWidth >= room) ??
    second * 30
  );
}

function drawRuler({ grid }: Timing, { scale }: TimelineStyle): Mark[] {
  const second = Math.round(grid.rate.frames / grid.rate.seconds);
  const step = Math.max(1, Math.round(rulerStep(scale.frameWidth, second)));
  const ticks = new PathPen();
  const seconds = new PathPen();
  const marks: Mark[] = [];
  for (let k = 0; k < grid.frameCount; k++) {
    const isSecond = k % second === 0;
    if (isSecond) seconds.line(scale.x(k), top.ruler, scale.x(k), top.ruler + 9);
    else if (scale.frameWidth > 4) ticks.line(scale.x(k), top.ruler, scale.x(k), top.ruler + 4);
    if (k % step === 0)
      marks.push(textMark(`frame-${k}`, scale.x(k) + 3, top.ruler + 16, String(k + 1), { ...small, colour: 'quiet' }));
  }
  return [
    pathMark('ticks', ticks.toString(), { stroke: 'line' }),
    pathMark('seconds', seconds.toString(), { stroke: 'heavy', strokeWidth: 1.5 }),
    ...marks,
  ];
}

function drawKeys({ keys }: Timing, { scale }: TimelineStyle): Mark[] {
  return keys.flatMap((key) => {
    const x = scale.middle(key.frameIndex);
    const y = top.keys + 12;
    const words = String(key.frameIndex + 1);
    const flat = Math.max(0, words.length * 7.6 - 12);
    const label = `${key.kind} at frame ${words}: ${key.name || key.reasons.join(', ')}`;
    const stem = pathMark(`key-${key.id}-stem`, new PathPen().line(x, y + 11, x, top.ruler).toString(), {
      stroke: key.kind === 'key' ? 'ink' : 'quiet',
      strokeWidth: 1.2,
      dash: key.locked ? [] : [3, 3],
    });
    const around =
      key.kind === 'key'
        ? pathMark(`key-${key.id}`, new PathPen().pill(x, y, flat, 11).toString(), {
            fill: key.locked ? 'ink' : 'sheet',
            stroke: 'ink',
            strokeWidth: 1.8,
            role: 'key',
            label,
          })
        : pathMark(`key-${key.id}`, new PathPen().line(x - 10, y + 8, x + 10, y + 8).toString(), {
            stroke: 'ink',
            strokeWidth: 1.8,
            role: 'key',
            label,
          });
    const colour = key.locked && key.kind === 'key' ? 'sheet' : 'ink';
    return [stem, around, textMark(`key-${key.id}-frame`, x, y + 4.5, words, { ...keyFace, anchor: 'middle', colour })];
  });
}
