import type { PuppetMotion } from '../puppet/puppetMotion.ts';
import type { PageRoom } from './paper.ts';
import { type FigureLook, layOutFigure } from './puppetFigure.ts';
import { placesAt } from './puppetStage.ts';
import { boxOf, type Mark } from './scene.ts';

/** The puppet in some of its frames, to be drawn at one scale, so that a crouch stays smaller than a stretch. */
export interface PoseFigures {
  readonly puppet: PuppetMotion;
  /** Where each figure reaches at its true size, millimetres, y down, by frame; one of which nothing is known is left out. */
  readonly boxes: ReadonlyMap<number, PageRoom>;
  /** What the widest and the highest of them need, millimetres at their true size; 0 = nothing is known of any. */
  readonly widestMm: number;
  readonly highestMm: number;
}

const look = { fill: 'sheet', stroke: 'ink', strokeWidth: 0.3 } as const satisfies Partial<FigureLook>;

/** Measures the puppet in these frames. */
export function measureFigures(puppet: PuppetMotion, frames: readonly number[]): PoseFigures {
  const boxes = new Map<number, PageRoom>();
  for (const frame of frames) {
    const marks = layOutFigure(
      puppet.profile,
      placesAt(puppet, frame, (x, y) => [x, -y]),
      { ...look, perMm: 1, id: '' },
    );
    const of = marks.flatMap((m) => (m.kind === 'path' ? [boxOf(m.d)] : []));
    if (of.length === 0) continue;
    boxes.set(frame, {
      left: Math.min(...of.map((b) => b.left)),
      right: Math.max(...of.map((b) => b.right)),
      top: Math.min(...of.map((b) => b.top)),
      bottom: Math.max(...of.map((b) => b.bottom)),
    });
  }
  const all = [...boxes.values()];
  return {
    puppet,
    boxes,
    widestMm: Math.max(0, ...all.map((b) => b.right - b.left)),
    highestMm: Math.max(0, ...all.map((b) => b.bottom - b.top)),
  };
}

/** The largest scale (millimetres on paper for one of the puppet) at which all of them fit; 0 when there is none. */
export function scaleThatFits({ widestMm, highestMm }: PoseFigures, width: number, height: number): number {
  if (highestMm === 0) return 0;
  const line = look.strokeWidth;
  return Math.max(0, Math.min((height - line) / highestMm, (width - line) / Math.max(1, widestMm)));
}

/** One of them, its lowest point standing on the bottom of the room, in the middle. */
export function drawPoseFigure(
  { puppet, boxes }: PoseFigures,
  frame: number,
  perMm: number,
  room: PageRoom,
  id: string,
): Mark[] {
  const box = boxes.get(frame);
  if (!box || perMm <= 0) return [];
  const middle = (room.left + room.right) / 2;
  const at = (x: number, y: number) =>
    [
      middle + (x - (box.left + box.right) / 2) * perMm,
      room.bottom - look.strokeWidth / 2 - (y + box.bottom) * perMm,
    ] as const;
  return layOutFigure(puppet.profile, placesAt(puppet, frame, at), { ...look, perMm, id });
}
