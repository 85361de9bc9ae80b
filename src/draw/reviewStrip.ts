import type { Finding } from '../compare/finding.ts';
import { isOfCamera, notesOf, type Review } from '../compare/review.ts';
import type { PlannedKey } from '../compare/shot.ts';
import type { PageRoom, PaperStyle } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { FrameScale } from './scales.ts';
import { type Mark, pathMark, type TextStyle, textMark } from './scene.ts';

/** What the strip is drawn of. */
export interface ReviewStrip {
  readonly review: Review;
  readonly keys: readonly PlannedKey[];
  readonly frameCount: number;
  readonly framesPerSecond: number;
  /** How many notes are on the page: these have their numbers. */
  readonly shown: number;
}

/** Heights of the bands from the top, millimetres. */
const band = { keys: 4.6, exposures: 3.4, gap: 0.8, lane: 3.5, others: 1.6, camera: 3, ruler: 4 } as const;
/** Numbered notes lie in so many lanes at most; what finds no room in them has a bar among the others. */
const mostLanes = 3;
/** Room for the words before the bands, millimetres. */
const wordsWidth = 17;
const number: TextStyle = { size: 2.7, font: 'mono', weight: 700 };
const small: TextStyle = { size: 2.5, font: 'mono', weight: 400 };
const label: TextStyle = { size: 2.5, font: 'text', weight: 400 };

/** The shot along its frames: keys, exposures (those that were shot are filled), where each note stands, the worst one on black, and what the camera did. */
export function drawReviewStrip(strip: ReviewStrip, room: Omit<PageRoom, 'bottom'>, style: PaperStyle): Mark[] {
  const scale = scaleIn(strip, room);
  const lanes = lanesOf(strip, scale, style);
  const top = {
    keys: room.top,
    exposures: room.top + band.keys,
    lanes: room.top + band.keys + band.exposures + band.gap,
    others: room.top + band.keys + band.exposures + band.gap + lanes * band.lane,
    camera: room.top + band.keys + band.exposures + band.gap + lanes * band.lane + band.others,
    ruler: room.top + heightWith(lanes) - band.ruler,
  };
  const words = (text: string, y: number) =>
    textMark(`strip-label-${text}`, room.left + 1.8, y, text, { ...label, colour: 'quiet' });
  return [
    words('keys', top.keys + 3.2),
    words('exposures', top.exposures + 2.3),
    words('notes', top.lanes + 2.4),
    words('camera', top.camera + 2.2),
    words('frame', top.ruler + 3.2),
    ...drawKeys(strip, scale, top.keys),
    ...drawExposures(strip, scale, top.exposures),
    ...drawNotes(strip, scale, top.lanes, top.others, style),
    ...drawCamera(strip, scale, top.camera),
    ...drawRuler(strip, scale, top.ruler, room),
  ];
}

/** As on the sheet: a key is ringed, a breakdown underlined. */
function drawKeys({ keys }: ReviewStrip, scale: FrameScale, top: number): Mark[] {
  const [rings, unders, stems] = [new PathPen(), new PathPen(), new PathPen()];
  for (const { kind, frameIndex } of keys) {
    const x = scale.middle(frameIndex);
    if (kind === 'key') rings.circle(x, top + 2, 1.1);
    else unders.line(x - 1.1, top + 2.9, x + 1.1, top + 2.9);
    stems.line(x, top + (kind === 'key' ? 3.1 : 2.9), x, top + band.keys);
  }
  return [
    pathMark('strip-stems', stems.toString(), { stroke: 'quiet', strokeWidth: 0.2 }),
    pathMark('strip-rings', rings.toString(), { stroke: 'ink', strokeWidth: 0.35, role: 'key' }),
    pathMark('strip-unders', unders.toString(), { stroke: 'ink', strokeWidth: 0.35, role: 'key' }),
  ].filter((m) => m.d !== '');
}

function drawExposures({ review }: ReviewStrip, scale: FrameScale, top: number): Mark[] {
  const [planned, shot] = [new PathPen(), new PathPen()];
  const gap = Math.min(0.4, 0.3 * scale.frameWidth);
  const block = (pen: PathPen, { firstFrame, frames }: { firstFrame: number; frames: number }) =>
    pen.rect(scale.x(firstFrame) + gap / 2, top, frames * scale.frameWidth - gap, band.exposures - 1);
  for (const exposure of review.planned.exposures) block(planned, exposure);
  for (const exposure of review.comparison.exposures) block(shot, exposure);
  return [
    pathMark('strip-planned', planned.toString(), { stroke: 'line', strokeWidth: 0.12, role: 'planned' }),
    pathMark('strip-shot', shot.toString(), { fill: 'line', role: 'shot' }),
  ];
}

