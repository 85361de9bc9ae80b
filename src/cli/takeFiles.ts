import { readdirSync, type Stats, statSync } from 'node:fs';
import { extname, join } from 'node:path';
import { failed, good, type Outcome } from '../base/failure.ts';

const pictureEndings = new Set(['.jpg', '.jpeg', '.png', '.webp']);

/**
 * The files behind a take's path: the video itself, or every picture in a folder of stills (their order is settled by
 * `ingest`). Fails with 'file-unreadable' when there is nothing there, with 'file-empty' for a folder without pictures.
 */
export function takeFiles(path: string): Outcome<readonly string[]> {
  let stats: Stats;
  try {
    stats = statSync(path);
  } catch {
    return failed('file-unreadable', `there is no file or folder at ${path}. Check the spelling.`);
  }
  if (!stats.isDirectory()) return good([path]);
  const pictures = readdirSync(path).filter((file) => pictureEndings.has(extname(file).toLowerCase()));
  if (pictures.length === 0)
    return failed(
      'file-empty',
      'this folder holds no pictures (jpg, png or webp). Name a video, or a folder of stills.',
    );
  return good(pictures.sort().map((file) => join(path, file)));
}
