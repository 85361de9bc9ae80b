import type { PaperName } from '../../draw/paper.ts';
import type { PrintChoices } from '../../draw/printedPages.ts';

/** What is printed, for this visit: it is about the printer and the set, not about the shot. */
class Printing implements PrintChoices {
  paper = $state<PaperName>(localePaper());
  /** A timing chart for each move: what an animator pins beside the set. */
  withCharts = $state(true);
  /** Every move and angle in tables, which most shots can do without. */
  withMoves = $state(false);
}

/** What the Sheet screen prints. */
export const printing = new Printing();

/** Letter paper where it is the custom, A4 elsewhere. */
function localePaper(): PaperName {
  return /-(US|CA|MX|PH|CL|CO)$/.test(navigator.language) ? 'Letter' : 'A4';
}
