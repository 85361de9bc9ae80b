import type { PaperName } from '../base/paper.ts';
import { keepChoice, keptChoice } from './keptChoice.ts';

const place = 'nudgebook-paper';

/** The paper chosen last in this browser, for the printer stays while shots change; else what is the custom. */
export function keptPaper(): PaperName {
  return keptChoice(place, ['A4', 'Letter']) ?? customaryPaper(navigator.language);
}

/** Remembers the paper. */
export function keepPaper(paper: PaperName): void {
  keepChoice(place, paper);
}

/** Letter where a language tag names a country in which it is the custom, A4 elsewhere. */
function customaryPaper(language: string): PaperName {
  return /-(US|CA|MX|PH|CL|CO)$/.test(language) ? 'Letter' : 'A4';
}
