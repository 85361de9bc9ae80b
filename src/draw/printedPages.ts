import { type Orientation, type PageKind, type PaperName, pageKinds } from '../base/paper.ts';
import type { Plan } from '../plan/plan.ts';
import { writeSheet } from '../plan/sheet.ts';
import { draftArcPages } from './arcTemplate.ts';
import { measureBundled } from './measure.ts';
import { draftMovePages } from './movePages.ts';
import { type DraftPage, numberPages, type PaperStyle, pageHead, pageRoom } from './paper.ts';
import { draftPopThroughPages } from './popThroughPages.ts';
import { type Scene, textMark } from './scene.ts';
import { draftSheetPages } from './sheetPages.ts';
import { draftShotCard } from './shotCard.ts';
import { draftSpacingPages } from './spacingPages.ts';

/** What is printed for a shot. */
export interface PrintChoices {
  readonly paper: PaperName;
  /** Left out = as the book says. */
  readonly orientation?: Orientation;
  /** Left out = as the book says. */
  readonly pages?: readonly PageKind[];
}

/** What is printed for a shot, kinds in the order of `pageKinds`, numbered through; at least one page. One scene per page, mm. */
export function printedPages(plan: Plan, choices: PrintChoices): Scene[] {
  const { pages, orientation } = { ...plan.book.printed, ...choices };
  const style: PaperStyle = { paper: choices.paper, orientation, measure: measureBundled };
  const drafts = pageKinds.filter((kind) => pages.includes(kind)).flatMap((kind) => draftPages[kind](plan, style));
  return numberPages(drafts.length > 0 ? drafts : [nothing(plan, style)], style);
}

const draftPages: Readonly<Record<PageKind, (plan: Plan, style: PaperStyle) => DraftPage[]>> = {
  popThrough: draftPopThroughPages,
  sheet: draftSheetPages,
  moves: draftMovePages,
  arcs: draftArcPages,
  spacing: draftSpacingPages,
  card: draftShotCard,
};

/** Where nothing moves there are no moves, arcs or charts: better said than a print that never comes. */
function nothing(plan: Plan, style: PaperStyle): DraftPage {
  const room = pageRoom(style);
  const sentence = 'None of the parts on the sheet moves from pose to pose.';
  return {
    title: sentence,
    summary: sentence,
    marks: [
      ...pageHead(writeSheet(plan).header, 'Nothing to print', style),
      textMark('nothing', room.left + 1.8, room.top + 8, sentence, { size: 4, font: 'text', weight: 400 }),
    ],
  };
}
