import { type Joint, joints } from '../../base/joints.ts';
import type { MarkingRun } from './markingRun.ts';

// A run over a dozen joints is minutes of work at one place. Like the marks themselves (`marksAtOnce`), where it is is written before the
// press returns; it is no decision, and does not go along in the book's file.
const runOf = (bookId: string) => `nudgebook-marking ${bookId}`;

/** Where joints of a shot are being marked. */
export interface MarkingPlace {
  readonly run: MarkingRun;
  /** The picture of the shot that is on screen, from 0. */
  readonly picture: number;
  /** The name of its file, by which it is known to be the same; "" = of a video. */
  readonly file: string;
}

/** What was stored, if it is a place. */
function placeOf(stored: unknown): MarkingPlace | null {
  const { run, picture, file } = stored as { readonly [K in keyof MarkingPlace]?: unknown };
  const { joints: all, at } = run as { readonly [K in keyof MarkingRun]?: unknown };
  const isIndex = (of: unknown): of is number => Number.isInteger(of) && (of as number) >= 0;
  const areJoints = Array.isArray(all) && all.every((joint) => joints.includes(joint as Joint));
  if (!areJoints || !isIndex(at) || at >= all.length || !isIndex(picture) || typeof file !== 'string') return null;
  return { run: { joints: all as Joint[], at }, picture, file };
}

/** Keeps where the marking of a shot is, by the id of the shot's book, before returning; null = it is over. */
export function keepRunAtOnce(bookId: string, at: MarkingPlace | null): void {
  try {
    if (at) localStorage.setItem(runOf(bookId), JSON.stringify(at));
    else localStorage.removeItem(runOf(bookId));
  } catch {
    // Without storage a run ends with the page.
  }
}

/** Where the marking of a shot was; null = it was over, or nobody knows. */
export function runKeptAtOnce(bookId: string): MarkingPlace | null {
  try {
    return placeOf(JSON.parse(localStorage.getItem(runOf(bookId)) ?? ''));
  } catch {
    return null;
  }
}
