import { csvLine } from '../base/csv.ts';
import { jointWords } from '../base/joints.ts';
import type { Plan } from './plan.ts';
import { exposureIndex, replanAt } from './replans.ts';
import { writeSheet } from './sheet.ts';

/**
 * The exposure sheet as a table for other programs: a header row, then one row per frame (from 1, as on paper), CRLF line
 * ends, UTF-8 when written, no byte order mark. Under a part an empty cell means that no pose begins in this row; 0 means
 * leave it; "yes" under "doubtful" that the number is a guess, and beside an empty one that nothing can be said. "Laid anew after
 * exposure" is the number of the exposure in which the puppet was found to stand elsewhere, from 1, in every frame to which moves lead
 * from there; empty where they are the plan's own.
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
    'laid anew after exposure',
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
      laidAnewAfter(plan, row.frameIndex),
    ]),
  );
  return csvLine(head) + lines.join('');
}

function laidAnewAfter(plan: Plan, frame: number): number | '' {
  const replan = replanAt(plan, frame);
  return replan ? exposureIndex(plan.timing, replan.stance.firstFrame) + 1 : '';
}

const markWords = { key: 'key', breakdown: 'breakdown', inBetween: 'in-between', dash: 'same', hold: 'hold' } as const;

function said(value: number): string | number {
  return Number.isFinite(value) ? value : '';
}
