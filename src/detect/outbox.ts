import type { Job } from '../ingest/calls.ts';
import { emptySightingColumns, jointsPerPicture, type SightingColumns, sightingRows } from '../track/sighting.ts';
import type { SeenRow } from './crop.ts';
import type { ReadProgress } from './protocol.ts';

/** Batches are sent at most this often, milliseconds: the page draws no faster, and messages cost. */
const batchEvery = 80;

/** Keeps what is seen of a take's pictures and sends it to the page, some pictures at a time. */
export class Outbox {
  readonly columns: SightingColumns;
  /** People counted. Times rise. */
  readonly peopleSeen: { readonly timeSec: number; readonly count: number }[] = [];
  readonly #job: Job<ReadProgress>;
  #pictures: number[] = [];
  #peopleSent = 0;
  #sentAt = performance.now();

  /** @param columns filled with what was seen before, if anything. */
  constructor(job: Job<ReadProgress>, columns: SightingColumns) {
    this.#job = job;
    this.columns = columns;
  }

  /** Takes a picture's row. */
  add(picture: number, row: SeenRow): void {
    const cells = emptySightingColumns(1);
    for (const name of ['xPx', 'yPx', 'confidence', 'depthPx'] as const) cells[name].set(row[name]);
    for (const name of Object.keys(cells) as (keyof SightingColumns)[])
      this.columns[name].set(cells[name], picture * cells[name].length);
    this.#pictures.push(picture);
    if (performance.now() - this.#sentAt >= batchEvery) this.send();
  }

  /** Sends what has not been sent. */
  send(): void {
    if (this.#pictures.length === 0) return;
    const pictures = Int32Array.from(this.#pictures);
    const columns = sightingRows(this.columns, pictures);
    const batch = { pictures, columns, people: this.peopleSeen.slice(this.#peopleSent) };
    this.#peopleSent = this.peopleSeen.length;
    this.#pictures = [];
    this.#sentAt = performance.now();
    const buffers = [pictures.buffer, ...Object.values(columns).map((column) => column.buffer)];
    this.#job.progress({ kind: 'batch', batch }, buffers);
  }
}

/** A picture's row. */
export function rowOf(columns: SightingColumns, picture: number): SeenRow {
  const part = (column: Float32Array) => column.slice(picture * jointsPerPicture, (picture + 1) * jointsPerPicture);
  return {
    xPx: part(columns.xPx),
    yPx: part(columns.yPx),
    confidence: part(columns.confidence),
    depthPx: part(columns.depthPx),
  };
}
