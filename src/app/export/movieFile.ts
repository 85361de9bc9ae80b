import { present } from '../../base/assert.ts';
import { good, type Outcome } from '../../base/failure.ts';
import { PathPen } from '../../draw/pathPen.ts';
import { type PictureSize, sceneSize } from '../../draw/pictureOverlay.ts';
import { layOutPuppetStage } from '../../draw/puppetStage.ts';
import { pathMark, type Scene, textMark } from '../../draw/scene.ts';
import { encodeMovie, evenSize, type MovieForm } from '../../encode/movie.ts';
import type { Plan } from '../../plan/plan.ts';
import { nextTurn } from '../slices.ts';
import type { TakeOnScreen } from '../takeOnScreen.ts';
import { type MovieHold, type MovieOf, type MovieShows, movieHolds, movieName } from './exportChoices.ts';
import { Painter } from './paintScene.ts';

/** What a movie is made from. */
export interface MovieSource {
  readonly plan: Plan;
  /** Whose photos are seen; null = none are here, and the puppet must be seen. */
  readonly take: TakeOnScreen | null;
  /** The picture of the take at a moment that is a key's, and at any. */
  readonly pictureOfKey: (takeSec: number) => number;
  readonly pictureAt: (takeSec: number) => number;
}

/** How it is made. */
export interface MovieChoices extends PictureSize {
  readonly of: MovieOf;
  readonly shows: MovieShows;
  /** Pose and frame in the corner. */
  readonly showsNumbers: boolean;
  readonly form: MovieForm;
}

/** Photos are fetched so many at a time: together no more than a few dozen megabytes, and the decoder need not start anew for each. */
const photosAtOnce = 8;

/** The movie as a file of the name that it is given. Fails as `encodeMovie` does. */
export async function makeMovie(
  source: MovieSource,
  choices: MovieChoices,
  { signal, onFrame }: { readonly signal: AbortSignal; readonly onFrame?: (framesDone: number) => void },
): Promise<Outcome<{ readonly name: string; readonly content: Uint8Array }>> {
  const { form } = choices;
  const painter = new Painter(evenSize(choices.widthPx, choices.heightPx));
  const outcome = await encodeMovie({
    canvas: painter.canvas,
    rate: source.plan.timing.grid.rate,
    form,
    holds: paintHolds(source, choices, painter, signal),
    signal,
    ...(onFrame ? { onFrame } : {}),
  });
  if (!outcome.ok) return outcome;
  return good({ name: `${movieName(choices.of, choices.shows)}.${form.ending}`, content: outcome.value });
}

async function* paintHolds(
  source: MovieSource,
  choices: MovieChoices,
  painter: Painter,
  signal: AbortSignal,
): AsyncGenerator<number, void, undefined> {
  const { plan } = source;
  const holds = movieHolds(plan, choices.of);
  const pictures = choices.shows === 'photo' ? photosOf(source, choices, holds, painter, signal) : null;
  try {
    for (const hold of holds) {
      if (pictures) {
        const photo = (await pictures.next()).value ?? null;
        paintPhoto(photo, painter);
        photo?.close();
      } else painter.paint(puppetScene(plan, hold, painter.canvas));
      // A plate that counted the frames would change in every frame: it says which are the pose's.
      if (choices.showsNumbers) painter.paint(numbersScene(hold, painter.canvas), { over: true });
      yield hold.frames;
      await nextTurn();
    }
  } finally {
    await pictures?.return();
  }
}

/** The photos of holds in order, null where the take is damaged; each is the receiver's to close. */
async function* photosOf(
  source: MovieSource,
  { of }: MovieChoices,
  holds: readonly MovieHold[],
  { canvas }: Painter,
  signal: AbortSignal,
): AsyncGenerator<ImageBitmap | null, void, undefined> {
  const take = present(source.take, 'take whose photos are seen');
  const { widthPx, heightPx } = take.footage;
  const fitted = Math.max(1, Math.round(heightPx * Math.min(canvas.width / widthPx, canvas.height / heightPx)));
  const indexOf = of === 'popThrough' ? source.pictureOfKey : source.pictureAt;
  for (let i = 0; i < holds.length; i += photosAtOnce) {
    const indices = holds.slice(i, i + photosAtOnce).map((hold) => indexOf(hold.takeSec));
    const bitmaps = await take.pictures.thumbnails(indices, fitted, undefined, signal);
    try {
      // One picture may stand for several holds, as one bitmap: each gets a copy of its own to close.
      for (const bitmap of bitmaps) yield bitmap && (await createImageBitmap(bitmap));
    } finally {
      for (const bitmap of bitmaps) bitmap?.close();
    }
  }
}

/** Whole and centred on black; black alone where there is no picture. */
function paintPhoto(photo: ImageBitmap | null, { canvas, ink }: Painter): void {
  ink.fillStyle = '#000000';
  ink.fillRect(0, 0, canvas.width, canvas.height);
  if (!photo) return;
  const scale = Math.min(canvas.width / photo.width, canvas.height / photo.height);
  const [width, height] = [photo.width * scale, photo.height * scale];
  ink.drawImage(photo, (canvas.width - width) / 2, (canvas.height - height) / 2, width, height);
}

function sizeOf(canvas: OffscreenCanvas): { width: number; height: number } {
  return sceneSize({ widthPx: canvas.width, heightPx: canvas.height });
}

/** The puppet as its own screen shows it, on plain ground. */
function puppetScene({ puppet }: Plan, { poseFrame: frame }: MovieHold, canvas: OffscreenCanvas): Scene {
  const { width, height } = sizeOf(canvas);
  return { ...layOutPuppetStage(puppet, { width, height, frame, onions: [], warnings: [] }), ground: 'sheet' };
}

/** Which pose it is and which frames show it, on a plate in the upper left corner. */
function numbersScene({ poseNumber, firstFrame, frames }: MovieHold, canvas: OffscreenCanvas): Scene {
  const { width, height } = sizeOf(canvas);
  const said = `${poseNumber}   ${firstFrame + 1}–${firstFrame + frames}`;
  return {
    ...{ unit: 'px', width, height, title: said, summary: '', ground: null },
    marks: [
      pathMark('plate', new PathPen().rect(12, 12, said.length * 15.3 + 20, 42).toString(), {
        fill: 'casing',
        opacity: 0.8,
      }),
      textMark('numbers', 22, 41, said, { size: 24, font: 'mono', weight: 700, colour: 'overMiddle' }),
    ],
  };
}
