import { cocoJoints } from '../base/joints.ts';
import type { Picture } from '../ingest/picture.ts';
import type { Region } from '../ingest/pixels.ts';
import {
  type Crop,
  cropAround,
  cropOfBox,
  followCrop,
  isFollowable,
  regionOf,
  type SeenPose,
  wholeCrop,
} from './crop.ts';
import type { FoundPerson, PeopleFinder, PoseModel } from './poseModel.ts';

/** People found with less than this are neither counted nor followed. */
const personScore = 0.25;
/** While the actor is lost, the dear search (people, then tiles) runs on every n-th picture only. */
const searchEvery = 5;
/** Two boxes that overlap by more than this part of their union are one person seen twice. */
const samePersonOverlap = 0.45;

/** What one picture gave. */
export interface PictureReading {
  readonly pose: SeenPose;
  /** How many people the picture holds; null when they were not counted in it. */
  readonly people: number | null;
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
  readonly #square: Uint8ClampedArray;
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
    this.#square = new Uint8ClampedArray(4 * model.inputSide * model.inputSide);
  }

  /** Sees the actor in the next picture. @param count also count the people in it. */
  async read(picture: Picture, count: boolean): Promise<PictureReading> {
    const lost = this.#crop === null;
    const search = lost && this.#lostFor % searchEvery === 0;
    const people = count || search ? await this.#findPeople(picture) : null;
    const pose = lost ? await this.#search(picture, search ? (people ?? []) : null) : await this.#follow(picture);
    this.#remember(pose);
    return { pose, people: this.#finder ? (people?.length ?? null) : null };
  }

  async #follow(picture: Picture): Promise<SeenPose> {
    const pose = await this.#see(picture, this.#crop ?? this.#whole());
    if (this.#isFollowable(pose)) return pose;
    // Lost in this very picture: one look at all of it, so that a fast actor costs no hole.
    const found = await this.#search(picture, await this.#findPeople(picture));
    return certainty(found) > certainty(pose) ? found : pose;
  }

  /** @param people null looks at the whole picture only. */
  async #search(picture: Picture, people: readonly FoundPerson[] | null): Promise<SeenPose> {
    const person = people ? this.#likeliest(people) : null;
    if (person) {
      const pose = await this.#see(picture, cropOfBox(this.#toPx(person.box)));
      if (this.#isFollowable(pose)) return pose;
    }
    let best = await this.#see(picture, this.#whole());
    if (people === null || this.#isFollowable(best)) return best;
    for (const tile of this.#tiles()) {
      const pose = await this.#see(picture, tile);
      if (certainty(pose) > certainty(best)) best = pose;
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

  async #see(picture: Picture, crop: Crop): Promise<SeenPose> {
    const side = this.#model.inputSide;
    const region = regionOf(crop);
    await picture.sample(region, side, side, this.#square);
    const raw = await this.#model.estimate(this.#square);
    const n = cocoJoints.length;
    const pose = { xPx: new Float32Array(n), yPx: new Float32Array(n), confidence: new Float32Array(n) };
    for (let j = 0; j < n; j++) {
      pose.xPx[j] = region.x + raw[3 * j]! * region.width;
      pose.yPx[j] = region.y + raw[3 * j + 1]! * region.height;
      pose.confidence[j] = Math.min(1, Math.max(0, raw[3 * j + 2]!));
    }
    return pose;
  }

  async #findPeople(picture: Picture): Promise<FoundPerson[]> {
    const finder = this.#finder;
    if (!finder) return [];
    const scale = finder.inputSide / Math.max(this.#widthPx, this.#heightPx);
    const width = Math.max(1, Math.round(this.#widthPx * scale));
    const height = Math.max(1, Math.round(this.#heightPx * scale));
    const rgba = new Uint8ClampedArray(4 * width * height);
    await picture.sample({ x: 0, y: 0, width: this.#widthPx, height: this.#heightPx }, width, height, rgba);
    return differentPeople((await finder.find(rgba, width, height)).filter((p) => p.score >= personScore));
  }

  /** The person nearest to where the actor was last seen; before that, the largest. */
  #likeliest(people: readonly FoundPerson[]): FoundPerson | null {
    const last = this.#lastCentre;
    const rank = (person: FoundPerson) => {
      const box = this.#toPx(person.box);
      if (!last) return person.score * box.width * box.height;
      return -Math.hypot(box.x + box.width / 2 - last.x, box.y + box.height / 2 - last.y);
    };
    return people.reduce<FoundPerson | null>((a, b) => (a && rank(a) >= rank(b) ? a : b), null);
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
export function differentPeople(people: readonly FoundPerson[]): FoundPerson[] {
  const kept: FoundPerson[] = [];
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

function certainty(pose: SeenPose): number {
  return pose.confidence.reduce((sum, c) => sum + c, 0) / pose.confidence.length;
}
