import { tick, untrack } from 'svelte';
import type { Failure } from '../base/failure.ts';
import type { Footage } from '../base/footage.ts';
import type { FrameGrid } from '../base/frameGrid.ts';
import { buildPlan, type Plan } from '../plan/plan.ts';
import { hitchesOf, replannedOf } from '../plan/puppetShot.ts';
import type { ReplannedMotion } from '../plan/replans.ts';
import type { Book, CutPart } from '../project/book.ts';
import { type BookFile, packBookFile } from '../project/bookFile.ts';
import { type CutSource, type CutSources, joinParts } from '../project/cut.ts';
import type { Edit } from '../project/edits.ts';
import type { MarksChange } from '../project/history.ts';
import type { Reading as ReadingOfTake } from '../project/reading.ts';
import type { ShootingEdit } from '../project/shooting.ts';
import type { Hitches } from '../puppet/hitches.ts';
import type { PuppetMotion } from '../puppet/puppetMotion.ts';
import type { Timing } from '../timing/timing.ts';
import type { Correction } from '../track/correction.ts';
import type { Tracks } from '../track/motion.ts';
import type { Prop } from '../track/prop.ts';
import type { Sightings } from '../track/sighting.ts';
import { Beside } from './beside.svelte.ts';
import { BodyTracks } from './bodyTracks.svelte.ts';
import { AnimatedTake } from './check/animatedTake.svelte.ts';
import { Check } from './check/check.svelte.ts';
import { folderKey, takeUpStills } from './check/checkActions.ts';
import { askAgain } from './check/markJoints.ts';
import { keepRunAtOnce } from './check/runAtOnce.ts';
import { WatchedFolder } from './check/watchedFolder.svelte.ts';
import { Decisions } from './decisions.svelte.ts';
import { Keeping } from './keeping.svelte.ts';
import { MarkedPoints } from './markedPoints.svelte.ts';
import { forgetKept, keepAtOnce, keptAtOnce, onSetBook, rememberOnSet } from './onset/keptAtOnce.ts';
import { picturesCameIn } from './onset/pictureSteps.ts';
import { OpenedTake } from './openedTake.svelte.ts';
import { Opening } from './opening.svelte.ts';
import { partAt, pictureAt } from './pictureAt.ts';
import { Playhead } from './playhead.svelte.ts';
import { Reading } from './reading.svelte.ts';
import type { OpenedBook } from './shelf.ts';
import { type Clock, ShotTiming } from './shotTiming.svelte.ts';
import { Picks } from './take/picks.svelte.ts';
import type { TakeOnScreen } from './takeOnScreen.ts';
import { TakeSound } from './takeSound.svelte.ts';
import { View } from './view.svelte.ts';

/** The screens, in the order of the work. */
export const screens = ['take', 'tracks', 'timing', 'arcs', 'puppet', 'sheet', 'onSet', 'check'] as const;
/** One of the screens. */
export type Screen = (typeof screens)[number];

/** Where the shot as animated is held against its plan. */
const compared: ReadonlySet<Screen> = new Set(['sheet', 'onSet', 'check']);

/** A message over the work: it stays until closed. */
export interface Notice {
  readonly kind: 'failure' | 'word';
  readonly sentence: string;
}

/**
 * The one owner of the shot on screen: the animator's book with its history, the take with what was read of it, and one
 * visible chain of everything computed from them.
 */
export class Session {
  #screen = $state<Screen>(onSetBook() ? 'onSet' : 'take');
  notice = $state.raw<Notice | null>(null);
  /** Spoken by the live region. */
  spoken = $state('');

  readonly #decisions = new Decisions();
  #bookId = $state<string>(crypto.randomUUID());

