import { csvLine } from '../base/csv.ts';
import { jointWords } from '../base/joints.ts';
import type { Plan } from './plan.ts';
import { writeSheet } from './sheet.ts';

/**
 * The exposure sheet as a table for other programs: a header row, then one row per frame (from 1, as on paper), CRLF line
 * ends, UTF-8 when written, no byte order mark. Under a part an empty cell means that no pose begins in this row; 0 means
 * leave it; "yes" under "doubtful" that the number is a guess, and beside an empty one that nothing can be said.
 */
export function sheetCsv(plan: Plan): string {
  const sheet = writeSheet(plan);
  const { takeTimeSec } = plan.timing;
  const partColumns = sheet.joints.flatMap((joint) => {
    const name = jointWords(joint);
    return [`${name} ${sheet.unit}`, `${name} o'clock`, `${name} doubtful`];
  });
  const head = [
    'frame',
    'take seconds',
    'pose',
    'mark',
    'pose frames',
    'action',
    'sound',
    'beat',
    'sound begins',
    ...partColumns,
    'camera',
    'support',
  ];
  const lines = sheet.rows.map((row) =>
    csvLine([
      row.frameIndex + 1,
      (takeTimeSec[row.frameIndex] ?? 0).toFixed(4),
      row.mark.poseNumber,
      markWords[row.mark.kind],
      row.poseFrames || '',
      row.action,
      row.dialogue,
      row.beat ?? '',
      row.isCue ? 'yes' : '',
      ...sheet.joints.flatMap((_, i) => {
        const move = row.moves[i];
        if (!move) return ['', '', ''];
        return [said(move.amount), said(move.hour), move.isDoubtful || Number.isNaN(move.amount) ? 'yes' : ''];
      }),
      row.camera,
      row.support,
    ]),
  );
  return csvLine(head) + lines.join('');
}

const markWords = { key: 'key', breakdown: 'breakdown', inBetween: 'in-between', dash: 'same', hold: 'hold' } as const;

function said(value: number): string | number {
  return Number.isFinite(value) ? value : '';
}
