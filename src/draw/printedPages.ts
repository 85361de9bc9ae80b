import type { Plan } from '../plan/plan.ts';
import { measureBundled } from './measure.ts';
import { numberPages, type PaperName } from './paper.ts';
import { draftPopThroughPages } from './popThroughPages.ts';
import type { Scene } from './scene.ts';
import { draftSheetPages } from './sheetPages.ts';

/** What is printed for a shot, numbered through: first the pop-through list, then the exposure sheet. One scene per page, mm. */
export function printedPages(plan: Plan, { paper }: { readonly paper: PaperName }): Scene[] {
  const style = { paper, measure: measureBundled };
  return numberPages([...draftPopThroughPages(plan, style), ...draftSheetPages(plan, style)], style);
}
