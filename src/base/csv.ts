/** One line of fields as RFC 4180 wants it: quoted where a field holds a comma, a quote or a line break. */
export function csvLine(fields: readonly (string | number)[]): string {
  const quoted = fields.map((field) => {
    const text = String(field);
    return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  });
  return `${quoted.join(',')}\r\n`;
}