  readonly opened = new OpenedTake();
  readonly opening = new Opening(this);
  readonly keeping = new Keeping((failure) => this.fail(failure));
  readonly bookId = $derived(this.#bookId);
  readonly reading = new Reading();
  readonly sound = new TakeSound();
  readonly points = new MarkedPoints(() => ({ props: this.book.props, footage: this.opened.footage }));
  readonly picks = new Picks();
  readonly beside = new Beside();
  readonly view = new View();
  readonly playhead = new Playhead(() => ({ rate: this.book.rate, frameCount: this.grid?.frameCount ?? 1 }));

  // ── the chain, each link a single call into a pure room ──
  readonly book = $derived<Book>(this.#decisions.book);
  readonly #cut = $derived<readonly CutPart[]>(this.book.cut);
  /** A cut shot is joined anew out of its takes whenever its stretches change. */
  readonly #joined = $derived.by<ReadingOfTake | null>(() => {
    const cut = this.#cut;
    const { sources, footage } = this.opened;
    return sources && cut.length > 0 ? joinParts(footage?.name ?? 'cut together', cut, sources) : null;
  });
  readonly footage = $derived<Footage | null>(this.#joined?.footage ?? this.opened.footage);
  readonly take = $derived<TakeOnScreen | null>(this.opened.shown);
  readonly sightings = $derived<Sightings | null>(this.#joined?.sightings ?? this.opened.sightings);
  /** The takes that a cut shot is cut from, whole; null where they did not come along. */
  readonly sources = $derived<CutSources | null>(this.opened.sources);

  /** The shot is cut together from stretches of other takes; they are read each by itself, in books of their own. */
  readonly isCut = $derived(this.book.cut.length > 0);
  readonly body = new BodyTracks(() => ({
    book: this.book,
    sightings: this.sightings,
    dragged: this.view.dragged,
  }));
  /** The performer's joints, with the marked points beside them. */
  readonly tracks = $derived<Tracks | null>(this.points.beside(this.body.tracks));
  /** No joint of anybody is known, but marked points are: they alone tell the shot. */
  readonly pointsAlone = $derived(this.tracks !== null && this.tracks.joints.length === 0);
  /** The tracks with what is being dragged at this moment, before it is let go. */
  readonly tracksNow = $derived<Tracks | null>(this.body.dragged ?? this.tracks);

  /** Footage and joints are looked at in the take's own time, and so is a shot whose original timing is asked for. */
  readonly clock = $derived<Clock>(
    this.#screen === 'take' || this.#screen === 'tracks' || (this.view.showsOwnTiming && this.#screen !== 'onSet')
      ? 'take'
      : 'shot',
  );
  readonly #shot = new ShotTiming(() => ({
    book: this.book,
    footage: this.footage,
    tracks: this.tracks,
    clock: this.clock,
  }));
  /** Newer numbers than those on screen are being worked out. */
  readonly computing = $derived(this.body.busy || this.#shot.busy || this.#shot.waits);
  /** The part of the take that is the shot, take seconds; always a real span within the take. */
  readonly span = $derived(this.#shot.span);
  /** The frames on screen: the shot's, or the take's own (see `clock`). */
  readonly grid = $derived<FrameGrid | null>(this.#shot.grid);
  /** Take time at each frame on screen, whether or not anything was read; never falling. */
  readonly frameTimesSec = $derived<Float64Array>(this.#shot.frameTimesSec);
  /** What is computed about the frames on screen. */
  readonly timing = $derived<Timing | null>(this.#shot.shown);
  /** The shot as it is to be animated, whatever is on screen. */
  readonly shotTiming = $derived<Timing | null>(this.#shot.ofShot);
  /** The shot in the take's own time; the same object where nothing was done to time. */
  readonly takeTiming = $derived<Timing | null>(this.#shot.ofTake);
  readonly #replanned = $derived.by<ReplannedMotion | null>(() => {
    const { timing } = this;
    const { tracks } = this.#shot;
    return timing && tracks && !this.pointsAlone ? replannedOf(this.#decisions.decided, timing, tracks) : null;
  });
  /** The frames on screen as the puppet does them; null where there is nobody to follow. */
  readonly puppet = $derived<PuppetMotion | null>(this.#replanned?.puppet ?? null);
  /** What the puppet may not be able to do of them. */
  readonly hitches = $derived<Hitches | null>(this.#replanned ? hitchesOf(this.#replanned.asked) : null);
  /** Its book is the decided one: how far it is shot is asked of `book`. */
  readonly plan = $derived.by<Plan | null>(() => {
    const { footage, sightings, shotTiming: timing } = this;
    const { tracks } = this.#shot;
    const book = this.#decisions.decided;
    return footage && tracks && timing
      ? buildPlan({ book, footage, sightings, tracks, timing, heard: this.sound.heard, seenProps: this.points.seen })
      : null;
  });

  readonly animated = new AnimatedTake(() => this.book.animated?.mirrored ?? false);
  /** The book whose folder is watched, if it has one. */
  #watchedFor = '';
  /** The folder from which its pictures come while it is shot. */
  readonly watched = new WatchedFolder(
    (files) => takeUpStills(this, files),
    (cameIn) => picturesCameIn(this, cameIn),
    (lost) => void (lost.ok || this.fail(lost.failure)),
  );
  readonly check = new Check(
    () => ({
      plan: this.plan,
      choices: this.book.animated,
      animated: this.animated,
      taken: this.book.shooting.taken,
      finding: this.view.finding,
    }),
    (failure) => this.fail(failure),
  );

  constructor() {
    // What takes long is worked out behind everything else; the numbers on screen stay until it is there.
    $effect.root(() => {
      $effect(() => this.body.catchUp());
      $effect(() => this.#shot.catchUp());
      $effect(() => {
        // Elsewhere nobody looks at it.
        if (compared.has(this.#screen)) this.check.catchUp();
      });
      // Nobody's wrist is there to be looked at: the first point stands in until others are picked.
      $effect(() => {
        const points = this.pointsAlone ? this.book.props.map((p) => p.id) : [];
        untrack(() => {
          const { arcJoints } = this.view;
          const isLost = arcJoints.length > 0 && !arcJoints.some((part) => points.some((id) => id === part));
          if (points[0] && isLost) this.view.arcJoints = [points[0]];
        });
      });
      $effect(() => {
        const { footage } = this;
        const cut = this.#cut;
        if (footage && cut.length > 0) untrack(() => void this.opening.showCut(cut, footage));
      });
      $effect(() => {
        const id = this.book.animated?.bookId ?? '';
        const bookId = this.#bookId;
        untrack(() => void this.#showAnimated(id, bookId));
      });
    });
  }

  /** The shot that this book is held against, "" = none; and the folder from which its pictures come. */
  async #showAnimated(id: string, bookId: string): Promise<void> {
    const isAnother = id !== this.animated.id;
    if (!isAnother && bookId === this.#watchedFor) return;
    if (isAnother && bookId === this.#watchedFor) {
      // Joints of another shot, or of none, are not asked for; where another book is opened, they are when this one is again.
      if (this.animated.id) keepRunAtOnce(this.animated.id, null);
      this.view.markingRun = null;
      this.view.lostPoint = null;
    }
    this.#watchedFor = bookId;
    this.watched.end();
    if (id === '') this.animated.close();
    else if (isAnother) {
      const opened = await this.animated.open(id, this.keeping);
      if (!opened.ok) return this.fail(opened.failure);
    }
    // As long as it holds fewer than two stills the folder belongs to the plan itself.
    const folder = await this.keeping.folder(folderKey(bookId, id));
    if (folder && this.animated.id === id && this.#bookId === bookId)
      await this.watched.begin(folder, this.animated.take?.files ?? []);
  }

  get screen(): Screen {
    return this.#screen;
  }

  set screen(screen: Screen) {
    rememberOnSet(screen === 'onSet' ? this.#bookId : null);
    this.#keepMoment(() => {
      this.#screen = screen;
    });
  }

  /** Shows the take's own timing instead of the shot's, or the shot's again. */
  showOwnTiming(own: boolean): void {
    this.#keepMoment(() => {
      this.view.showsOwnTiming = own;
    });
  }

  /** Where frames are counted otherwise afterwards, the playhead stays at the same moment of the take. */
  #keepMoment(change: () => void): void {
    const { clock } = this;
    const sec = this.frameTimesSec[this.playhead.frame];
    change();
    if (this.clock === clock || sec === undefined) return;
    const frame = this.frameTimesSec.findIndex((t) => t >= sec - 1e-6);
    this.playhead.goTo(frame < 0 ? this.frameTimesSec.length - 1 : frame);
  }

  /** The frame whose picture is on screen while `frame` plays: the first of its exposure. */
  shownFrame(frame: number): number {
    const exposure = this.timing?.exposures.find((e) => frame >= e.firstFrame && frame < e.firstFrame + e.frames);
    return exposure?.firstFrame ?? frame;
  }

  /**
   * The take time of the picture that is on screen at a frame: what is placed on the picture is true of that moment. Without
   * the take's pictures, the frame's own time.
   */
  pictureSec(frame: number): number {
    const frameSec = this.frameTimesSec[frame] ?? 0;
    const { footage } = this;
    return footage && this.take ? (footage.timesSec[pictureAt(footage.timesSec, frameSec)] ?? frameSec) : frameSec;
  }

  /** The picture of the take that is on screen at a take time. */
  pictureAt(takeSec: number): number {
    return this.footage ? pictureAt(this.footage.timesSec, takeSec) : 0;
  }

  /**
   * The picture that shows a key reached at this take time. It is placed on the frame beside, which may lie beyond a cut: then
   * the frame's own picture is meant, not one of the take before.
   */
  pictureOfKey(takeSec: number): number {
    const { cut } = this.book;
    const frameSec = [this.timing, this.shotTiming].flatMap((timing) => {
      const key = cut.length > 0 ? timing?.keys.find((k) => k.takeSec === takeSec) : undefined;
      return timing && key ? [timing.takeTimeSec[key.frameIndex] ?? takeSec] : [];
    })[0];
    if (frameSec === undefined || partAt(cut, frameSec) === partAt(cut, takeSec)) return this.pictureAt(takeSec);
    return this.pictureAt(frameSec);
  }

  // ── edits ──
  readonly undoLabel = $derived(this.#decisions.undoLabel);
  readonly redoLabel = $derived(this.#decisions.redoLabel);

  /** Records a decision. Edits of one gesture share `gesture` and are undone together. */
  edit(edit: Edit, gesture: string | null = null): void {
    this.#shot.catchUpNow();
    this.#decisions.record(edit, gesture);
    this.#changed();
  }

  /**
   * Records a correction of many in a row (a joint being nudged). The tracks follow at once; keys and exposures, which take
   * longer, when the hand has rested for a moment.
   */
  correct(correction: Correction, gesture: string | null = null): void {
    this.#shot.wait();
    this.#decisions.record({ kind: 'correct', correction }, gesture);
    this.#changed();
  }

  /** Settles when all numbers on screen are of what was decided and seen last. */
  async computed(): Promise<void> {
    do {
      await tick();
      await this.body.settled();
      await tick();
      await this.#shot.settled();
    } while (this.body.busy || this.#shot.busy);
  }

  /** Notes what happened at the set. It is kept before anything else: no reload and no crash loses it. */
  shoot(edit: ShootingEdit): void {
    this.#decisions.note(edit);
    const { shooting } = this.book;
    const id = this.#bookId;
    keepAtOnce(id, shooting);
    this.keepBook();
    void this.keeping.settled().then(() => {
      if (this.keeping.kept) forgetKept(id, shooting.changes);
    });
  }

  undo(): void {
    const step = this.#decisions.undo();
    if (!step) return;
    if (step.marks) this.#putMarks(step.marks, 'before');
    else this.#bookChanged();
    this.say(`Undone: ${step.label}`);
  }

  redo(): void {
    const step = this.#decisions.redo();
    if (!step) return;
    if (step.marks) this.#putMarks(step.marks, 'after');
    else this.#bookChanged();
    this.say(`Done again: ${step.label}`);
  }

  #bookChanged(): void {
    this.#shot.catchUpNow();
    this.#changed();
  }

  /** Says something of a marked point of the shot: it is kept in the shot's own book, and undone in order with all else. */
  async mark(name: string, after: readonly Prop[], label: string): Promise<void> {
    const { id: bookId, props: before } = this.animated;
    this.#decisions.mark({ bookId, name, before, after }, label);
    if (after !== before) await this.#keepMarks(bookId, after);
  }

  #putMarks(marks: MarksChange, which: 'before' | 'after'): void {
    askAgain(this, marks, which);
    if (marks.after !== marks.before) void this.#keepMarks(marks.bookId, marks[which]);
  }

  async #keepMarks(bookId: string, props: readonly Prop[]): Promise<void> {
    const kept = await this.animated.setPoints(bookId, props, this.keeping);
    if (!kept.ok) this.fail(kept.failure);
  }

  #changed(): void {
    this.playhead.goTo(this.playhead.frame);
    this.keepBook();
    void this.followPoints();
  }

  /** Follows what marked points ask for and was not followed yet. */
  async followPoints(): Promise<void> {
    if (!this.take || this.isCut) return;
    const failure = await this.points.catchUp(this.take, () => this.keepReading());
    if (failure) this.fail(failure);
  }

  /** Shows a failure until it is closed. */
  fail(failure: Failure): void {
    if (failure.code === 'cancelled') return;
    this.notice = { kind: 'failure', sentence: failure.sentence };
  }

  /** Speaks a sentence to a screen reader. */
  say(sentence: string): void {
    this.spoken = sentence;
  }

  // ── the shot that is open ──

  /** Other stretches become the cut shot; a take that is new among them comes along. */
  setCut(cut: readonly CutPart[], source: CutSource | null = null, gesture: string | null = null): void {
    if (source) this.opened.addSource(source);
    this.edit({ kind: 'setCut', cut }, gesture);
    this.keepReading();
  }

  /** Another book is open now, and nothing of the one before is. Its take's pictures are not here yet. */
  lay(opened: OpenedBook): void {
    this.reading.cancel();
    this.playhead.pause();
    this.beside.close();
    this.body.forget();
    this.#shot.forget();
    this.check.forget();
    this.view.rulerEnds = null;
    this.view.lostPoint = null;
    this.view.markingRun = null;
    this.view.finding = null;
    this.view.dragged = null;
    this.#bookId = opened.id;
    const { shooting } = opened.book;
    const newest = keptAtOnce(opened.id);
    const isNewer = newest !== null && newest.changes > shooting.changes;
    this.#decisions.begin(isNewer ? { ...opened.book, shooting: newest } : opened.book);
    if (isNewer) this.keepBook();
    if (this.#screen === 'onSet') rememberOnSet(opened.id);
    this.opened.begin(opened.reading, opened.sources ?? null);
    this.sound.show(opened.reading?.sound ?? null);
    this.points.show(opened.reading?.followed);
    this.playhead.loop = null;
    this.playhead.frame = 0;
  }

  /** Reads the take's sound beside everything else, unless the book brought it along, and follows marked points. */
  hear(): void {
    if (this.take && this.footage && !this.isCut)
      void this.sound.open(this.take.files, this.footage, this.sound.track, () => this.keepReading());
    void this.followPoints();
  }

  // ── keeping ──

  /** The whole book as a file to save. */
  packed(): Uint8Array {
    return packBookFile({ book: this.book, reading: this.#read(), ...this.#along() });
  }

  /** What was read of the take, for keeping; null when no joint was. */
  #read(): BookFile['reading'] {
    const { footage, sightings } = this;
    const sound = this.sound.track;
    const followed = this.points.kept;
    return footage && sightings
      ? { footage, sightings, ...(sound ? { sound } : {}), ...(followed ? { followed } : {}) }
      : null;
  }

  /** The takes of a cut shot go along wherever it is kept. */
  #along(): Pick<BookFile, 'sources'> {
    return this.sources ? { sources: this.sources } : {};
  }

  /** Keeps the decisions on the shelf. */
  keepBook(): void {
    this.keeping.keepBook(this.#bookId, this.book);
  }

  /** Keeps what was read on the shelf. */
  keepReading(): void {
    const reading = this.#read();
    if (reading) this.keeping.keepReading(this.#bookId, { book: this.book, reading, ...this.#along() });
  }

  /** Settles when nothing is being opened, read or kept: for tests and for the pictures of the README. */
  async whenIdle(): Promise<void> {
    for (;;) {
      await this.keeping.settled();
      await this.computed();
      if (
        !this.opening.busy &&
        !this.reading.busy &&
        !this.sound.busy &&
        !this.points.busy &&
        !this.animated.busy &&
        !this.check.busy &&
        !this.computing
      )
        return;
      await new Promise((resolve) => requestAnimationFrame(resolve));
    }
  }
}
