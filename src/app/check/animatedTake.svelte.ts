import { type Failure, failed, good, type Outcome } from '../../base/failure.ts';
import type { FootageNote } from '../../base/footage.ts';
import type { Joint } from '../../base/joints.ts';
import type { PictureStep } from '../../compare/cameraEvents.ts';
import { markedJoints, shotMotion } from '../../compare/shotMotion.ts';
import type { ReadingDepth } from '../../detect/poseModel.ts';
import { orderStills, stillsAmong, unchangedStills } from '../../ingest/numberedStills.ts';
import { type Book, newBook } from '../../project/book.ts';
import { type Reading as ReadingOfTake, readingOfChanged, unread } from '../../project/reading.ts';
import { fitTracks } from '../../track/fitTracks.ts';
import type { Motion, Tracks } from '../../track/motion.ts';
import type { Prop } from '../../track/prop.ts';
import type { SeenProp } from '../../track/propTracks.ts';
import { isSameFile } from '../fileKinds.ts';
import type { Keeping } from '../keeping.svelte.ts';
import { MarkedPoints, type PointQuestion } from '../markedPoints.svelte.ts';
import { stillsFpsOf } from '../openedTake.svelte.ts';
import { Reading } from '../reading.svelte.ts';
import { leastPictures } from '../takeFailures.ts';
import { showFootage, showTake, sourceOf, type TakeOnScreen } from '../takeOnScreen.ts';
import { forgetMarks, keepMarksAtOnce, marksKeptAtOnce } from './marksAtOnce.ts';
import { measureSteps } from './measureSteps.ts';

/** At what rate stills of a shot are counted as pictures: any will do, since each stands on the plan's own frame. */
const stillsFps = 24;

/**
 * The pictures of the shot as it was animated. They are a take of their own, in a book of their own on the shelf: joints are put right
 * and points are marked there as in any other. Here they are only shown and measured.
 */
