import { hinges, jointWords, type Part } from '../base/joints.ts';
import { clockHour } from '../plan/moves.ts';
import type { Plan } from '../plan/plan.ts';
import type { Pose } from '../plan/poses.ts';
import { writeSheet } from '../plan/sheet.ts';
import { clockArrow } from './clockArrow.ts';
import { clipText } from './fitText.ts';
import { type DraftPage, leastLetters, numberPages, type PaperStyle, pageFoot, pageHead, pageRoom } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

const rowHeight = 4;
const headingHeight = 9;
/** Pose, first frame, frames. */
const leadWidths = [13, 13, 10] as const;
const leadWidth = 36;
/** A part's three numbers side by side, at most and as many to a page as find so much. */
const partWidth = 39;
const face: TextStyle = { size: leastLetters, font: 'mono', weight: 400 };
const strong: TextStyle = { size: 3, font: 'mono', weight: 700 };
const heading: TextStyle = { size: 2.7, font: 'text', weight: 700 };
const unit: TextStyle = { size: leastLetters, font: 'text', weight: 400 };

/** One cell of a table: what is printed, and where its arrow points if it has one. */
interface Cell {
  readonly text: string;
  /** Hour of the clock, NaN = no arrow. */
  readonly hour: number;
  readonly isStrong: boolean;
}

/** A column group: a part or a hinge with its sub-columns. */
interface Group {
  readonly id: string;
  readonly name: string;
  readonly units: readonly string[];
  /** Cells of the pose that begins with an exposure, one per unit. */
  readonly cells: (exposure: number) => readonly Cell[];
}

/**
 * Tables of all moves on paper, one row per pose: for each part of the sheet the millimetres to place and where to, the
 * measured distance with its deviation, and the distance in % of body height; then each hinge's change in degrees.
 */
export function layOutMovePages(plan: Plan, style: PaperStyle): Scene[] {
  return numberPages(draftMovePages(plan, style), style);
}

/** The same, not yet numbered. Empty when the shot has a single pose. */
export function draftMovePages(plan: Plan, style: PaperStyle): DraftPage[] {
  if (plan.poses.length < 2) return [];
  const sheet = writeSheet(plan);
  const parts = sheet.joints.map((joint) => partGroup(plan, joint, sheet.unit));
  const pages: DraftPage[] = [];
  // As equal as possible: five parts are three and two, not four and one.
  const { left, right } = pageRoom(style);
  const partsPerPage = Math.floor((right - left - leadWidth) / partWidth + 1e-9);
  const tables = Math.ceil(parts.length / partsPerPage);
  const perTable = Math.ceil(parts.length / Math.max(1, tables));
  for (let i = 0; i < parts.length; i += perTable) pages.push(...draftTable(parts.slice(i, i + perTable), 'Moves'));
  pages.push(...draftTable(hingeGroups(plan), 'Angles as seen from the camera'));
  return pages;

  function draftTable(groups: readonly Group[], title: string): DraftPage[] {
    if (groups.length === 0) return [];
    const room = pageRoom(style);
    const most = Math.floor((room.bottom - room.top - headingHeight) / rowHeight);
    // Spread evenly: a last page of two rows is a page wasted.
    const rows = Math.ceil(plan.poses.length / Math.ceil(plan.poses.length / most));
    const drafts: DraftPage[] = [];
    for (let first = 0; first < plan.poses.length; first += rows) {
      const shown = plan.poses.slice(first, first + rows);
      drafts.push({
        title: `${title}, ${sheet.header.shot}`,
        summary: `Poses ${first + 1} to ${first + shown.length}: ${groups.map((g) => g.name).join(', ')}.`,
        marks: [
          ...pageHead(sheet.header, title, style),
          ...drawTable(shown, groups, style),
          pageFoot(
            title === 'Moves'
              ? 'Bold: what to place, from the pose before. ± is the deviation of the measured distance, at most. ? a guess: hidden, or toward the lens.'
              : 'Bold: change from the pose before, + opens. Beside it the angle to arrive at, 180° is straight.',
            style,
          ),
        ],
      });
    }
    return drafts;
  }
}

function partGroup(plan: Plan, joint: Part, unit: 'mm' | 'px'): Group {
  const byExposure = new Map(plan.moves.filter((m) => m.joint === joint).map((m) => [m.exposure, m]));
  return {
    id: joint,
    name: jointWords(joint),
    units: [unit, 'measured', unit === 'mm' ? '%' : ''],
    cells: (exposure) => {
      const move = byExposure.get(exposure);
      if (!move) return [];
      const doubt = move.outOfPlane || move.guessed ? '?' : '';
      const { distance, rounded, sd } = move.px ?? {
        distance: move.distanceMm,
        rounded: move.roundedMm,
        sd: move.sdMm,
      };
      if (Number.isNaN(rounded)) return [plain('?')];
      return [
        { text: `${doubt}${rounded}`, hour: clockHour(move.nudgeDeg), isStrong: true },
        plain(`${digits(distance, 1)} ±${digits(sd, 1)}`),
        plain(move.px ? '' : digits(move.distanceBody * 100, 1)),
      ];
    },
  };
}

