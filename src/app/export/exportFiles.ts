import type { Failure } from '../../base/failure.ts';
import type { PaperStyle } from '../../draw/paper.ts';
import { layOutPictureOverlay, type OverlayChoices } from '../../draw/pictureOverlay.ts';
import { scenesOfPlan } from '../../draw/planScenes.ts';
import type { PrintChoices } from '../../draw/printedPages.ts';
import type { Scene } from '../../draw/scene.ts';
import { themes } from '../../draw/tokens.ts';
import { toSvg } from '../../draw/toSvg.ts';
import type { Plan } from '../../plan/plan.ts';
import { planJson } from '../../plan/planJson.ts';
import { sheetCsv } from '../../plan/sheetCsv.ts';
import { writePuppet } from '../../project/puppetSchema.ts';
import { type ReviewSource, reviewSvg, reviewTables } from '../check/review.ts';
import { fileName } from '../download.ts';
import { bookEnding } from '../fileKinds.ts';
import { slotPictures } from '../sheet/slotPictures.ts';
import { nextTurn } from '../slices.ts';
import { type OverlayFor, overlayFrames, overlayName } from './exportChoices.ts';
import { type MovieChoices, type MovieSource, makeMovie } from './movieFile.ts';
import { Painter } from './paintScene.ts';

/** Where exports come from: one plan, as it was when they were asked for. */
export interface ExportSource extends MovieSource {
  /** The book as a file. */
  readonly book: () => Uint8Array;
  /** The shot as animated, held against the plan; left out = there is none. */
  readonly review?: ReviewSource | null;
}

/** What is exported. */
export interface ExportChoices {
  /** The sheet as CSV and `plan.json`. */
  readonly tables: boolean;
  /** Every page and chart as SVG; null = none. */
  readonly drawings: PrintChoices | null;
  /** The book and the puppet as files of their own. */
  readonly book: boolean;
  /** Null = none. */
  readonly overlays: (OverlayChoices & { readonly of: OverlayFor }) | null;
  readonly movies: readonly MovieChoices[];
  /** The review sheet with its tables, on this paper; left out = none. */
  readonly review?: Omit<PaperStyle, 'measure'> | null;
}

/** A file that is made. */
export interface ExportedFile {
  readonly name: string;
  readonly content: Uint8Array | Blob | string;
}

/** How far it is. */
export interface ExportProgress {
  /** What is being made, as a phrase: "overlays". */
  readonly making: string;
  /** 0..1 of everything. */
  readonly share: number;
}

/** What is exported as tables, and how each is written. */
export const tableFiles = [
  { name: 'sheet.csv', type: 'text/csv', write: sheetCsv },
  { name: 'plan.json', type: 'application/json', write: (plan: Plan) => `${JSON.stringify(planJson(plan))}\n` },
] as const;

/** Thrown inside the making of files: they cannot be made, and why. */
export class ExportFailure extends Error {
  constructor(readonly failure: Failure) {
    super(failure.sentence);
  }
}

/** Parts of a whole that take about as long as an overlay does. How many drawings there are is known only once they are made. */
const drawingUnits = 80;
const tableUnits = 6;
const reviewUnits = 12;
/** A frame of a movie against an overlay. */
const frameUnits = 0.5;

/**
 * Makes the files one after another; between any two the page may draw and listen, and of pictures one at a time is in memory. Ends
 * early when `signal` is aborted. @throws ExportFailure
 */
export async function* exportFiles(
  source: ExportSource,
  choices: ExportChoices,
  signal: AbortSignal,
  onProgress: (progress: ExportProgress) => void = () => {},
): AsyncGenerator<ExportedFile, void, undefined> {
  const { plan } = source;
  const reviewed = choices.review && source.review ? { ...source.review, paper: choices.review } : null;
  const frames = choices.overlays ? overlayFrames(plan, choices.overlays.of) : [];
  const movieUnits = frameUnits * plan.timing.grid.frameCount;
  const all =
    (choices.tables ? tableUnits : 0) +
    (choices.book ? tableUnits : 0) +
    (choices.drawings ? drawingUnits : 0) +
    (reviewed ? reviewUnits : 0) +
    frames.length +
    choices.movies.length * movieUnits;
  let done = 0;
  const tell = (making: string, units = 0) => onProgress({ making, share: Math.min(1, (done + units) / all) });

  if (choices.tables) {
    tell('sheet and plan');
    await nextTurn();
    for (const { name, write } of tableFiles) yield { name, content: write(plan) };
    done += tableUnits;
  }
  if (choices.book) {
    tell('book and puppet');
    await nextTurn();
    const { shotName, puppet } = plan.book;
    yield { name: `${fileName(shotName)}${bookEnding}`, content: source.book() };
    yield { name: `${fileName(puppet.name)}.puppet.json`, content: writePuppet(puppet) };
    done += tableUnits;
  }
  if (reviewed) {
    tell('review');
    await nextTurn();
    yield { name: 'review/page.svg', content: await reviewSvg(reviewed, reviewed.paper) };
    for (const { name, write } of reviewTables) {
      if (signal.aborted) return;
      yield { name: `review/${name}`, content: write(reviewed.review) };
      await nextTurn();
    }
    done += reviewUnits;
  }
  if (choices.drawings) {
    let made = 0;
    for (const { name, scene } of scenesOfPlan(plan, choices.drawings)) {
      if (signal.aborted) return;
      tell('pages and charts', Math.min(drawingUnits, made++));
      yield { name, content: await svgWithPictures(scene, source) };
      await nextTurn();
    }
    done += drawingUnits;
  }
  if (choices.overlays) {
    const painter = new Painter(choices.overlays);
    for (const frame of frames) {
      if (signal.aborted) return;
      tell('overlays');
      yield {
        name: `overlays/${overlayName(frame)}`,
        content: await overlayPicture(plan, frame, choices.overlays, painter),
      };
      done++;
      await nextTurn();
    }
  }
  for (const movie of choices.movies) {
    if (signal.aborted) return;
    const onFrame = (framesDone: number) => tell('movie', frameUnits * framesDone);
    const outcome = await makeMovie(source, movie, { signal, onFrame });
    if (!outcome.ok) {
      if (outcome.failure.code === 'cancelled') return;
      throw new ExportFailure(outcome.failure);
    }
    yield outcome.value;
    done += movieUnits;
  }
  tell('done');
}

/** The overlay of a frame as PNG. */
export function overlayPicture(
  plan: Plan,
  frame: number,
  choices: OverlayChoices,
  painter = new Painter(choices),
): Promise<Blob> {
  painter.paint(layOutPictureOverlay(plan, frame, choices));
  return painter.png();
}

/** A scene as SVG that brings its photos along. */
async function svgWithPictures(scene: Scene, { take, pictureOfKey }: ExportSource): Promise<string> {
  const wanted = scene.marks.flatMap((m) => (m.kind === 'picture' ? [m.takeSec] : []));
  const photos = take && wanted.length > 0 ? await slotPictures(take, pictureOfKey, wanted) : new Map<number, string>();
  return toSvg(scene, { theme: themes.paper, pictureHref: (slot) => photos.get(slot.takeSec) ?? null });
}
