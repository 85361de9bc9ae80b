import { answerCalls, type CallScope, type Job } from './calls.ts';
import { type OpenTake, openTake } from './openTake.ts';
import type { Picture } from './picture.ts';
import type { BitmapMade, BitmapsRequest, PictureCalls } from './picturesProtocol.ts';
import { WorldFailure } from './worldFailure.ts';

/** Going on decoding up to here is cheaper than starting anew at the key picture before. */
const stepOverAtMost = 24;

interface Shown {
  readonly take: OpenTake;
  /** Shape [picture of the footage]: its place in the take's table. */
  readonly places: readonly number[];
}

/** Where decoding stands. */
interface Cursor {
  readonly pictures: AsyncGenerator<Picture, void, undefined>;
  /** The picture decoded but not yet wanted; null at the end. */
  ahead: Picture | null;
}

let shown: Shown | null = null;
let cursor: Cursor | null = null;
// One decoder serves all requests, so they run one after another.
let queue: Promise<unknown> = Promise.resolve();

function inTurn<T>(work: () => Promise<T>): Promise<T> {
  const turn = queue.then(work, work);
  queue = turn.catch(() => {});
  return turn;
}

answerCalls<PictureCalls>(self as unknown as CallScope, {
  show: (request) =>
    inTurn(async () => {
      await dropCursor();
      shown?.take.close();
      shown = null;
      const opened = await openTake(request.source, { stillsRate: request.stillsRate });
      if (!opened.ok) throw new WorldFailure(opened.failure.code, opened.failure.sentence);
      const take = opened.value;
      shown = { take, places: Array.from(request.stampsSec, (stamp) => take.placeOfStamp(stamp)) };
      return { reply: null };
    }),
  bitmaps: (request, job) => inTurn(() => makeBitmaps(request, job)),
});

async function makeBitmaps(request: BitmapsRequest, job: Job<BitmapMade>): Promise<{ readonly reply: null }> {
  if (!shown) throw new WorldFailure('file-unreadable', 'The take is no longer open. Choose it again.');
  const { take, places } = shown;
  const { widthPx, heightPx } = take.footage;
  for (const index of request.indices) {
    job.signal.throwIfAborted();
    const place = places[index] ?? -1;
    const picture = place < 0 ? null : await pictureAt(take, place);
    if (!picture) {
      job.progress({ index, bitmap: null });
      continue;
    }
    const out = new Uint8ClampedArray(4 * request.widthPx * request.heightPx);
    const whole = { x: 0, y: 0, width: widthPx, height: heightPx };
    await picture.sample(whole, request.widthPx, request.heightPx, out);
    const bitmap = await createImageBitmap(new ImageData(out, request.widthPx, request.heightPx));
    job.progress({ index, bitmap }, [bitmap]);
  }
  return { reply: null };
}

/** The picture at a table place, or null where it does not decode. It stays the cursor's: do not close it. */
async function pictureAt(take: OpenTake, place: number): Promise<Picture | null> {
  const at = cursor?.ahead?.index;
  if (!cursor || at === undefined || place < at || place > at + stepOverAtMost) {
    await dropCursor();
    const pictures = take.pictures(place);
    cursor = { pictures, ahead: null };
    await step(cursor);
  }
  while (cursor.ahead && cursor.ahead.index < place) await step(cursor);
  return cursor.ahead?.index === place ? cursor.ahead : null;
}

async function step(at: Cursor): Promise<void> {
  at.ahead?.close();
  at.ahead = null;
  const next = await at.pictures.next();
  at.ahead = next.done ? null : next.value;
}

async function dropCursor(): Promise<void> {
  const old = cursor;
  cursor = null;
  old?.ahead?.close();
  await old?.pictures.return();
}
