import type { Plan } from '../plan/plan.ts';
import { draftChartPages } from './chartPages.ts';
import { measureBundled } from './measure.ts';
import { draftMovePages } from './movePages.ts';
import { numberPages, type PaperName } from './paper.ts';
import { draftPopThroughPages } from './popThroughPages.ts';
import type { Scene } from './scene.ts';
import { draftSheetPages } from './sheetPages.ts';

/** What is printed for a shot. */
export interface PrintChoices {
  readonly paper: PaperName;
  /** Also a timing chart for each move? Left out = no. */
  readonly withCharts?: boolean;
  /** Also the tables of every move and angle, which most shots can do without? Left out = no. */
  readonly withMoves?: boolean;
}

/**
 * What is printed for a shot, numbered through: first the pop-through list, then the exposure sheet, then, if wanted, the
 * timing charts and the tables of moves. One scene per page, mm.
 */
export function printedPages(plan: Plan, { paper, withCharts = false, withMoves = false }: PrintChoices): Scene[] {
  const style = { paper, measure: measureBundled };
  const drafts = [
    ...draftPopThroughPages(plan, style),
    ...draftSheetPages(plan, style),
    ...(withCharts ? draftChartPages(plan, style) : []),
    ...(withMoves ? draftMovePages(plan, style) : []),
  ];
  return numberPages(drafts, style);
}
