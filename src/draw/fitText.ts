import type { Measure, TextStyle } from './scene.ts';

/** The text in one line no wider than `width`, its end replaced by "…" where it does not fit; "" where not even that fits. */
export function clipText(text: string, width: number, style: TextStyle, measure: Measure): string {
  const line = oneLine(text);
  if (measure(line, style) <= width) return line;
  const letters = [...line];
  let [fits, tooMany] = [-1, letters.length];
  while (tooMany - fits > 1) {
    const middle = (fits + tooMany) >> 1;
    if (measure(`${letters.slice(0, middle).join('').trimEnd()}…`, style) <= width) fits = middle;
    else tooMany = middle;
  }
  return fits < 0 ? '' : `${letters.slice(0, fits).join('').trimEnd()}…`;
}

/**
 * The text in at most `maxLines` lines no wider than `width`: broken at spaces, inside a word only where the word alone is
 * too wide; the last line ends in "…" where text was left out. Empty for blank text.
 */
export function wrapText(text: string, width: number, maxLines: number, style: TextStyle, measure: Measure): string[] {
  const lines: string[] = [];
  let rest = oneLine(text);
  while (rest !== '' && lines.length < maxLines) {
    if (measure(rest, style) <= width) return [...lines, rest];
    if (lines.length === maxLines - 1) return [...lines, clipText(rest, width, style, measure)].filter(Boolean);
    const head = headThatFits(rest, width, style, measure);
    if (head === '') return lines;
    lines.push(head.trimEnd());
    rest = rest.slice(head.length).trimStart();
  }
  return lines;
}

/** As many whole words as fit; else as many letters of the first. */
function headThatFits(text: string, width: number, style: TextStyle, measure: Measure): string {
  let head = '';
  for (const word of text.split(/(?<= )/)) {
    if (measure((head + word).trimEnd(), style) > width) break;
    head += word;
  }
  if (head !== '') return head;
  for (const letter of text) {
    if (measure(head + letter, style) > width) break;
    head += letter;
  }
  return head;
}

function oneLine(text: string): string {
  return text.replace(/\s+/g, ' ').trim();
}
