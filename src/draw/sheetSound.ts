import { beatsOfPlan, cuesOfPlan, loudnessAt } from '../plan/heard.ts';
import type { Plan } from '../plan/plan.ts';
import { leastLetters } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type TextStyle, textMark } from './scene.ts';
import type { SheetColumn } from './sheetColumns.ts';

/** Where the rows of a page stand, mm. */
export interface SheetRows {
  readonly top: number;
  readonly rowHeight: number;
  /** First and last frame on the page, from 0, inclusive. */
  readonly first: number;
  readonly last: number;
}

/** The wave's samples in a row. */
const slices = 5;
/** Room for the wave and for the numbers of beats at the right of the sound column, mm. */
const laneWidth = 7;
const numberWidth = 2.8;
/** Faint sounds are to be seen beside loud ones, as on the screen. */
const heightPower = 0.75;

/** How much of the sound column's width is taken by what is heard; the rest is for words. 0 where nothing is heard. */
export function soundLaneWidth(plan: Plan): number {
  return plan.heard !== null || plan.book.sound.beatsPerMinute !== null ? laneWidth : 0;
}

/**
 * What is heard, down the right side of the sound column: the wave, a line at each beat's own time with its number, and a mark where
 * a sound begins.
 */
export function drawSheetSound(plan: Plan, column: SheetColumn, rows: SheetRows): Mark[] {
  if (soundLaneWidth(plan) === 0) return [];
  const right = column.left + column.width - 0.5;
  const middle = right - (laneWidth - numberWidth) / 2;
  return [
    ...drawWave(plan, middle, (laneWidth - numberWidth) / 2, rows),
    ...drawBeatLines(plan, middle - (laneWidth - numberWidth) / 2, right, rows),
    ...drawCues(plan, middle, rows),
  ];
}

function drawWave(plan: Plan, middle: number, reach: number, { top, rowHeight, first, last }: SheetRows): Mark[] {
  if (!plan.heard) return [];
  const at: { y: number; loud: number }[] = [];
  for (let k = first; k <= last; k++)
    for (let part = 0; part < slices; part++)
      at.push({ y: top + (k - first + (part + 0.5) / slices) * rowHeight, loud: loudnessAt(plan, k, part, slices) });
  // One measure for all pages: a quiet page must look quiet.
  const { frameCount } = plan.timing.grid;
  let loudest = 0.005;
  for (let k = 0; k < frameCount; k++) loudest = Math.max(loudest, loudnessAt(plan, k, 0, 1));
  const width = (loud: number) => Math.max(0.06, reach * (loud / loudest) ** heightPower);
  const pen = new PathPen().moveTo(middle, top);
  for (const { y, loud } of at) pen.lineTo(middle + width(loud), y);
  pen.lineTo(middle, top + (last - first + 1) * rowHeight);
  for (const { y, loud } of at.toReversed()) pen.lineTo(middle - width(loud), y);
  return [pathMark('wave', pen.close().toString(), { fill: 'line', role: 'wave' })];
}

function drawBeatLines(plan: Plan, left: number, right: number, rows: SheetRows): Mark[] {
  const { top, rowHeight, first, last } = rows;
  const { rate } = plan.timing.grid;
  const face: TextStyle = { size: leastLetters, font: 'mono', weight: 700 };
  return beatsOfPlan(plan)
    .filter((beat) => beat.frame >= first && beat.frame <= last)
    .flatMap((beat) => {
      const frame = (beat.shotSec * rate.frames) / rate.seconds;
      const y = top + Math.max(0, frame - first) * rowHeight;
      const number = String(beat.number + 1);
      return [
        pathMark(`beat-${beat.number}`, new PathPen().line(left, y, right, y).toString(), {
          stroke: 'ink',
          strokeWidth: 0.35,
          role: 'beat',
        }),
        // Its number stands in the row of its own frame.
        textMark(
          `beat-${beat.number}-number`,
          left - 0.4,
          top + (beat.frame - first + 0.5) * rowHeight + face.size * 0.345,
          number,
          {
            ...face,
            anchor: 'end',
            role: 'beat',
            label: `beat ${number}, frame ${beat.frame + 1}`,
          },
        ),
      ];
    });
}

function drawCues(plan: Plan, middle: number, { top, rowHeight, first, last }: SheetRows): Mark[] {
  const { rate } = plan.timing.grid;
  return cuesOfPlan(plan)
    .filter((cue) => cue.frame >= first && cue.frame <= last)
    .map((cue, i) => {
      const y = top + Math.max(0, (cue.shotSec * rate.frames) / rate.seconds - first) * rowHeight;
      const r = Math.min(0.9, rowHeight * 0.32);
      const diamond = new PathPen()
        .polygon([
          [middle, y - r],
          [middle + r, y],
          [middle, y + r],
          [middle - r, y],
        ])
        .toString();
      return pathMark(`cue-${cue.frame}-${i}`, diamond, {
        fill: 'sheet',
        stroke: 'ink',
        strokeWidth: 0.25,
        role: 'cue',
        label: `a sound begins at frame ${cue.frame + 1}`,
      });
    });
}
