import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { columnsFrom, readingHead, readingNumbers } from '../project/reading.ts';
import { readReadingHead } from '../project/schema.ts';
import type { BatchReading } from './batchJob.ts';
import { projectRoot } from './builtApp.ts';
import { writeWhole } from './writeWhole.ts';

/** A kept reading, and whether the code that reads takes is still as it was then. */
export interface KeptReading {
  readonly reading: BatchReading;
  readonly sameCode: boolean;
}

/** The file beside the number columns: what was read by what, and the reading's words. */
interface KeptFile {
  readonly videoHash: string;
  readonly codeHash: string;
  readonly reading: unknown;
}

/** What a reading depends on beside the video and the model: its decoding, detecting and following of pictures. */
const readingRooms = ['ingest', 'detect', 'flow'];

const hashOf = (parts: readonly (string | Uint8Array)[]): string => {
  const hash = createHash('sha256');
  for (const part of parts) hash.update(part);
  return hash.digest('hex');
};

/** Hash of the code that reads takes. */
function hashReadingCode(): string {
  const files = readingRooms.flatMap((room) => {
    const folder = join(projectRoot, 'src', room);
    if (!existsSync(folder)) return [];
    return readdirSync(folder)
      .filter((file) => file.endsWith('.ts'))
      .sort()
      .map((file) => join(folder, file));
  });
  return hashOf(files.map((file) => readFileSync(file)));
}

/** Names of a take's two files: a video of the same name that differs gets files of its own, and so does each model. */
function filesOf(name: string, model: string, videoHash: string): { words: string; numbers: string } {
  const stem = `${name}.${videoHash.slice(0, 8)}.${model}`;
  return { words: `${stem}.json`, numbers: `${stem}.bin` };
}

/** Writes a take's reading into `folder` (made if need be), so that `takeKept` finds it. */
export function keepReading(
  folder: string,
  name: string,
  model: string,
  videoPath: string,
  reading: BatchReading,
): void {
  const videoHash = hashOf([readFileSync(videoPath)]);
  const { words, numbers } = filesOf(name, model, videoHash);
  const file: KeptFile = { videoHash, codeHash: hashReadingCode(), reading: JSON.parse(readingHead(reading)) };
  writeWhole(folder, { [numbers]: readingNumbers(reading), [words]: `${JSON.stringify(file)}\n` });
}

/** The kept reading of this very video by this model; null when there is none, or none that can be read. */
export function takeKept(folder: string, name: string, model: string, videoPath: string): KeptReading | null {
  const videoHash = hashOf([readFileSync(videoPath)]);
  const { words, numbers } = filesOf(name, model, videoHash);
  if (!existsSync(join(folder, words)) || !existsSync(join(folder, numbers))) return null;
  const file = JSON.parse(readFileSync(join(folder, words), 'utf8')) as KeptFile;
  const head = readReadingHead(JSON.stringify(file.reading));
  if (file.videoHash !== videoHash || !head.ok) return null;
  const { footage, sightings, stored } = head.value;
  const columns = columnsFrom(readFileSync(join(folder, numbers)), footage.timesSec.length, stored);
  if (!columns) return null;
  const reading = { footage, sightings: { ...sightings, timesSec: footage.timesSec, ...columns } };
  return { reading, sameCode: file.codeHash === hashReadingCode() };
}
