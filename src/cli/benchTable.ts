/** A number for a table: fixed digits, or a dash where there was nothing to measure. */
export function digits(value: number, places = 2): string {
  return Number.isFinite(value) ? value.toFixed(places) : '–';
}

/** Lines of a text table: the first column flush left, the others flush right, a rule under the head. */
export function textTable(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const widths = head.map((title, i) => Math.max(title.length, ...rows.map((row) => row[i]?.length ?? 0)));
  const line = (cells: readonly string[]) =>
    widths
      .map((width, i) => (i === 0 ? (cells[i] ?? '').padEnd(width) : (cells[i] ?? '').padStart(width)))
      .join('  ')
      .trimEnd();
  return [line(head), widths.map((w) => '─'.repeat(w)).join('  '), ...rows.map(line)].join('\n');
}