function drawNotes(strip: ReviewStrip, scale: FrameScale, top: number, others: number, style: PaperStyle): Mark[] {
  const marks: Mark[] = [];
  const rest = new PathPen();
  const placed = placeNotes(strip, scale, style);
  for (const { i, lane, from, wide, left, right, note } of placed) {
    if (lane < 0) {
      rest.rect(left, others, right - left, 0.8);
      continue;
    }
    const y = top + lane * band.lane;
    if (i === 0)
      marks.push(
        pathMark('strip-worst', new PathPen().rect(from, y, wide - 0.3, band.lane - 0.5).toString(), { fill: 'ink' }),
      );
    marks.push(
      textMark(`strip-note-${i}`, from + (wide - 0.3) / 2, y + 2.45, String(i + 1), {
        ...number,
        anchor: 'middle',
        colour: i === 0 ? 'sheet' : 'ink',
        role: 'note number',
      }),
      pathMark(`strip-bar-${i}`, new PathPen().rect(left, y + 0.9, right - left, 1.2).toString(), {
        fill: 'ink',
        role: 'note',
        label: note.sentence,
      }),
    );
  }
  for (const note of notesOf(strip.review).slice(strip.shown)) {
    const [left, right] = barOf(note, strip, scale);
    rest.rect(left, others, right - left, 0.8);
  }
  if (rest.toString()) marks.push(pathMark('strip-others', rest.toString(), { fill: 'faint', role: 'other note' }));
  return marks;
}

/** Where a numbered note stands: its number from `from` on, then its bar. */
interface PlacedNote {
  readonly note: Finding;
  /** Its place among the notes, from 0. */
  readonly i: number;
  /** −1 = there is no room for its number. */
  readonly lane: number;
  readonly from: number;
  readonly wide: number;
  readonly left: number;
  readonly right: number;
}

/** Numbered notes by the frame at which they begin, each in the first lane that is free there. */
function placeNotes(strip: ReviewStrip, scale: FrameScale, { measure }: PaperStyle): PlacedNote[] {
  const ends = new Array<number>(mostLanes).fill(Number.NEGATIVE_INFINITY);
  return notesOf(strip.review)
    .slice(0, strip.shown)
    .map((note, i) => ({ note, i }))
    .sort((a, b) => a.note.firstFrame - b.note.firstFrame || a.i - b.i)
    .map(({ note, i }) => {
      const [left, right] = barOf(note, strip, scale);
      const wide = measure(String(i + 1), number) + 1.2;
      // The number stands before its bar, unless the strip begins there.
      const from = Math.max(scale.leftX, left - wide);
      const lane = ends.findIndex((taken) => taken < from - 0.6);
      const begins = lane < 0 ? left : Math.max(left, from + wide);
      const end = Math.max(right, begins + 0.8);
      if (lane >= 0) ends[lane] = end;
      return { note, i, lane, from, wide, left: begins, right: end };
    });
}

function barOf(note: Finding, { frameCount }: ReviewStrip, scale: FrameScale): readonly [left: number, right: number] {
  const left = scale.x(Math.min(note.firstFrame, frameCount - 1));
  const right = scale.x(Math.min(frameCount, note.firstFrame + Math.max(1, note.frames)));
  return [left, Math.max(left + 0.8, right)];
}

function lanesOf(strip: ReviewStrip, scale: FrameScale, style: PaperStyle): number {
  return Math.max(1, ...placeNotes(strip, scale, style).map((placed) => placed.lane + 1));
}

function heightWith(lanes: number): number {
  return band.keys + band.exposures + band.gap + lanes * band.lane + band.others + band.camera + band.ruler;
}

function scaleIn({ frameCount }: ReviewStrip, room: Omit<PageRoom, 'top' | 'bottom'>): FrameScale {
  return FrameScale.fit(0, frameCount, room.left + wordsWidth, room.right);
}

/** How high the strip is, millimetres. */
export function reviewStripHeight(
  strip: ReviewStrip,
  room: Omit<PageRoom, 'top' | 'bottom'>,
  style: PaperStyle,
): number {
  return heightWith(lanesOf(strip, scaleIn(strip, room), style));
}

/** A triangle that stands on each jump or flicker. */
function drawCamera({ review }: ReviewStrip, scale: FrameScale, top: number): Mark[] {
  const pen = new PathPen();
  for (const { atFrame } of review.comparison.findings.filter(isOfCamera)) {
    const x = scale.middle(atFrame);
    pen.polygon([
      [x, top + 0.5],
      [x + 1.1, top + 2.5],
      [x - 1.1, top + 2.5],
    ]);
  }
  return pen.toString() ? [pathMark('strip-camera', pen.toString(), { fill: 'ink', role: 'camera' })] : [];
}

/** Frames from 1, at steps that people count in. */
function drawRuler(
  { frameCount, framesPerSecond: second }: ReviewStrip,
  scale: FrameScale,
  top: number,
  { right }: Omit<PageRoom, 'bottom'>,
): Mark[] {
  const least = 7;
  const step =
    [1, 2, 4, 8, second / 2, second, 2 * second, 5 * second, 10 * second]
      .map((n) => Math.max(1, Math.round(n)))
      .find((n) => n * scale.frameWidth >= least) ?? 30 * second;
  const ticks = new PathPen().line(scale.leftX, top, right, top);
  const marks: Mark[] = [];
  for (let k = 0; k < frameCount; k += step) {
    const x = scale.x(k);
    ticks.line(x, top, x, top + 3.4);
    if (right - x > 6) marks.push(textMark(`strip-frame-${k}`, x + 0.6, top + 3.2, String(k + 1), small));
  }
  return [pathMark('strip-ticks', ticks.toString(), { stroke: 'quiet', strokeWidth: 0.2 }), ...marks];
}
