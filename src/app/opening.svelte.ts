import type { Footage } from '../base/footage.ts';
import { type CutPart, newBook } from '../project/book.ts';
import { type BookFile, unpackBookFile } from '../project/bookFile.ts';
import { readDemoFile } from './demo.ts';
import { onSetBook } from './onset/keptAtOnce.ts';
import { stillsFpsOf } from './openedTake.svelte.ts';
import type { Session } from './session.svelte.ts';
import type { OpenedBook } from './shelf.ts';
import { showTake } from './takeOnScreen.ts';

/** How takes and books come to be the ones that are open. What fails to open leaves open what was. */
export class Opening {
  /** Name of the file that is being opened, or null. */
  name = $state<string | null>(null);
  /** The demo take is open. */
  isDemo = $state(false);
  /** How many times pictures of a cut shot are being looked for. */
  #showing = 0;
  /** The shelf is being looked at for what to begin with. */
  #isBeginning = $state(false);
  readonly #session: Session;

  constructor(session: Session) {
    this.#session = session;
  }

  /** Something is on its way to the screen. */
  get busy(): boolean {
    return this.#isBeginning || this.name !== null || this.#showing > 0;
  }

  /** Begins with the newest book on the shelf, or with the demo take. */
  async begin(): Promise<void> {
    this.#isBeginning = true;
    try {
      await this.#session.keeping.open();
      const newest = this.#session.keeping.shelved[0];
      // Whoever was at the set comes back there, with that book.
      if (onSetBook() !== newest?.id) this.#session.screen = 'take';
      if (!newest || !(await this.shelved(newest.id))) await this.demo();
    } finally {
      this.#isBeginning = false;
    }
  }

  /** Opens the demo take, ready to be read. */
  async demo(): Promise<void> {
    this.name = 'the demo take';
    try {
      const file = await readDemoFile();
      if (await this.files([file], { shotName: 'Keeper hears something' })) this.isDemo = true;
    } catch {
      this.name = null;
      this.#session.notice = {
        kind: 'failure',
        sentence: 'The demo take could not be loaded. Choose a video of your own.',
      };
    }
  }

  /**
   * Opens a take (one video, or stills) as a new book. When it fails, what was open stays open.
   * @returns whether the take is open now.
   */
  async files(files: readonly File[], options: { shotName?: string; stillsFps?: number } = {}): Promise<boolean> {
    const first = files[0];
    if (!first) return false;
    this.#session.notice = null;
    this.name = first.name;
    const opened = await showTake(files, options.stillsFps ?? 24);
    this.name = null;
    if (!opened.ok) {
      this.#session.fail(opened.failure);
      return false;
    }
    this.#lay({
      id: crypto.randomUUID(),
      book: newBook(options.shotName ?? nameWithoutEnding(first.name)),
      reading: null,
      files: [],
    });
    this.#session.opened.show(opened.value);
    this.#session.hear();
    this.#session.screen = 'take';
    this.#session.keepBook();
    this.#session.keeping.keepTake(this.#session.bookId, files);
    this.#session.say(`${first.name} is open`);
    return true;
  }

  /** Opens a `.nudgebook` file. When it fails, what was open stays open. */
  async bookFile(file: File): Promise<boolean> {
    const read = unpackBookFile(new Uint8Array(await file.arrayBuffer()));
    if (!read.ok) {
      this.#session.fail(read.failure);
      return false;
    }
    this.#openNew(read.value);
    return true;
  }

  /** Opens a shot that was cut together, as a new book. */
  cut(cut: BookFile): void {
    this.#openNew(cut);
    this.#session.screen = 'take';
    this.#session.say(`Cut together: ${this.#session.grid?.frameCount ?? 0} frames`);
  }

  #openNew(file: BookFile): void {
    this.#lay({ id: crypto.randomUUID(), ...file, files: [] });
    this.#session.keepBook();
    this.#session.keepReading();
  }

  /** Shows the pictures of a cut shot, if the takes that it was cut from are still here. */
  async showCut(cut: readonly CutPart[], footage: Footage): Promise<void> {
    this.#showing++;
    const files = await Promise.all(cut.map((part) => this.#session.keeping.files(part.takeId)));
    this.#showing--;
    // Meanwhile another shot may be open, or its stretches be others.
    if (this.#session.book.cut === cut && files.every((f) => f.length > 0))
      this.#session.opened.showCut(cut, files, footage);
  }

  /** Opens a book from the shelf with its take. */
  async shelved(id: string): Promise<boolean> {
    const opened = await this.#session.keeping.take(id);
    if (!opened) return false;
    if (!opened.ok) {
      this.#session.fail(opened.failure);
      return false;
    }
    this.#lay(opened.value);
    if (opened.value.files.length > 0) {
      this.name = opened.value.files[0]?.name ?? null;
      const take = await showTake(opened.value.files, stillsFpsOf(opened.value.reading?.footage ?? null));
      this.name = null;
      if (take.ok) {
        this.#session.opened.showAgain(take.value);
        this.#session.hear();
      }
    }
    return this.#session.footage !== null;
  }

  /** Says at how many pictures a second stills were shot. */
  async setStillsFps(fps: number): Promise<void> {
    if (this.#session.isCut || this.#session.reading.busy) return;
    const set = await this.#session.opened.setStillsFps(fps);
    if (!set.ok) return this.#session.fail(set.failure);
    this.#session.playhead.goTo(this.#session.playhead.frame);
    this.#session.keepReading();
  }

  /** Finds the pictures again for a book that was opened without its take. */
  async attach(files: readonly File[]): Promise<void> {
    const attached = await this.#session.opened.attach(files);
    if (!attached.ok) return this.#session.fail(attached.failure);
    this.#session.hear();
    this.#session.keeping.keepTake(this.#session.bookId, files);
    await this.#session.keeping.settled();
  }

  #lay(opened: OpenedBook): void {
    this.#session.lay(opened);
    this.isDemo = false;
  }
}

function nameWithoutEnding(name: string): string {
  return name.replace(/\.[^.]+$/, '') || name;
}
