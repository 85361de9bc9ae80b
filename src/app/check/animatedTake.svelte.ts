import { failed, good, type Outcome } from '../../base/failure.ts';
import type { Joint } from '../../base/joints.ts';
import type { PictureStep } from '../../compare/cameraEvents.ts';
import { markedJoints, shotMotion } from '../../compare/shotMotion.ts';
import type { ReadingDepth } from '../../detect/poseModel.ts';
import { type Book, newBook } from '../../project/book.ts';
import type { Reading as ReadingOfTake } from '../../project/reading.ts';
import { fitTracks } from '../../track/fitTracks.ts';
import type { Motion, Tracks } from '../../track/motion.ts';
import { seeProp } from '../../track/propTracks.ts';
import type { Keeping } from '../keeping.svelte.ts';
import { stillsFpsOf } from '../openedTake.svelte.ts';
import { Reading } from '../reading.svelte.ts';
import { leastPictures } from '../takeFailures.ts';
import { showFootage, showTake, sourceOf, type TakeOnScreen } from '../takeOnScreen.ts';
import { measureSteps } from './measureSteps.ts';

/** At what rate stills of a shot are counted as pictures: any will do, since each stands on the plan's own frame. */
const stillsFps = 24;

/**
 * The pictures of the shot as it was animated. They are a take of their own, in a book of their own on the shelf: joints are put right
 * and points are marked there as in any other. Here they are only shown and measured.
 */
export class AnimatedTake {
  readonly reading = new Reading();
  #id = $state('');
  #book = $state.raw<Book | null>(null);
  #read = $state.raw<ReadingOfTake | null>(null);
  #take = $state.raw<TakeOnScreen | null>(null);
  #steps = $state.raw<readonly PictureStep[] | null>(null);
  #measuring = $state(false);
  #stop = new AbortController();
  #asked = 0;

  /** The book that holds it; "" = none is open. */
  readonly id = $derived(this.#id);
  readonly name = $derived(this.#book?.shotName ?? '');
  readonly take = $derived<TakeOnScreen | null>(this.#take);
  readonly pictureCount = $derived(this.#take?.footage.timesSec.length ?? this.#read?.footage.timesSec.length ?? 0);
  /** Somebody or something was looked for in its pictures. */
  readonly isRead = $derived((this.#read?.sightings.readCount ?? 0) > 0);

  readonly #tracks = $derived.by<Tracks | null>(() => {
    const [book, read] = [this.#book, this.#read];
    if (!book || !read || read.sightings.readCount < leastPictures) return null;
    const tracks = fitTracks(read.sightings, book.corrections, { byHand: true });
    return tracks.joints.length > 0 ? tracks : null;
  });
  /** Where the puppet is, picture by picture; null where neither a body was recognised nor a joint marked. */
  readonly motion = $derived.by<Motion | null>(() => {
    const [book, read] = [this.#book, this.#read];
    const timesSec = read?.footage.timesSec;
    if (!book || !timesSec) return null;
    const points = book.props.map((prop) => seeProp(prop, read.followed?.get(prop.id) ?? [], timesSec));
    return shotMotion(this.#tracks, points, timesSec);
  });

  /** Joints that were marked as points: these lie where a person put them. */
  readonly marked = $derived<ReadonlySet<Joint>>(markedJoints((this.#book?.props ?? []).map((prop) => ({ prop }))));

  /** How its pictures differ from each other as wholes; null until that is measured. Shape [picture]. */
  readonly steps = $derived<readonly PictureStep[] | null>(this.#steps);
  readonly busy = $derived(this.reading.busy || this.#measuring);

  /** Measures what camera and light did, beside everything else. */
  async #measure(): Promise<void> {
    const take = this.#take;
    this.#stop.abort();
    this.#stop = new AbortController();
    if (!take) return;
    this.#measuring = true;
    const steps = await measureSteps(take, this.motion, this.#stop.signal);
    if (steps && take === this.#take) this.#steps = steps;
    if (take === this.#take) this.#measuring = false;
  }

  /** Opens the book of a shot from the shelf. Fails where its pictures are not kept here. */
  async open(id: string, keeping: Keeping): Promise<Outcome<null>> {
    const asked = ++this.#asked;
    const opened = await keeping.take(id);
    if (!opened) return good(null);
    if (!opened.ok) return opened;
    const { book, reading, files } = opened.value;
    if (files.length === 0)
      return failed(
        'file-unreadable',
        `The pictures of “${book.shotName}” are not kept in this browser. Choose them again.`,
      );
    const shown = reading
      ? good(showFootage(files, stillsFpsOf(reading.footage), reading.footage))
      : await showTake(files, stillsFps);
    if (!shown.ok) return shown;
    if (asked !== this.#asked) {
      shown.value.close();
      return good(null);
    }
    this.close();
    this.#id = id;
    this.#book = book;
    this.#read = reading;
    this.#take = shown.value;
    void this.#measure();
    return good(null);
  }

  /** Puts pictures on the shelf as a book of their own and opens it. @returns the new book's id. */
  async add(files: readonly File[], shotName: string, keeping: Keeping): Promise<Outcome<string>> {
    const shown = await showTake(files, stillsFps);
    if (!shown.ok) return shown;
    shown.value.close();
    const id = crypto.randomUUID();
    keeping.keepBook(id, newBook(shotName));
    keeping.keepTake(id, files);
    await keeping.settled();
    const opened = await this.open(id, keeping);
    return opened.ok ? good(id) : opened;
  }

  /** Looks for the puppet in the pictures. What is seen is kept with them. */
  async read(depth: ReadingDepth, keeping: Keeping): Promise<Outcome<null>> {
    const [id, book, take] = [this.#id, this.#book, this.#take];
    if (!book || !take || this.reading.busy) return good(null);
    const outcome = await this.reading.run(
      sourceOf(take.files),
      depth,
      take.stillsFps,
      [],
      null,
      (sightings, footage) => {
        if (this.#id === id) this.#read = { ...this.#read, footage: footage ?? take.footage, sightings };
      },
    );
    if (this.#id !== id) return good(null);
    if (!outcome.ok) return outcome;
    this.#read = { ...this.#read, footage: outcome.value.footage, sightings: outcome.value.sightings };
    keeping.keepReading(id, { book, reading: this.#read });
    // Now it is known which part of the pictures is the puppet.
    void this.#measure();
    return good(null);
  }

  /** Nothing is open any more. */
  close(): void {
    this.#asked++;
    this.reading.cancel();
    this.#stop.abort();
    this.#measuring = false;
    this.#steps = null;
    this.#take?.close();
    this.#take = null;
    this.#book = null;
    this.#read = null;
    this.#id = '';
  }
}
