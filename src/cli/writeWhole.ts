import { mkdirSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/**
 * Writes files into a folder (made when missing), replacing those of the same names. All are written beside their places
 * first and then renamed, so that a crash leaves the old files or the new ones, never half a file.
 * @param files name → content
 */
export function writeWhole(folder: string, files: Readonly<Record<string, string | Uint8Array>>): void {
  mkdirSync(folder, { recursive: true });
  const parts = Object.entries(files).map(([name, content]) => ({
    part: join(folder, `.${name}.${process.pid}.part`),
    place: join(folder, name),
    content,
  }));
  try {
    for (const { part, content } of parts) writeFileSync(part, content, { flush: true });
    for (const { part, place } of parts) renameSync(part, place);
  } finally {
    for (const { part } of parts) rmSync(part, { force: true });
  }
}
