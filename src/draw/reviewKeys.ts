import { keysMet, type Review } from '../compare/review.ts';
import type { PageRoom, PaperStyle } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type TextStyle, textMark } from './scene.ts';

const value: TextStyle = { size: 2.9, font: 'mono', weight: 700 };
const usual: TextStyle = { size: 2.9, font: 'mono', weight: 400 };
const label: TextStyle = { size: 2.5, font: 'text', weight: 400 };

/** Millimetres. */
const wordsWidth = 17;
const cellWidth = 13.4;
const rowHeight = 4.2;
const gap = 2;
/** A second table is only drawn on a page that is this high. */
const highPage = 200;

/** A table of keys, laid out. */
export interface KeyTable {
  readonly height: number;
  readonly draw: (top: number) => Mark[];
}

/**
 * When each key was met: its number, the frame that it was planned for, and by how many frames it came early (−) or late (+); what is
 * surely off is bold. Where there are too many keys, those on time are left out first, and what is left out is counted.
 */
export function layOutKeyTable(review: Review, room: PageRoom, { measure }: PaperStyle): KeyTable {
  const keys = keysMet(review);
  if (keys.length === 0) return { height: 0, draw: () => [] };
  const perTable = Math.floor((room.right - room.left - wordsWidth) / cellWidth);
  const most = (room.bottom - room.top > highPage ? 2 : 1) * perTable;
  const offFirst = [...keys].sort((a, b) => Number(b.isOff) - Number(a.isOff) || Math.abs(b.late) - Math.abs(a.late));
  const kept = new Set(keys.length > most ? offFirst.slice(0, most) : keys);
  const shown = keys.filter((k) => kept.has(k));
  const left = keys.length - shown.length;
  const tables = Math.ceil(shown.length / perTable);
  const tableHeight = 3 * rowHeight;
  const countHeight = left > 0 ? 4 : 0;
  const height = tables * tableHeight + (tables - 1) * gap + countHeight;
  return {
    height,
    draw(top) {
      const marks: Mark[] = [];
      const [rules, rings] = [new PathPen(), new PathPen()];
      for (let t = 0; t < tables; t++) {
        const of = shown.slice(t * perTable, (t + 1) * perTable);
        const y = top + t * (tableHeight + gap);
        const right = room.left + wordsWidth + of.length * cellWidth;
        rules.rect(room.left, y, right - room.left, tableHeight);
        for (const [i, words] of ['key', 'planned at', 'frames late'].entries()) {
          if (i > 0) rules.line(room.left, y + i * rowHeight, right, y + i * rowHeight);
          marks.push(
            textMark(`keys-${t}-${words}`, room.left + 1.8, y + i * rowHeight + 2.9, words, {
              ...label,
              colour: 'quiet',
            }),
          );
        }
        for (const [i, { key, number, late, isOff }] of of.entries()) {
          const x = room.left + wordsWidth + i * cellWidth;
          rules.line(x, y, x, y + tableHeight);
          const cell = (row: number, text: string, face: TextStyle, role: string) =>
            marks.push(
              textMark(`key-${number}-${role}`, x + cellWidth / 2, y + row * rowHeight + 3.05, text, {
                ...face,
                anchor: 'middle',
                role,
              }),
            );
          cell(0, String(number), value, 'key');
          const wide = measure(String(number), value);
          const middle = x + cellWidth / 2;
          if (key.kind === 'key') rings.pill(middle, y + 2.1, Math.max(0, wide - 2), 1.8);
          else rings.line(middle - 2, y + 3.6, middle + 2, y + 3.6);
          cell(1, String(key.frameIndex + 1), usual, 'planned');
          cell(2, lateWords(late), isOff ? value : usual, 'late');
        }
      }
      marks.push(
        pathMark('keys-rules', rules.toString(), { stroke: 'quiet', strokeWidth: 0.15 }),
        pathMark('keys-rings', rings.toString(), { stroke: 'ink', strokeWidth: 0.25 }),
      );
      if (left > 0)
        marks.push(
          textMark('keys-left', room.left + 1.8, top + height - 0.8, `and ${left} more keys: in the JSON`, {
            ...label,
            size: 2.5,
            colour: 'quiet',
          }),
        );
      return marks;
    },
  };
}

/** "+2", "−1.5", "0": halves, since no more can be told of a key. */
function lateWords(late: number): string {
  if (!Number.isFinite(late)) return '?';
  const rounded = Math.round(late * 2) / 2;
  return rounded === 0 ? '0' : `${rounded > 0 ? '+' : '−'}${Math.abs(rounded)}`;
}
