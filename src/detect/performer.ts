import type { Region } from '../ingest/pixels.ts';
import type { PerformerAt } from './protocol.ts';

/** A person seen in one picture. */
export interface Person {
  /** Upright pixels. */
  readonly box: Region;
  /** 0..1. */
  readonly score: number;
  /** Mean colour of the trunk, 0..255 each; null when it could not be looked at. */
  readonly colour: readonly [number, number, number] | null;
}

/** Everybody seen in one picture. */
export interface Crowd {
  /** Place in the take's table. */
  readonly picture: number;
  readonly timeSec: number;
  readonly people: readonly Person[];
}

/** How far a person may get, in their own heights: at once (the finder's noise), and per second. */
const noiseHeights = 0.12;
const speedHeights = 1.2;
/** Standard deviation of the logarithm of a person's height from one crowd to the next. */
const sizeNoise = 0.3;
/** Standard deviation of a trunk's colour from one crowd to the next, of 255. */
const colourNoise = 18;
/** No single change costs more than this: a wrong box must not break the path. */
const dearest = 9;
/** What a crowd costs in which the performer is not found. */
const missing = 1.2;
/** What a person found is worth; the largest are worth twice that. */
const found = 2;
/** How many crowds back a path may come from, with nobody found between. */
const reach = 30;
/** What a person that the animator pointed at is worth: more than any path without them. */
const pointedAt = 1e6;

/**
 * Who the performer is, over the whole take at once: the dearest path through the crowds, where being seen, and being
 * large, is worth something, and moving far, changing size or colour between crowds costs (a Viterbi search). So a person
 * who passes before or behind the performer is told apart by what comes afterwards.
 * @param crowds rising times.
 * @param pointed where the animator pointed the performer out.
 * @returns shape [crowd]: which of its people is the performer; −1 where none of them is.
 */
export function choosePerformer(crowds: readonly Crowd[], pointed: readonly PerformerAt[] = []): Int32Array {
  const tallest = Math.max(1, ...crowds.flatMap((crowd) => crowd.people.map((person) => person.box.height)));
  const certain = new Set(pointed.map((at) => personAt(crowds, at)));
  const best: number[][] = [];
  const before: { crowd: number; person: number }[][] = [];
  // What is worn by whoever came along a path: a sight without colour does not wipe it out.
  const worn: Person['colour'][][] = [];
  for (const [c, crowd] of crowds.entries()) {
    best.push([]);
    before.push([]);
    worn.push([]);
    for (const person of crowd.people) {
      let value = -missing * Math.min(c, reach);
      let from = { crowd: -1, person: -1 };
      for (let b = c - 1; b >= Math.max(0, c - reach); b--)
        for (const [p, earlier] of crowds[b]!.people.entries()) {
          const path =
            best[b]![p]! -
            missing * (c - b - 1) -
            change(earlier, worn[b]![p] ?? null, person, crowd.timeSec - crowds[b]!.timeSec);
          if (path > value) {
            value = path;
            from = { crowd: b, person: p };
          }
        }
      const worth = found * person.score * (1 + person.box.height / tallest);
      best[c]!.push(value + worth + (certain.has(person) ? pointedAt : 0));
      before[c]!.push(from);
      worn[c]!.push(person.colour ?? worn[from.crowd]?.[from.person] ?? null);
    }
  }
  return backtrack(best, before);
}

function backtrack(best: readonly number[][], before: readonly { crowd: number; person: number }[][]): Int32Array {
  const chosen = new Int32Array(best.length).fill(-1);
  let at = { crowd: -1, person: -1 };
  let most = Number.NEGATIVE_INFINITY;
  for (const [crowd, values] of best.entries())
    for (const [person, value] of values.entries()) {
      const whole = value - missing * Math.min(best.length - 1 - crowd, reach);
      if (whole > most) {
        most = whole;
        at = { crowd, person };
      }
    }
  while (at.crowd >= 0) {
    chosen[at.crowd] = at.person;
    at = before[at.crowd]![at.person]!;
  }
  return chosen;
}

/** What it costs to call two sights one person. @param worn the colour last seen of the first. */
function change(a: Person, worn: Person['colour'], b: Person, sec: number): number {
  const height = Math.max(1, (a.box.height + b.box.height) / 2);
  const [ax, ay] = centreOf(a.box);
  const [bx, by] = centreOf(b.box);
  const far = Math.hypot(ax - bx, ay - by) / height / (noiseHeights + speedHeights * sec);
  const size = Math.log(Math.max(1, b.box.height) / Math.max(1, a.box.height)) / sizeNoise;
  const colour =
    worn && b.colour ? Math.hypot(...worn.map((v, i) => v - b.colour![i]!)) / Math.sqrt(3) / colourNoise : 0;
  return (
    Math.min(dearest, 0.5 * far * far) + Math.min(dearest, 0.5 * size * size) + Math.min(dearest, 0.5 * colour * colour)
  );
}

/** Where the performer is to be expected in each picture; null = not known, or nobody is there. Shape [picture]. */
export function performerBoxes(
  crowds: readonly Crowd[],
  chosen: Int32Array,
  timesSec: Float64Array,
): (Region | null)[] {
  const known = crowds.flatMap((crowd, c) => {
    const person = crowd.people[chosen[c]!];
    return person ? [{ timeSec: crowd.timeSec, box: person.box }] : [];
  });
  let k = 0;
  return Array.from(timesSec, (t) => {
    while (k < known.length - 1 && known[k + 1]!.timeSec <= t) k++;
    const a = known[k];
    const b = known[k + 1];
    if (!a) return null;
    if (t < a.timeSec || !b) return Math.abs(t - a.timeSec) <= endReachSec ? a.box : null;
    if (b.timeSec - a.timeSec > gapReachSec)
      return t - a.timeSec <= endReachSec ? a.box : b.timeSec - t <= endReachSec ? b.box : null;
    const u = (t - a.timeSec) / (b.timeSec - a.timeSec);
    const mix = (of: (box: Region) => number) => of(a.box) + u * (of(b.box) - of(a.box));
    return { x: mix((r) => r.x), y: mix((r) => r.y), width: mix((r) => r.width), height: mix((r) => r.height) };
  });
}

/** The performer is expected between two crowds that are at most this far apart, and so long before and after one. */
const gapReachSec = 2.5;
const endReachSec = 0.55;

/** Middle of a box. */
export function centreOf(box: Region): readonly [x: number, y: number] {
  return [box.x + box.width / 2, box.y + box.height / 2];
}

/** Who stands nearest to a point, in the crowd nearest to its time; null where nobody is seen at all. */
function personAt(crowds: readonly Crowd[], at: PerformerAt): Person | null {
  const peopled = crowds.filter((crowd) => crowd.people.length > 0);
  const off = (crowd: Crowd) => Math.abs(crowd.timeSec - at.timeSec);
  const crowd = peopled.reduce<Crowd | null>((a, b) => (a && off(a) <= off(b) ? a : b), null);
  return nearestPerson(crowd?.people ?? [], at.xPx, at.yPx);
}

/** The person whose middle is nearest, in their own heights: a large one reaches further. */
export function nearestPerson(people: readonly Person[], xPx: number, yPx: number): Person | null {
  const far = (person: Person) => awayFrom(person.box, xPx, yPx);
  return people.reduce<Person | null>((a, b) => (a && far(a) <= far(b) ? a : b), null);
}

/** Distance of a point from a box's middle, in the box's heights. */
export function awayFrom(box: Region, xPx: number, yPx: number): number {
  const [x, y] = centreOf(box);
  return Math.hypot(x - xPx, y - yPx) / Math.max(1, box.height);
}