export class AnimatedTake {
  readonly reading = new Reading();
  readonly #points = new MarkedPoints(() => ({
    props: this.props,
    footage: this.#read?.footage ?? null,
  }));
  #id = $state('');
  #book = $state.raw<Book | null>(null);
  #read = $state.raw<ReadingOfTake | null>(null);
  #take = $state.raw<TakeOnScreen | null>(null);
  #steps = $state.raw<readonly PictureStep[] | null>(null);
  #measuring = $state(false);
  #changing = $state(0);
  #grewFrom = $state<number | null>(null);
  #stop = new AbortController();
  #asked = 0;
  /** One after another: pictures may arrive while others are looked at. */
  #turn: Promise<unknown> = Promise.resolve();
  readonly #isMirrored: () => boolean;

  /** @param isMirrored does the camera see the puppet mirrored? Read anew whenever it changes. */
  constructor(isMirrored: () => boolean) {
    this.#isMirrored = isMirrored;
  }

  /** The book that holds it; "" = none is open. */
  readonly id = $derived(this.#id);
  readonly name = $derived(this.#book?.shotName ?? '');
  readonly take = $derived<TakeOnScreen | null>(this.#take);
  readonly pictureCount = $derived(this.#take?.footage.timesSec.length ?? this.#read?.footage.timesSec.length ?? 0);
  /** How many pictures there were when more came in first; null = none did since it was opened. */
  readonly grewFrom = $derived(this.#grewFrom);
  /** It is of stills, to which more can be added. */
  readonly takesMore = $derived((this.#take?.files.length ?? 0) > 1);
  /** Somebody or something was looked for in its pictures. */
  readonly isRead = $derived((this.#read?.sightings.readCount ?? 0) > 0);

  // Each by itself: a mark more fits nothing anew.
  readonly #sightings = $derived(this.#read?.sightings);
  readonly #corrections = $derived(this.#book?.corrections);
  readonly #timesSec = $derived(this.#read?.footage.timesSec);
  /** Its own book says already that the pictures are mirrored. */
  readonly #isMirroredItself = $derived(this.#book?.mirrored ?? false);
  readonly #tracks = $derived.by<Tracks | null>(() => {
    const [sightings, corrections] = [this.#sightings, this.#corrections];
    if (!corrections || !sightings || sightings.readCount < leastPictures) return null;
    const tracks = fitTracks(sightings, corrections, { byHand: true, mirrored: this.#isMirroredItself });
    return tracks.joints.length > 0 ? tracks : null;
  });
  /** Where the puppet is, picture by picture; null where neither a body was recognised nor a joint marked. */
  readonly motion = $derived.by<Motion | null>(() => {
    const [timesSec, seen] = [this.#timesSec, this.#points.seen];
    const isExchanged = this.#isMirrored() && !this.#isMirroredItself;
    return timesSec ? shotMotion(this.#tracks, seen, timesSec, isExchanged) : null;
  });

  /** Its marked points, whether or not they are joints. */
  readonly props = $derived<readonly Prop[]>(this.#book?.props ?? []);
  /** What its pictures told of them. */
  readonly seenPoints = $derived<readonly SeenProp[]>(this.#points.seen);
  /** How far marked points have been followed, 0..1; null = none is being followed. */
  readonly following = $derived<number | null>(this.#points.progress);
  /** Joints that were marked as points: these lie where a person put them. */
  readonly marked = $derived<ReadonlySet<Joint>>(markedJoints(this.props.map((prop) => ({ prop }))));

  /** Where marked points were lost in its pictures: in order of points, then of time. */
  readonly questions = $derived<readonly PointQuestion[]>(this.#points.questions);

  /** How its pictures differ from each other as wholes; null until that is measured. Shape [picture]. */
  readonly steps = $derived<readonly PictureStep[] | null>(this.#steps);
  readonly busy = $derived(this.reading.busy || this.#measuring || this.#points.busy || this.#changing > 0);
  readonly #order = $derived(orderStills(stillsAmong(this.#take?.files ?? [])));
  /** The number in each still's name, rising; as many as there are pictures, or more where the last ones are damaged. Empty for a video. */
  readonly numbers = $derived<readonly number[]>(this.takesMore ? this.#order.numbers : []);
  /** What is odd about its pictures, damage above all; numbers that are left out are told where it is said what they mean. */
  readonly notes = $derived.by<readonly FootageNote[]>(() => {
    const notes = (this.#read?.footage ?? this.#take?.footage)?.notes ?? [];
    if (!this.takesMore) return notes;
    const numbering = this.#order.notes.filter((note) => note.code !== 'stills-gap');
    return [...numbering, ...notes.filter(({ code }) => code !== 'stills-gap' && code !== 'stills-numbering')];
  });

  /** Measures what camera and light did, beside everything else. @param known what the first pictures are known to differ by. */
  async #measure(known: readonly PictureStep[] = []): Promise<void> {
    const take = this.#take;
    this.#stop.abort();
    const stop = new AbortController();
    this.#stop = stop;
    if (!take) return;
    this.#measuring = true;
    const steps = await measureSteps(take, this.motion, known, stop.signal);
    if (stop.signal.aborted) return;
    if (steps) this.#steps = steps;
    this.#measuring = false;
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
    const marks = marksKeptAtOnce(id);
    this.#book = marks ? { ...book, props: marks } : book;
    // Where joints are marked, nobody need be looked for.
    this.#read = reading ?? unread(shown.value.footage);
    this.#take = shown.value;
    this.#points.show(reading?.followed);
    void this.#measure();
    void this.#inTurn(() => this.#followPoints(keeping));
    return good(null);
  }

  /**
   * Takes up the pictures as they are now: more of them, others in their place, or fewer. What was seen in those that stayed is kept, the
   * rest is looked at if the puppet was looked for before. Fails as opening a take does, with all as it was.
   * @param onShown hears when they are there, before any of them is looked at.
   */
  change(files: readonly File[], keeping: Keeping, onShown: () => void = () => {}): Promise<Outcome<null>> {
    this.#changing++;
    return this.#inTurn(() => this.#change(files, keeping, onShown)).finally(() => this.#changing--);
  }

  /** More pictures for the shot; of two with the same name the new one counts. @param onShown as in `change`. */
  addPictures(files: readonly File[], keeping: Keeping, onShown: () => void): Promise<Outcome<null>> {
    const others = (this.#take?.files ?? []).filter((was) => !files.some((file) => file.name === was.name));
    return this.change([...others, ...files], keeping, onShown);
  }

  async #change(files: readonly File[], keeping: Keeping, onShown: () => void): Promise<Outcome<null>> {
    const [id, book, take, read] = [this.#id, this.#book, this.#take, this.#read];
    if (!book || !take) return good(null);
    const unchanged = unchangedStills(take.files, files, isSameFile);
    const shown = await showTake(files, take.stillsFps);
    if (!shown.ok) return shown;
    if (this.#id !== id) {
      shown.value.close();
      return good(null);
    }
    this.#stop.abort();
    take.close();
    if (shown.value.footage.timesSec.length > this.pictureCount) this.#grewFrom ??= this.pictureCount;
    this.#take = shown.value;
    onShown();
    const steps = this.#steps?.slice(0, unchanged) ?? [];
    this.#steps = null;
    keeping.keepTake(id, files);
    if (read) {
      this.#read = readingOfChanged(read, unchanged, shown.value.footage);
      this.#points.show(this.#read.followed);
      this.#keep(keeping);
    }
    const looked = this.isRead ? await this.#look(this.#read, 'fine', keeping) : good(null);
    const failure = await this.#followPoints(keeping);
    void this.#measure(steps);
    return looked.ok && failure ? { ok: false, failure } : looked;
  }

  /** @returns why the pictures could not be followed through, or null. (Where a point was lost, `questions` has it.) */
  async #followPoints(keeping: Keeping): Promise<Failure | null> {
    const [id, book, take] = [this.#id, this.#book, this.#take];
    if (!book || !take || !this.#read) return null;
    return this.#points.catchUp(take, () => {
      const { kept } = this.#points;
      if (this.#id !== id || !this.#read || !kept) return;
      this.#read = { ...this.#read, followed: kept };
      this.#keep(keeping);
    });
  }

  /** Keeps what was read on the shelf. What was followed without that is followed again when the shot is opened. */
  #keep(keeping: Keeping): void {
    const [book, read] = [this.#book, this.#read];
    if (book && read && this.isRead) keeping.keepReading(this.#id, { book, reading: read });
  }

  /**
   * The marked points as they are now: kept in the shot's own book, and followed. Those that are set while others are followed wait
   * together, and are followed in one walk over the pictures. Where another book is open the points are taken up when this one is.
   * @returns as `change`.
   */
  async setPoints(bookId: string, props: readonly Prop[], keeping: Keeping): Promise<Outcome<null>> {
    if (bookId !== this.#id) {
      keepMarksAtOnce(bookId, props);
      return good(null);
    }
    const book = this.#book;
    if (!book) return good(null);
    const id = this.#id;
    this.#book = { ...book, props };
    keepMarksAtOnce(id, props);
    keeping.keepBook(id, this.#book, true);
    void keeping.settled().then(() => {
      if (keeping.kept) forgetMarks(id, props);
    });
    const failure = await this.#inTurn(() => this.#followPoints(keeping));
    return failure ? { ok: false, failure } : good(null);
  }

  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const turn = this.#turn.then(work);
    this.#turn = turn.catch(() => {});
    return turn;
  }

  /** Puts pictures on the shelf as a book of their own and opens it. @param shotName of the plan. @returns the new book's id. */
  async add(files: readonly File[], shotName: string, keeping: Keeping): Promise<Outcome<string>> {
    const shown = await showTake(files, stillsFps);
    if (!shown.ok) return shown;
    shown.value.close();
    const id = crypto.randomUUID();
    keeping.keepBook(id, newBook(`${shotName || 'shot'}, animated`));
    keeping.keepTake(id, files);
    await keeping.settled();
    const opened = await this.open(id, keeping);
    return opened.ok ? good(id) : opened;
  }

  /** Looks for the puppet in the pictures, in all of them anew. What is seen is kept with them. */
  async read(depth: ReadingDepth, keeping: Keeping): Promise<Outcome<null>> {
    if (this.reading.busy) return good(null);
    const outcome = await this.#inTurn(() => this.#look(null, depth, keeping));
    // Now it is known which part of the pictures is the puppet.
    if (outcome.ok) void this.#measure();
    return outcome;
  }

  /** @param resume what was seen in the first pictures already; null = nothing. */
  async #look(resume: ReadingOfTake | null, depth: ReadingDepth, keeping: Keeping): Promise<Outcome<null>> {
    const [id, book, take] = [this.#id, this.#book, this.#take];
    if (!book || !take) return good(null);
    const outcome = await this.reading.run(
      sourceOf(take.files),
      depth,
      take.stillsFps,
      [],
      resume,
      (sightings, footage) => {
        if (this.#id === id) this.#read = { ...this.#read, footage: footage ?? take.footage, sightings };
      },
    );
    if (this.#id !== id) return good(null);
    if (!outcome.ok) return outcome;
    const { footage, sightings } = outcome.value;
    this.#read = { ...this.#read, footage, sightings };
    if (footage.timesSec.length !== take.footage.timesSec.length) {
      // Pictures that could not be decoded are no longer counted.
      take.close();
      this.#take = showFootage(take.files, take.stillsFps, footage);
    }
    this.#keep(keeping);
    return good(null);
  }

  /** Nothing is open any more. */
  close(): void {
    this.#asked++;
    this.reading.cancel();
    this.#stop.abort();
    this.#points.stop();
    this.#measuring = false;
    this.#grewFrom = null;
    this.#steps = null;
    this.#take?.close();
    this.#take = null;
    this.#book = null;
    this.#read = null;
    this.#id = '';
  }
}
