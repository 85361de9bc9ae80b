import type { Plan } from '../plan/plan.ts';
import { measureBundled } from './measure.ts';
import type { PaperName } from './paper.ts';
import type { Scene } from './scene.ts';
import { layOutSheetPages } from './sheetPages.ts';

export function printedPages(plan: Plan, { paper }: { readonly paper: PaperName }): Scene[] {
  return layOutSheetPages(plan, { paper, measure: measureBundled });
}