function hingeGroups(plan: Plan): Group[] {
  const known = new Set(plan.angles.map((a) => a.hinge));
  return hinges
    .filter((h) => known.has(h.name))
    .map((h) => {
      const byExposure = new Map(plan.angles.filter((a) => a.hinge === h.name).map((a) => [a.exposure, a]));
      return {
        id: h.name,
        name: jointWords(h.at),
        units: ['deg', 'to'],
        cells: (exposure) => {
          const angle = byExposure.get(exposure);
          if (!angle) return [];
          const sign = angle.roundedDeg > 0 ? '+' : '';
          const change = Number.isNaN(angle.roundedDeg)
            ? ''
            : angle.roundedDeg === 0
              ? '·'
              : `${sign}${angle.roundedDeg}`;
          return [{ text: change.replace('-', '−'), hour: Number.NaN, isStrong: true }, plain(digits(angle.deg, 0))];
        },
      };
    });
}

function plain(text: string): Cell {
  return { text, hour: Number.NaN, isStrong: false };
}

function digits(value: number, behindPoint: number): string {
  return Number.isFinite(value) ? value.toFixed(behindPoint) : '?';
}

function drawTable(poses: readonly Pose[], groups: readonly Group[], style: PaperStyle): Mark[] {
  const room = pageRoom(style);
  const top = room.top + headingHeight;
  const bottom = top + poses.length * rowHeight;
  const lead = leadWidth;
  // A table of few parts does not spread over the page: numbers that belong together stay together.
  const groupWidth = Math.min(partWidth, (room.right - room.left - lead) / groups.length);
  const right = room.left + lead + groupWidth * groups.length;
  const marks: Mark[] = [];
  const hair = new PathPen();
  const rules = new PathPen()
    .rect(room.left, room.top, right - room.left, bottom - room.top)
    .line(room.left, top, right, top);

  let x = room.left;
  for (const [i, name] of ['pose', 'frame', 'stays'].entries()) {
    x += leadWidths[i]!;
    marks.push(textMark(`lead-${name}`, x - 2, room.top + 6.8, name, { ...heading, anchor: 'end' }));
  }
  for (const [i, group] of groups.entries()) {
    const left = room.left + lead + i * groupWidth;
    rules.line(left, room.top, left, bottom);
    const size = Math.max(
      leastLetters,
      Math.min(heading.size, (heading.size * (groupWidth - 1.2)) / style.measure(group.name, heading)),
    );
    const name = clipText(group.name, groupWidth - 1, { ...heading, size }, style.measure);
    marks.push(
      textMark(`group-${group.id}`, left + groupWidth / 2, room.top + 3.6, name, {
        ...heading,
        size,
        anchor: 'middle',
      }),
    );
    for (const [u, words] of group.units.entries())
      marks.push(
        textMark(
          `group-${group.id}-${words}`,
          unitRight(left, groupWidth, group.units.length, u),
          room.top + 7.4,
          words,
          {
            ...unit,
            anchor: 'end',
            colour: 'quiet',
          },
        ),
      );
  }
  for (const [r, pose] of poses.entries()) {
    const y = top + (r + 0.5) * rowHeight + face.size * 0.345;
    if (r > 0) hair.line(room.left, top + r * rowHeight, right, top + r * rowHeight);
    const [numberRight, frameRight] = [room.left + leadWidths[0] - 2, room.left + leadWidths[0] + leadWidths[1] - 2];
    marks.push(
      textMark(`pose-${pose.number}`, numberRight, y, String(pose.number), {
        ...(pose.key ? strong : face),
        anchor: 'end',
      }),
      textMark(`pose-${pose.number}-frame`, frameRight, y, String(pose.firstFrame + 1), { ...strong, anchor: 'end' }),
      textMark(`pose-${pose.number}-frames`, room.left + lead - 2, y, String(pose.frames), { ...face, anchor: 'end' }),
    );
    if (pose.key?.kind === 'key') {
      const width = style.measure(String(pose.number), strong);
      const ring = new PathPen().pill(
        numberRight - width / 2,
        top + (r + 0.5) * rowHeight,
        Math.max(0, width - 2),
        1.75,
      );
      marks.push(
        pathMark(`pose-${pose.number}-ring`, ring.toString(), { stroke: 'ink', strokeWidth: 0.3, role: 'key' }),
      );
    }
    for (const [i, group] of groups.entries()) {
      const left = room.left + lead + i * groupWidth;
      for (const [u, cell] of group.cells(pose.firstExposure).entries()) {
        const id = `pose-${pose.number}-${group.id}-${u}`;
        const cellRight = unitRight(left, groupWidth, group.units.length, u);
        // The arrow takes its place whether it is there or not, so that numbers stand in one line.
        const room4arrow = cell.isStrong && group.units.length === 3 ? 3.2 : 0;
        const text = cell.isStrong && cell.text === '0' ? '·' : cell.text;
        marks.push(
          textMark(id, cellRight - room4arrow, y, text, { ...(cell.isStrong ? strong : face), anchor: 'end' }),
        );
        if (!Number.isNaN(cell.hour))
          marks.push(
            pathMark(`${id}-arrow`, clockArrow(cell.hour, cellRight - 1.2, top + (r + 0.5) * rowHeight, 2.4), {
              stroke: 'ink',
              strokeWidth: 0.25,
            }),
          );
      }
    }
  }
  return [
    pathMark('rows', hair.toString(), { stroke: 'line', strokeWidth: 0.14 }),
    pathMark('rules', rules.toString(), { stroke: 'ink', strokeWidth: 0.3 }),
    ...marks,
  ].filter((m) => m.kind !== 'path' || m.d !== '');
}

/** Right edges of the sub-columns: parts have three of unequal width, hinges two of equal width. */
function unitRight(left: number, width: number, units: number, place: number): number {
  const shares = units === 3 ? [14 / 39, 30.4 / 39, 38.2 / 39] : [0.48, 0.92];
  return left + width * (shares[place] ?? 1);
}
