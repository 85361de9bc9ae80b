import type { Phase, PhaseKind } from '../timing/phases.ts';
import { clipText } from './fitText.ts';
import { measureBundled } from './measure.ts';
import { PathPen } from './pathPen.ts';
import type { FrameScale } from './scales.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

/** Where it is drawn, screen pixels, and the phase that is looked at. */
export interface PhaseStripStyle {
  readonly width: number;
  readonly scale: FrameScale;
  /** Id of a phase to mark; null = none. */
  readonly chosen: string | null;
}

/** Height of the strip, screen pixels. */
export const phaseStripHeight = 34;
const bar = { top: 4, height: 11 } as const;
const text: TextStyle = { size: 11.5, font: 'text', weight: 400 };
const textChosen: TextStyle = { ...text, weight: 700 };
const hatchStep = 4;

/** What a phase is called where there is room, and where there is less. */
const callings: Readonly<Record<PhaseKind, readonly string[]>> = {
  reaction: ['reaction', 'react', 'r'],
  anticipation: ['anticipation', 'antic', 'a'],
  action: ['action', 'act'],
  overshoot: ['overshoot', 'over', 'o'],
  settle: ['settle', 'sett', 's'],
};

/**
 * The phases along the shot's frames: each kind with a filling of its own (reaction: a broken frame; anticipation: hatched
 * backwards; action: solid; overshoot: hatched forwards; settle: a wedge that runs out), its name or the animator's below.
 */
export function layOutPhaseStrip(phases: readonly Phase[], style: PhaseStripStyle): Scene {
  const moves = new Set(phases.map((p) => p.moveId)).size;
  return {
    unit: 'px',
    width: style.width,
    height: phaseStripHeight,
    title: 'Phases of the moves',
    summary: `${moves} ${moves === 1 ? 'move' : 'moves'}, ${phases.length} phases.`,
    ground: null,
    marks: phases.flatMap((phase, i) => drawPhase(phase, phases[i + 1] ?? null, i, style)),
  };
}

function drawPhase(phase: Phase, next: Phase | null, i: number, { scale, width, chosen }: PhaseStripStyle): Mark[] {
  const x = scale.x(phase.firstFrame);
  const right = scale.x(phase.firstFrame + phase.frames);
  const isChosen = phase.id === chosen;
  const words = `${phase.name || phase.kind}, frames ${phase.firstFrame + 1} to ${phase.firstFrame + phase.frames}`;
  const room =
    Math.max(right, next ? Math.min(scale.x(next.firstFrame), right + 40) : Math.min(width, right + 60)) - x - 3;
  const style = isChosen ? textChosen : text;
  const calling =
    phase.name === ''
      ? (callings[phase.kind].find((c) => measureBundled(c, style) <= room) ?? '')
      : clipText(phase.name, room, style, measureBundled);
  return [
    ...drawPhaseBar(`phase-${i}`, phase.kind, x + 0.5, bar.top, Math.max(3, right - x - 1), bar.height, words),
    ...(isChosen
      ? [
          pathMark(
            `phase-${i}-chosen`,
            new PathPen().line(x, bar.top + bar.height + 2.5, right, bar.top + bar.height + 2.5).toString(),
            {
              stroke: 'mark',
              strokeWidth: 2.5,
            },
          ),
        ]
      : []),
    ...(calling === ''
      ? []
      : [
          textMark(`phase-${i}-name`, x + 1, phaseStripHeight - 5, calling, {
            ...style,
            colour: isChosen ? 'ink' : 'quiet',
            role: 'phaseName',
          }),
        ]),
  ];
}

/** One phase's bar with the filling of its kind. */
export function drawPhaseBar(
  id: string,
  kind: PhaseKind,
  x: number,
  y: number,
  width: number,
  height: number,
  label: string,
): Mark[] {
  const box = new PathPen().rect(x, y, width, height).toString();
  const look = { role: 'phase', label } as const;
  switch (kind) {
    case 'reaction':
      return [pathMark(id, box, { ...look, stroke: 'quiet', dash: [2.5, 2.5], strokeWidth: 1.2 })];
    case 'action':
      return [pathMark(id, box, { ...look, fill: 'heavy' })];
    case 'settle': {
      const wedge = new PathPen().polygon([
        [x, y],
        [x + width, y + height - 1.5],
        [x + width, y + height],
        [x, y + height],
      ]);
      return [pathMark(id, wedge.toString(), { ...look, fill: 'faint' })];
    }
    case 'anticipation':
    case 'overshoot':
      return [
        pathMark(id, box, { ...look, fill: 'sheet', stroke: 'ink', strokeWidth: 1.2 }),
        pathMark(`${id}-hatch`, hatch(x, y, width, height, kind === 'overshoot' ? 1 : -1), { stroke: 'ink' }),
      ];
  }
}

/** Slanted lines within a box: rising to the right (1) or to the left (−1). */
function hatch(x: number, y: number, width: number, height: number, way: 1 | -1): string {
  const pen = new PathPen();
  for (let at = hatchStep / 2 - height; at < width; at += hatchStep) {
    // The line goes from the floor at `at` to the ceiling at `at + height`, cut at both sides.
    const from = Math.max(0, at);
    const to = Math.min(width, at + height);
    if (to - from < 0.5) continue;
    const [x1, x2] = way === 1 ? [x + from, x + to] : [x + width - from, x + width - to];
    pen.line(x1, y + height - (from - at), x2, y + height - (to - at));
  }
  return pen.toString();
}
