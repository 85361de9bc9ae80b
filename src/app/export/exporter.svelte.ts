import { type Failure, failed } from '../../base/failure.ts';
import {
  type ExportChoices,
  type ExportedFile,
  ExportFailure,
  type ExportProgress,
  type ExportSource,
  exportFiles,
} from './exportFiles.ts';
import { ZipStream } from './zipStream.ts';

/** What was made. */
export interface Made {
  /** Name of the file that is handed out. */
  readonly name: string;
  readonly content: Blob;
  /** Files in it; 1 = it is no zip. */
  readonly files: number;
}

/** Makes an export at a time and says how far it is. */
export class Exporter {
  #progress = $state.raw<ExportProgress | null>(null);
  #made = $state.raw<Made | null>(null);
  #failure = $state.raw<Failure | null>(null);
  #stop: AbortController | null = null;

  /** Null while nothing is being made. */
  readonly progress = $derived(this.#progress);
  /** What was made last. */
  readonly made = $derived(this.#made);
  /** Why nothing was. */
  readonly failure = $derived(this.#failure);

  /**
   * Makes what is chosen: one file as it is, several as a zip. Null when it was cancelled or failed (see `failure`).
   * @param name of the zip, without its ending.
   */
  async run(source: ExportSource, choices: ExportChoices, name: string): Promise<Made | null> {
    this.cancel();
    const stop = new AbortController();
    this.#stop = stop;
    this.#made = null;
    this.#failure = null;
    this.#progress = { making: '', share: 0 };
    const isCurrent = () => this.#stop === stop && !stop.signal.aborted;
    try {
      const files = exportFiles(source, choices, stop.signal, (progress) => {
        if (isCurrent()) this.#progress = progress;
      });
      const made = await (isOne(choices) ? handOne(files) : zipAll(files, name));
      if (!isCurrent()) return null;
      this.#made = made;
      return made;
    } catch (error) {
      if (isCurrent()) this.#failure = failureOf(error);
      return null;
    } finally {
      if (this.#stop === stop) {
        this.#stop = null;
        this.#progress = null;
      }
    }
  }

  /** Gives up what is being made. */
  cancel(): void {
    this.#stop?.abort();
    this.#stop = null;
    this.#progress = null;
  }

  /** Forgets what was made, and why it was not. */
  clear(): void {
    this.#made = null;
    this.#failure = null;
  }
}

/** A movie alone needs no zip around it. */
function isOne({ tables, drawings, book, overlays, movies, review }: ExportChoices): boolean {
  return !tables && !drawings && !book && !overlays && !review && movies.length === 1;
}

async function handOne(files: AsyncGenerator<ExportedFile, void, undefined>): Promise<Made | null> {
  for await (const { name, content } of files) return { name, content: new Blob([content as BlobPart]), files: 1 };
  return null;
}

async function zipAll(files: AsyncGenerator<ExportedFile, void, undefined>, name: string): Promise<Made> {
  const zip = new ZipStream();
  for await (const file of files) await zip.add(file.name, file.content);
  return { name: `${name}.zip`, content: zip.finish(), files: zip.count };
}

function failureOf(error: unknown): Failure {
  if (error instanceof ExportFailure) return error.failure;
  const reason = error instanceof Error ? error.message : String(error);
  return failed('unexpected', `Nothing was exported: ${reason}. Try again with fewer files or smaller pictures.`)
    .failure;
}
