import { jointWords } from '../base/joints.ts';
import type { Plan } from '../plan/plan.ts';
import type { Pose } from '../plan/poses.ts';
import { leastArcMm, type SetArc, setArcs } from '../plan/setArcs.ts';
import { type SheetHeader, writeSheet } from '../plan/sheet.ts';
import { drawSetArc, footRow, footWords, numberRoom, type SetWindow } from './arcDrawing.ts';
import { checkBarRoom, drawCheckBar } from './checkBar.ts';
import { type ClipBox, clipToBox } from './clipToBox.ts';
import { wrapText } from './fitText.ts';
import { type DraftPage, type PageRoom, type PaperStyle, pageFoot, pageHead, pageRoom } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, type Measure, pathMark, type TextStyle, textMark } from './scene.ts';

/** By how much pieces of a large arc lie over one another, millimetres. */
const overlapMm = 14;
const cardGap = 3;
/** Cards may go back to as many pages before. */
const pagesOpen = 4;
/** Narrower cards have no room for their words. */
const leastCard = 60;
/** A standing foot that is no farther from the arc than this is shown on its card. */
const footWithin = 40;

const faces = {
  part: { size: 4.2, font: 'text', weight: 700 },
  pose: { size: 3.2, font: 'text', weight: 700 },
  words: { size: 2.7, font: 'text', weight: 400 },
} as const satisfies Record<string, TextStyle>;

