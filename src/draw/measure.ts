import type { Measure, TextStyle } from './scene.ts';

/**
 * Advance widths of the printable ASCII letters (space to tilde) in Atkinson Hyperlegible Next, thousandths of the em,
 * measured from the font files; unkerned, which is at most a little wider than drawn.
 */
const regular = [
  280, 286, 301, 651, 592, 919, 731, 160, 299, 299, 485, 606, 210, 362, 210, 387, 648, 407, 548, 576, 614, 588, 598,
  510, 615, 595, 210, 210, 553, 628, 553, 480, 778, 626, 613, 645, 669, 569, 552, 694, 694, 392, 512, 631, 541, 824,
  693, 714, 592, 724, 614, 592, 558, 690, 593, 856, 623, 575, 607, 317, 387, 344, 552, 372, 243, 525, 566, 485, 564,
  538, 314, 558, 550, 252, 245, 492, 262, 845, 550, 548, 566, 574, 349, 471, 326, 540, 461, 684, 481, 449, 460, 344,
  237, 344, 555,
] as const;
const bold = [
  312, 303, 390, 765, 610, 969, 725, 210, 335, 335, 485, 595, 271, 373, 272, 440, 659, 440, 579, 600, 624, 607, 626,
  537, 624, 571, 272, 272, 569, 612, 569, 547, 781, 678, 643, 658, 688, 597, 566, 718, 701, 424, 561, 663, 552, 858,
  717, 746, 629, 756, 650, 610, 607, 686, 644, 886, 685, 650, 618, 340, 440, 344, 582, 400, 288, 552, 596, 510, 596,
  563, 365, 593, 571, 300, 259, 555, 318, 882, 571, 576, 596, 599, 376, 508, 376, 567, 530, 740, 539, 521, 505, 381,
  254, 381, 537,
] as const;
/** Every glyph of the Mono. */
const monoEm = 0.632;
/** Letters that the table does not hold: accented Latin is a little over the average; wide scripts fill the em square. */
const latinEm = 0.62;
const wideEm = 1;
const wide = /[\u1100-\u115f\u{2190}-\u{10ffff}]/u;

/** Width of a text in the bundled fonts, in the unit of `style.size`. Needs no screen, so layouts are the same everywhere. */
export const measureBundled: Measure = (text: string, style: TextStyle) => {
  let em = 0;
  for (const letter of text) em += letterEm(letter, style);
  return em * style.size;
};

function letterEm(letter: string, style: TextStyle): number {
  if (wide.test(letter)) return wideEm;
  if (style.font === 'mono') return monoEm;
  const width = (style.weight === 700 ? bold : regular)[letter.charCodeAt(0) - 32];
  return letter.length === 1 && width !== undefined ? width / 1000 : latinEm;
}
