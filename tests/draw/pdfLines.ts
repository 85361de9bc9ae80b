import { inflateSync } from 'node:zlib';

/** A straight line of a PDF page as printed, millimetres from the page's left lower corner. */
export interface PdfLine {
  /** From 0, in the order of the file. */
  readonly page: number;
  readonly x1: number;
  readonly y1: number;
  readonly x2: number;
  readonly y2: number;
}

/** A PDF point is 1/72 inch (ISO 32000-1, 8.3.2.3). */
const mmPerPoint = 25.4 / 72;

type Matrix = readonly [number, number, number, number, number, number];

/**
 * Every straight line that a PDF's pages draw, with the transformations in force (ISO 32000-1, 8.3.4 and 8.5.2). Enough of PDF for what
 * Chromium writes: pages with one stream each, deflated, no lines within forms.
 * @throws Error where the file is not such a one.
 */
export function pdfLines(pdf: Uint8Array): PdfLine[] {
  const bytes = Buffer.from(pdf);
  const text = bytes.toString('latin1');
  const pages = [...text.matchAll(/\/Type\s*\/Page\b(?!s)[\s\S]*?endobj/g)].map((m) => m[0]);
  return pages.flatMap((page, i) => {
    const content = /\/Contents\s+(\d+) 0 R/.exec(page)?.[1];
    if (content === undefined) throw new Error('a page of the PDF has no contents');
    return linesOf(streamOf(content)).map((line) => ({ page: i, ...line }));
  });

  function streamOf(object: string): string {
    const head = new RegExp(`(?:^|\\n)${object} 0 obj\\s*<<([\\s\\S]*?)>>\\s*stream\\r?\\n`).exec(text);
    const length = /\/Length\s+(\d+)/.exec(head?.[1] ?? '')?.[1];
    if (!head || length === undefined) throw new Error(`object ${object} of the PDF is no stream`);
    const from = head.index + head[0].length;
    return inflateSync(bytes.subarray(from, from + Number(length))).toString('latin1');
  }
}

function linesOf(content: string): Omit<PdfLine, 'page'>[] {
  const lines: Omit<PdfLine, 'page'>[] = [];
  const stack: Matrix[] = [];
  let matrix: Matrix = [1, 0, 0, 1, 0, 0];
  let numbers: number[] = [];
  let at: readonly [number, number] = [0, 0];
  const onPage = (x: number, y: number): readonly [number, number] => {
    const [a, b, c, d, e, f] = matrix;
    return [(a * x + c * y + e) * mmPerPoint, (b * x + d * y + f) * mmPerPoint];
  };
  // Strings would be taken for operators.
  for (const [word] of content.replace(/\((?:\\.|[^\\)])*\)|<[0-9A-Fa-f]*>/g, ' ').matchAll(/\S+/g)) {
    const number = Number(word);
    if (!Number.isNaN(number)) {
      numbers.push(number);
      continue;
    }
    const [x, y] = numbers.slice(-2);
    if (word === 'q') stack.push(matrix);
    else if (word === 'Q') matrix = stack.pop() ?? matrix;
    else if (word === 'cm') matrix = times(numbers.slice(-6) as unknown as Matrix, matrix);
    else if (word === 'm') at = onPage(x!, y!);
    else if (word === 'c') at = onPage(x!, y!);
    else if (word === 'l') {
      const to = onPage(x!, y!);
      lines.push({ x1: at[0], y1: at[1], x2: to[0], y2: to[1] });
      at = to;
    }
    numbers = [];
  }
  return lines;
}

/** First `m`, then `n`. */
function times(m: Matrix, n: Matrix): Matrix {
  return [
    m[0] * n[0] + m[1] * n[2],
    m[0] * n[1] + m[1] * n[3],
    m[2] * n[0] + m[3] * n[2],
    m[2] * n[1] + m[3] * n[3],
    m[4] * n[0] + m[5] * n[2] + n[4],
    m[4] * n[1] + m[5] * n[3] + n[5],
  ];
}
