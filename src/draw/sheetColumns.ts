import { jointWords, type Part } from '../base/joints.ts';
import type { PageRoom } from './paper.ts';

/** A column of the exposure sheet, millimetres. */
export interface SheetColumn {
  readonly kind: 'action' | 'sound' | 'frame' | 'pose' | 'part' | 'support' | 'camera' | 'notes';
  /** One or two lines. */
  readonly heading: readonly string[];
  readonly left: number;
  readonly width: number;
  /** The part whose moves stand in it; null in other columns. */
  readonly joint: Part | null;
}

const frameWidth = 10.5;
const poseWidth = 11;
/** Words get what the numbers leave, in these shares, but never less than the millimetres. */
const words = [
  { kind: 'action', share: 0.36, least: 16 },
  { kind: 'sound', share: 0.24, least: 13 },
  { kind: 'support', share: 0.12, least: 11 },
  { kind: 'camera', share: 0.12, least: 10.6 },
  { kind: 'notes', share: 0.16, least: 9.4 },
] as const;
const headings = { action: 'action', sound: 'sound', support: 'support', camera: 'camera', notes: 'notes' };

/**
 * The columns from left to right, filling the room's width: narrower parts where there are many.
 * @param widestPart mm; 15 take "12.5", a doubt mark and an arrow with air, and wider would only part what belongs together.
 */
export function layOutColumns(joints: readonly Part[], room: PageRoom, widestPart = 15): SheetColumn[] {
  const total = room.right - room.left;
  const least = words.reduce((sum, w) => sum + w.least, 0);
  const forParts = total - frameWidth - poseWidth - least;
  const partWidth = joints.length === 0 ? 0 : Math.min(widestPart, forParts / joints.length);
  const forWords = total - frameWidth - poseWidth - partWidth * joints.length;
  const wordWidths = new Map(words.map((w) => [w.kind, w.least + (forWords - least) * w.share]));

  const columns: SheetColumn[] = [];
  let left = room.left;
  const add = (kind: SheetColumn['kind'], heading: readonly string[], width: number, joint: Part | null = null) => {
    columns.push({ kind, heading, left, width, joint });
    left += width;
  };
  const addWords = (kind: keyof typeof headings) => add(kind, [headings[kind]], wordWidths.get(kind) ?? 0);
  addWords('action');
  addWords('sound');
  add('frame', ['frame'], frameWidth);
  add('pose', ['pose'], poseWidth);
  for (const joint of joints) {
    const [first = '', ...rest] = jointWords(joint).split(' ');
    add('part', rest.length > 0 ? [first, rest.join(' ')] : [first], partWidth, joint);
  }
  addWords('support');
  addWords('camera');
  addWords('notes');
  return columns;
}
