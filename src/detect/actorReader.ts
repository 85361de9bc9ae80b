import type { Picture } from '../ingest/picture.ts';
import type { Region } from '../ingest/pixels.ts';
import {
  type Crop,
  cropAround,
  cropOfBox,
  followCrop,
  isFollowable,
  type SeenPose,
  type SeenRow,
  wholeCrop,
} from './crop.ts';
import { see } from './looks.ts';
import type { Person } from './performer.ts';
import type { PeopleFinder, PoseModel } from './poseModel.ts';
import { sureness } from './strays.ts';

/** People found with less than this are neither counted nor followed. */
const personScore = 0.25;
/** While the actor is lost, the dear search (people, then tiles) runs on every n-th picture only. */
const searchEvery = 5;
/** Two boxes that overlap by more than this part of their union are one person seen twice. */
const samePersonOverlap = 0.45;

/** What one picture gave. */
export interface PictureReading {
  readonly pose: SeenRow;
  /** Everybody in the picture; null when they were not looked for in it. */
  readonly people: readonly Person[] | null;
}

/**
 * Follows one actor through a take, picture by picture: its own crop around the joints seen before, and a search of the
 * whole picture at the beginning and whenever the actor is lost. Each estimate sees its crop afresh.
 */
export class ActorReader {
  readonly #model: PoseModel;
  readonly #finder: PeopleFinder | null;
  readonly #widthPx: number;
  readonly #heightPx: number;
  /** Null = lost (or not yet found). */
  #crop: Crop | null = null;
  #lastCentre: { readonly x: number; readonly y: number } | null = null;
  #lostFor = 0;

  /** @param finder null does without counting and searches by tiles alone. */
  constructor(model: PoseModel, finder: PeopleFinder | null, widthPx: number, heightPx: number) {
    this.#model = model;
    this.#finder = finder;
    this.#widthPx = widthPx;
    this.#heightPx = heightPx;
  }

  /** Follows on from a pose seen before. */
  followFrom(pose: SeenPose): void {
    this.#remember(pose);
  }

