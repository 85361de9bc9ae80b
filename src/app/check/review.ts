import type { Review } from '../../compare/review.ts';
import { deviationsCsv, findingsCsv } from '../../compare/reviewCsv.ts';
import { reviewJson } from '../../compare/reviewJson.ts';
import type { PaperStyle } from '../../draw/paper.ts';
import { layOutReview } from '../../draw/reviewPage.ts';
import { themes } from '../../draw/tokens.ts';
import { toSvg } from '../../draw/toSvg.ts';
import type { Plan } from '../../plan/plan.ts';
import type { Session } from '../session.svelte.ts';
import type { TakeOnScreen } from '../takeOnScreen.ts';
import { shotCrops } from './shotCrops.ts';

/** A shot held against its plan, with what its page is made from. */
export interface ReviewSource {
  readonly plan: Plan;
  readonly review: Review;
  /** The pictures of the shot; null leaves their slots empty. */
  readonly shot: TakeOnScreen | null;
}

/** The shot on the Check screen as it goes on paper and into files; null where nothing could be compared. */
export function reviewSource(session: Session): ReviewSource | null {
  const { plan, check, animated } = session;
  const { comparison } = check;
  if (!plan || !comparison) return null;
  const review: Review = {
    shotName: animated.name,
    days: daysOf(animated.take?.files ?? []),
    pictures: check.pictures,
    planned: { rate: plan.book.rate, exposures: plan.timing.exposures },
    pictureOf: comparison.exposures.map((e) => check.pictureAt(e.firstFrame)),
    isCameraMeasured: animated.steps !== null,
    comparison,
  };
  return { plan, review, shot: animated.take };
}

/** Its files without pictures, and how each is written. */
export const reviewTables = [
  { name: 'findings.csv', words: 'Findings CSV', type: 'text/csv', write: findingsCsv },
  { name: 'deviations.csv', words: 'Deviations CSV', type: 'text/csv', write: deviationsCsv },
  {
    name: 'review.json',
    words: 'JSON',
    type: 'application/json',
    write: (review: Review) => `${JSON.stringify(reviewJson(review))}\n`,
  },
] as const;

/** The page as SVG that brings its pictures along. */
export async function reviewSvg(
  { plan, review, shot }: ReviewSource,
  paper: Omit<PaperStyle, 'measure'>,
): Promise<string> {
  const scene = layOutReview(plan, review, paper);
  const crops = shot ? await shotCrops(shot, scene) : new Map<string, string>();
  return toSvg(scene, { theme: themes.paper, pictureHref: ({ id }) => crops.get(id) ?? null });
}

/** First and last day on which files were written, by the clock here; null for none. */
function daysOf(files: readonly File[]): [first: string, last: string] | null {
  const times = files.map((f) => f.lastModified).filter((t) => t > 0);
  if (times.length === 0) return null;
  const day = (ms: number) => {
    const date = new Date(ms);
    const two = (n: number) => String(n).padStart(2, '0');
    return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
  };
  // One by one: a folder may hold more files than a call takes arguments.
  const [first, last] = times.reduce(([a, b], t) => [Math.min(a, t), Math.max(b, t)], [Infinity, 0]);
  return [day(first), day(last)];
}