/** What of the set an arc needs, millimetres; y up. */
interface Extent {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** An arc that fits a page, with its place on it. */
interface Card {
  readonly arc: SetArc;
  readonly extent: Extent;
  readonly width: number;
  readonly height: number;
}

/**
 * The arcs of the sheet's parts at the puppet's own size, to be held behind the puppet or laid under it, not yet numbered. Small arcs
 * share a page; one that is larger than the page is cut into pieces that lie over one another. The size never changes.
 */
export function draftArcPages(plan: Plan, style: PaperStyle): DraftPage[] {
  const { header } = writeSheet(plan);
  const room = arcRoom(style);
  const arcs = setArcs(plan);
  const cards: Card[] = [];
  const large: SetArc[] = [];
  for (const arc of arcs) {
    const card = cardOf(arc, room, plan.puppet.feetSeen, style);
    if (card) cards.push(card);
    else large.push(arc);
  }
  const pages = cardPages(cards, plan, header, style);
  for (const [i, arc] of large.entries()) pages.push(...pieces(arc, i, plan, header, style));
  return pages;
}

/** The room of a page above the bar. */
function arcRoom(style: PaperStyle): PageRoom {
  const room = pageRoom(style);
  return { ...room, bottom: room.bottom - checkBarRoom };
}

function pathExtent(arc: SetArc): Extent {
  const points = arc.runs.flat().concat(arc.ticks);
  const [xs, ys] = [points.map((p) => p.xMm), points.map((p) => p.yMm)];
  return {
    left: Math.min(...xs) - numberRoom,
    right: Math.max(...xs) + numberRoom,
    top: Math.max(...ys) + numberRoom,
    bottom: Math.min(...ys) - numberRoom,
  };
}

/** The arc as a card that stands on the floor where the page is high enough, or null where even the arc alone does not fit. */
function cardOf(arc: SetArc, room: PageRoom, floor: boolean, style: PaperStyle): Card | null {
  const [most, high] = [room.right - room.left, room.bottom - room.top];
  let extent = pathExtent(arc);
  if (extent.right - extent.left > most) return null;
  for (const { xMm } of floor ? arc.planted : []) {
    const [left, right] = [Math.min(extent.left, xMm - 4), Math.max(extent.right, xMm + 4)];
    const isNear = extent.left - left <= footWithin && right - extent.right <= footWithin;
    if (isNear && right - left <= most) extent = { ...extent, left, right };
  }
  const width = Math.max(leastCard, extent.right - extent.left);
  const spare = width - (extent.right - extent.left);
  extent = { ...extent, left: extent.left - spare / 2, right: extent.right + spare / 2 };
  const title = titleLines(arc, width, floor, style).height;
  const under = -(4.5 + footRow * Math.min(4, arc.planted.length));
  const withFloor = { ...extent, bottom: Math.min(extent.bottom, under) };
  for (const each of floor ? [withFloor, extent] : [extent]) {
    const height = title + each.top - each.bottom;
    if (height <= high) return { arc, extent: each, width, height };
  }
  return null;
}

/** A row of cards on a page. */
interface Shelf {
  readonly top: number;
  /** Where the next card begins. */
  left: number;
  height: number;
}

interface CardPage {
  readonly shelves: Shelf[];
  readonly placed: { readonly card: Card; readonly left: number; readonly top: number }[];
}

/** Cards in rows, each on the first of the last pages that has room for it, so that moves stay nearly in order. */
function packCards(cards: readonly Card[], room: PageRoom): CardPage[] {
  const pages: CardPage[] = [];
  for (const card of cards) {
    const isPut = pages.slice(-pagesOpen).some((page) => putCard(card, page, room));
    if (isPut) continue;
    const page: CardPage = { shelves: [], placed: [] };
    putCard(card, page, room);
    pages.push(page);
  }
  return pages;
}

function putCard(card: Card, { shelves, placed }: CardPage, room: PageRoom): boolean {
  const put = (shelf: Shelf) => {
    placed.push({ card, left: shelf.left, top: shelf.top });
    shelf.left += card.width + cardGap;
    shelf.height = Math.max(shelf.height, card.height);
    return true;
  };
  for (const [i, shelf] of shelves.entries()) {
    const high = i < shelves.length - 1 ? shelf.height : room.bottom - shelf.top;
    if (shelf.left + card.width <= room.right + 1e-9 && card.height <= high + 1e-9) return put(shelf);
  }
  const last = shelves.at(-1);
  const shelf = { top: last ? last.top + last.height + cardGap : room.top, left: room.left, height: 0 };
  if (shelf.top + card.height > room.bottom + 1e-9) return false;
  shelves.push(shelf);
  return put(shelf);
}

function cardPages(cards: readonly Card[], plan: Plan, header: SheetHeader, style: PaperStyle): DraftPage[] {
  return packCards(cards, arcRoom(style)).map(({ placed }) => ({
    title: `Arc templates, ${header.shot}`,
    summary: `True size: ${placed.map(({ card: { arc } }) => `${jointWords(arc.joint)}, frames ${framesWords(arc)}`).join('; ')}.`,
    marks: [
      ...pageHead(header, 'Arc templates, true size', style),
      ...placed.flatMap(({ card, left, top }, i) => drawCard(card, left, top, `card-${i}`, plan, style)),
      ...drawFoot(style),
    ],
  }));
}

function drawCard(card: Card, left: number, top: number, id: string, plan: Plan, style: PaperStyle): Mark[] {
  const floor = plan.puppet.feetSeen;
  const title = titleLines(card.arc, card.width, floor, style);
  const box = { left, right: left + card.width, top: top + title.height, bottom: top + card.height };
  const window: SetWindow = { box, leftMm: card.extent.left, topMm: card.extent.top };
  const border = new PathPen().rect(left, top, card.width, card.height).toString();
  return [
    pathMark(`${id}-border`, border, { stroke: 'faint', strokeWidth: 0.15 }),
    ...title.draw(left, top, id),
    ...drawSetArc(card.arc, window, floor, id, style.measure),
  ];
}

/** A large arc over several pages; pages that would hold none of it are left out. */
function pieces(arc: SetArc, place: number, plan: Plan, header: SheetHeader, style: PaperStyle): DraftPage[] {
  const room = arcRoom(style);
  const floor = plan.puppet.feetSeen;
  const title = titleLines(arc, room.right - room.left - 50, floor, style);
  const box = { ...room, top: room.top + title.height };
  const [width, height] = [box.right - box.left, box.bottom - box.top];
  const extent = pathExtent(arc);
  const count = (length: number, page: number) => Math.max(1, Math.ceil((length - overlapMm) / (page - overlapMm)));
  const [columns, rows] = [count(extent.right - extent.left, width), count(extent.top - extent.bottom, height)];
  // What the pieces have too much lies evenly around the arc.
  const whole = (n: number, page: number) => n * (page - overlapMm) + overlapMm;
  const leftMm = extent.left - (whole(columns, width) - (extent.right - extent.left)) / 2;
  const topMm = extent.top + (whole(rows, height) - (extent.top - extent.bottom)) / 2;

  const windows = new Map<string, { row: number; column: number; window: SetWindow }>();
  for (let row = 0; row < rows; row++)
    for (let column = 0; column < columns; column++) {
      const window = {
        box,
        leftMm: leftMm + column * (width - overlapMm),
        topMm: topMm - row * (height - overlapMm),
      };
      if (touches(arc, window)) windows.set(`${row} ${column}`, { row, column, window });
    }
  const names = new Map([...windows.keys()].map((key, i) => [key, i + 1]));
  return [...windows.values()].map(({ row, column, window }) => {
    const number = names.get(`${row} ${column}`)!;
    const id = `large-${place}-${number}`;
    const words = `piece ${number} of ${windows.size}`;
    const beside = {
      left: names.get(`${row} ${column - 1}`),
      right: names.get(`${row} ${column + 1}`),
      top: names.get(`${row - 1} ${column}`),
      bottom: names.get(`${row + 1} ${column}`),
    };
    const joins = drawJoins(box, beside, id, style.measure);
    return {
      title: `Arc template, ${header.shot}`,
      summary: `True size: ${jointWords(arc.joint)}, frames ${framesWords(arc)}, ${words}.`,
      marks: [
        ...pageHead(header, 'Arc template, true size', style),
        ...title.draw(room.left, room.top, id),
        textMark(`${id}-piece`, room.right - 1, room.top + 5, words, { ...faces.part, anchor: 'end', role: 'piece' }),
        pathMark(`${id}-border`, new PathPen().rect(box.left, box.top, width, height).toString(), {
          stroke: 'faint',
          strokeWidth: 0.15,
        }),
        ...drawSetArc(arc, window, floor, id, style.measure, joins.taken),
        ...joins.marks,
        ...drawFoot(style),
      ],
    };
  });
}

function touches(arc: SetArc, { box, leftMm, topMm }: SetWindow): boolean {
  const onSet = {
    left: leftMm,
    right: leftMm + box.right - box.left,
    top: -topMm,
    bottom: -topMm + box.bottom - box.top,
  };
  return arc.runs.some((run) =>
    run.some((b, i) => {
      const a = run[i - 1] ?? b;
      return clipToBox(a.xMm, -a.yMm, b.xMm, -b.yMm, onSet) !== null;
    }),
  );
}

/** Along each side that another piece joins: a broken line in the middle of the overlap, two crosses to lay on the other's, its name. */
function drawJoins(
  box: PageRoom,
  beside: Record<keyof PageRoom, number | undefined>,
  id: string,
  measure: Measure,
): { marks: Mark[]; taken: ClipBox[] } {
  const words: Mark[] = [];
  const taken: ClipBox[] = [];
  const take = (x: number, y: number) => taken.push({ left: x - 3.4, right: x + 3.4, top: y - 3.4, bottom: y + 3.4 });
  const [line, crosses] = [new PathPen(), new PathPen()];
  const cross = (x: number, y: number) => {
    crosses
      .line(x - 3, y, x + 3, y)
      .line(x, y - 3, x, y + 3)
      .circle(x, y, 1.6);
    take(x, y);
  };
  const half = overlapMm / 2;
  for (const side of ['left', 'right', 'top', 'bottom'] as const) {
    const other = beside[side];
    if (other === undefined) continue;
    const isUpright = side === 'left' || side === 'right';
    const at = box[side] + (side === 'left' || side === 'top' ? half : -half);
    const [from, to] = isUpright ? [box.top, box.bottom] : [box.left, box.right];
    if (isUpright) line.line(at, from, at, to);
    else line.line(from, at, to, at);
    for (const along of [from + half, to - half]) isUpright ? cross(at, along) : cross(along, at);
    // Beside the first cross, where a corner has one for both sides; a word along the edge for the others.
    const [x, y] = isUpright ? [at + (side === 'left' ? 4.6 : -4.6), box.top + half] : [(from + to) / 2, at];
    const anchor = isUpright ? (side === 'left' ? 'start' : 'end') : 'middle';
    const word = `piece ${other}`;
    const reach = measure(word, faces.pose);
    const left = anchor === 'start' ? x : anchor === 'end' ? x - reach : x - reach / 2;
    taken.push({ left, right: left + reach, top: y - 1.6, bottom: y + 1.6 });
    words.push(textMark(`${id}-join-${side}`, x, y + 1.1, word, { ...faces.pose, anchor, role: 'join' }));
  }
  const marks = [
    pathMark(`${id}-joins`, line.toString(), { stroke: 'faint', strokeWidth: 0.18, dash: [2, 1.4] }),
    pathMark(`${id}-crosses`, crosses.toString(), { stroke: 'ink', strokeWidth: 0.2, role: 'join' }),
    ...words,
  ].filter((m) => m.kind !== 'path' || m.d !== '');
  return { marks, taken };
}

/** The bar to lay a ruler on, and how the page is to be read. */
function drawFoot(style: PaperStyle): Mark[] {
  return [
    ...drawCheckBar('As the camera sees it, not mirrored; what goes toward or away from the lens is not in it.', style),
    pageFoot(
      `Ring: first pose. Dot: last pose. A tick for each exposure with its frame; a broken tick and “?”: a guess. What stays within ${leastArcMm} mm has no arc.`,
      style,
    ),
  ];
}

/** What stands over an arc: the part, both poses, where to lay it. */
function titleLines(arc: SetArc, width: number, floor: boolean, style: PaperStyle) {
  const lines: { face: TextStyle; text: string; indent: number; sign: 'ring' | 'dot' | null }[] = [];
  const add = (text: string, face: TextStyle, most: number, sign: 'ring' | 'dot' | null = null) => {
    for (const [i, line] of wrapText(text, width - 3 - (sign ? 4.4 : 0), most, face, style.measure).entries())
      lines.push({ face, text: line, indent: sign ? 4.4 : 0, sign: i === 0 ? sign : null });
  };
  add(jointWords(arc.joint), faces.part, 1);
  add(`frame ${arc.ticks[0]!.frame + 1}, pose ${poseWords(arc.from)}`, faces.pose, 2, 'ring');
  add(`frame ${arc.ticks.at(-1)!.frame + 1}, pose ${poseWords(arc.to)}`, faces.pose, 2, 'dot');
  add(placeWords(arc, floor), faces.words, 3);
  const height = lines.reduce((sum, { face }) => sum + face.size * 1.28, 2);
  return {
    height,
    draw(left: number, top: number, id: string): Mark[] {
      let y = top + 0.8;
      return lines.flatMap(({ face, text, indent, sign }, i) => {
        y += face.size * 1.28;
        const word = textMark(`${id}-title-${i}`, left + 1.5 + indent, y - face.size * 0.28, text, face);
        if (!sign) return [word];
        const dot = new PathPen().circle(left + 3.2, y - face.size * 0.6, 1.1).toString();
        const look = sign === 'ring' ? ({ stroke: 'ink', strokeWidth: 0.4 } as const) : ({ fill: 'ink' } as const);
        return [pathMark(`${id}-title-${sign}`, dot, look), word];
      });
    },
  };
}

function poseWords({ number, key }: Pose): string {
  const name = key?.name || key?.reasons[0];
  return name ? `${number}: ${name}` : String(number);
}

function framesWords({ ticks }: SetArc): string {
  return `${ticks[0]!.frame + 1} to ${ticks.at(-1)!.frame + 1}`;
}

/** Where the first pose is, told from what stands on the set. */
function placeWords(arc: SetArc, floor: boolean): string {
  const first = arc.ticks[0]!;
  const length = `${Math.round(arc.lengthMm)} mm from pose to pose.`;
  if (!floor) return length;
  const above = `Ring: ${Math.round(first.yMm)} mm above the floor`;
  const foot = arc.planted.find((p) => p.firstFrame <= first.frame && first.frame < p.firstFrame + p.frames);
  if (!foot) return `${length} ${above}.`;
  const aside = Math.round(first.xMm - foot.xMm);
  const side = aside === 0 ? 'above' : `${Math.abs(aside)} mm ${aside > 0 ? 'right' : 'left'} of`;
  return `${length} ${above}, ${side} the ${footWords(foot)}.`;
}