  /** Sees the actor in the next picture. @param count also count the people in it. */
  async read(picture: Picture, count: boolean): Promise<PictureReading> {
    const lost = this.#crop === null;
    const search = lost && this.#lostFor % searchEvery === 0;
    const people = count || search ? await this.#findPeople(picture) : null;
    const pose = lost ? await this.#search(picture, search ? (people ?? []) : null) : await this.#follow(picture);
    this.#remember(pose);
    return { pose, people: this.#finder ? people : null };
  }

  async #follow(picture: Picture): Promise<SeenRow> {
    const pose = await this.#see(picture, this.#crop ?? this.#whole());
    if (this.#isFollowable(pose)) return pose;
    // Lost in this very picture: one look at all of it, so that a fast actor costs no hole.
    const found = await this.#search(picture, await this.#findPeople(picture));
    return sureness(found) > sureness(pose) ? found : pose;
  }

  /** @param people null looks at the whole picture only. */
  async #search(picture: Picture, people: readonly Person[] | null): Promise<SeenRow> {
    const person = people ? this.#likeliest(people) : null;
    if (person) {
      const pose = await this.#see(picture, cropOfBox(person.box));
      if (this.#isFollowable(pose)) return pose;
    }
    let best = await this.#see(picture, this.#whole());
    if (people === null || this.#isFollowable(best)) return best;
    for (const tile of this.#tiles()) {
      const pose = await this.#see(picture, tile);
      if (sureness(pose) > sureness(best)) best = pose;
    }
    return best;
  }

  #remember(pose: SeenPose): void {
    const wanted = this.#isFollowable(pose) ? cropAround(pose) : null;
    if (!wanted) {
      this.#crop = null;
      this.#lostFor++;
      return;
    }
    // A crop found by searching is taken as it is; only a followed one is smoothed.
    this.#crop = this.#crop ? followCrop(this.#crop, wanted) : wanted;
    this.#lastCentre = { x: wanted.centreX, y: wanted.centreY };
    this.#lostFor = 0;
  }

  #see(picture: Picture, crop: Crop): Promise<SeenRow> {
    return see(picture, this.#model, crop);
  }

  async #findPeople(picture: Picture): Promise<Person[]> {
    const finder = this.#finder;
    if (!finder) return [];
    const scale = finder.inputSide / Math.max(this.#widthPx, this.#heightPx);
    const width = Math.max(1, Math.round(this.#widthPx * scale));
    const height = Math.max(1, Math.round(this.#heightPx * scale));
    const rgba = new Uint8ClampedArray(4 * width * height);
    await picture.sample({ x: 0, y: 0, width: this.#widthPx, height: this.#heightPx }, width, height, rgba);
    const found = await finder.find(rgba, width, height);
    const people = found
      .filter((person) => person.score >= personScore)
      .map(({ box, trunk, score }): Person => {
        const colour = trunk ? meanColour(rgba, width, height, trunk) : null;
        return { box: this.#toPx(box), score, colour };
      });
    return differentPeople(people);
  }

  /** The person nearest to where the actor was last seen; before that, the largest. */
  #likeliest(people: readonly Person[]): Person | null {
    const last = this.#lastCentre;
    const rank = ({ box, score }: Person) => {
      if (!last) return score * box.width * box.height;
      return -Math.hypot(box.x + box.width / 2 - last.x, box.y + box.height / 2 - last.y);
    };
    return people.reduce<Person | null>((a, b) => (a && rank(a) >= rank(b) ? a : b), null);
  }

  /** Three overlapping squares along the longer side: a small actor fills more of each than of the whole. */
  #tiles(): Crop[] {
    const side = Math.min(this.#widthPx, this.#heightPx);
    const wide = this.#widthPx >= this.#heightPx;
    const longest = Math.max(this.#widthPx, this.#heightPx);
    if (longest < 1.2 * side) return [];
    return [side / 2, longest / 2, longest - side / 2].map((along) => ({
      centreX: wide ? along : side / 2,
      centreY: wide ? side / 2 : along,
      side,
    }));
  }

  #whole = () => wholeCrop(this.#widthPx, this.#heightPx);
  #isFollowable = (pose: SeenPose) => isFollowable(pose, this.#widthPx, this.#heightPx);
  #toPx = (box: Region): Region => ({
    x: box.x * this.#widthPx,
    y: box.y * this.#heightPx,
    width: box.width * this.#widthPx,
    height: box.height * this.#heightPx,
  });
}

/** The surest people, each once: of two boxes that largely cover each other the surer is kept. */
export function differentPeople(people: readonly Person[]): Person[] {
  const kept: Person[] = [];
  for (const person of [...people].sort((a, b) => b.score - a.score))
    if (kept.every((k) => overlap(k.box, person.box) <= samePersonOverlap)) kept.push(person);
  return kept;
}

/** Intersection over union. */
function overlap(a: Region, b: Region): number {
  const across = Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x);
  const down = Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y);
  if (across <= 0 || down <= 0) return 0;
  const both = across * down;
  return both / (a.width * a.height + b.width * b.height - both);
}

/** Mean red, green and blue of the middle of a box that is told in 0..1 of the picture. */
function meanColour(rgba: Uint8ClampedArray, width: number, height: number, box: Region): Person['colour'] {
  const sum = [0, 0, 0] as [number, number, number];
  let count = 0;
  const from = (start: number, extent: number, length: number) =>
    Math.max(0, Math.floor((start + extent / 4) * length));
  const to = (start: number, extent: number, length: number) =>
    Math.min(length, Math.ceil((start + (3 * extent) / 4) * length));
  for (let y = from(box.y, box.height, height); y < to(box.y, box.height, height); y++)
    for (let x = from(box.x, box.width, width); x < to(box.x, box.width, width); x++) {
      for (let k = 0; k < 3; k++) sum[k]! += rgba[4 * (y * width + x) + k]!;
      count++;
    }
  return count === 0 ? null : [sum[0] / count, sum[1] / count, sum[2] / count];
}
