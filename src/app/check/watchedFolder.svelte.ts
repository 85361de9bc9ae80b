import { assert } from '../../base/assert.ts';
import { failed, good, type Outcome } from '../../base/failure.ts';
import { stillsAmong } from '../../ingest/numberedStills.ts';
import { type CameIn, ComeIn } from './comeIn.ts';
import { areSameFiles, wholeFiles } from './folderLook.ts';

/** A folder of the machine, with what of the File System Access draft (wicg.github.io/file-system-access) TypeScript does not know. */
type Folder = FileSystemDirectoryHandle & {
  queryPermission?(what: { mode: 'read' }): Promise<PermissionState>;
  requestPermission?(what: { mode: 'read' }): Promise<PermissionState>;
};

type Picker = (options: { id: string; mode: 'read' }) => Promise<Folder>;

/** From one look into the folder to the next, milliseconds: an exposure takes longer than a few of them. */
const lookEveryMs = 1500;

/** Can this browser watch a folder at all? */
export function canWatchFolders(): boolean {
  return 'showDirectoryPicker' in globalThis;
}

/** Lets the animator choose a folder. Null when the choice was called off. */
export async function chooseFolder(): Promise<FileSystemDirectoryHandle | null> {
  try {
    return await (globalThis as unknown as { showDirectoryPicker: Picker }).showDirectoryPicker({
      id: 'shot',
      mode: 'read',
    });
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') return null;
    throw error;
  }
}

/** Hears of new and changed stills in a folder while a shot is taken. Nothing is ever written there. */
export class WatchedFolder {
  #folder = $state.raw<Folder | null>(null);
  #isAllowed = $state(false);
  #count = $state(0);
  #arrivedMs = $state(Number.NaN);
  #seen: readonly File[] | null = null;
  #told: readonly File[] | null = null;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #watching = 0;
  #isTaking = false;
  readonly #comeIn = new ComeIn();

  /** Null = none is watched. */
  readonly folder = $derived<FileSystemDirectoryHandle | null>(this.#folder);
  readonly name = $derived(this.#folder?.name ?? null);
  /** False after a reload, until the animator lets the browser look again. */
  readonly isAllowed = $derived(this.#isAllowed);
  /** How many whole stills it held at the last look. */
  readonly count = $derived(this.#count);
  /** When something was new last, milliseconds since 1970; NaN = not since this page was opened. */
  readonly arrivedMs = $derived(this.#arrivedMs);

  readonly #onFiles: (files: readonly File[]) => Promise<void>;
  readonly #onCameIn: (cameIn: CameIn) => Promise<void>;
  readonly #onLost: (outcome: Outcome<null>) => void;

  /**
   * @param onFiles hears all whole stills of the folder, in any order, whenever they have become others and those before are taken up.
   * @param onCameIn hears of stills as soon as they are whole, the very first one too; the next look waits for it.
   * @param onLost hears why the folder cannot be looked into any more.
   */
  constructor(
    onFiles: (files: readonly File[]) => Promise<void>,
    onCameIn: (cameIn: CameIn) => Promise<void>,
    onLost: (outcome: Outcome<null>) => void,
  ) {
    this.#onFiles = onFiles;
    this.#onCameIn = onCameIn;
    this.#onLost = onLost;
  }

  /**
   * Looks from now on, if the browser allows it without asking.
   * @param told the stills that were taken from it before.
   */
  async begin(folder: FileSystemDirectoryHandle, told: readonly File[]): Promise<void> {
    this.end();
    const watching = this.#watching;
    this.#folder = folder;
    this.#told = told;
    this.#comeIn.begin(told);
    const state = (await this.#folder.queryPermission?.({ mode: 'read' })) ?? 'granted';
    if (watching !== this.#watching) return;
    if (state === 'granted') await this.#allow();
  }

  /** Asks the browser to be let in again. To be called at a press. */
  async askAgain(): Promise<void> {
    const watching = this.#watching;
    const state = (await this.#folder?.requestPermission?.({ mode: 'read' })) ?? 'granted';
    if (watching === this.#watching && state === 'granted') await this.#allow();
  }

  /** Looks no more. */
  end(): void {
    this.#watching++;
    this.#isTaking = false;
    clearTimeout(this.#timer);
    this.#folder = null;
    this.#isAllowed = false;
    this.#count = 0;
    this.#arrivedMs = Number.NaN;
    this.#seen = null;
    this.#told = null;
  }

  async #allow(): Promise<void> {
    this.#isAllowed = true;
    await this.#look();
  }

  async #look(): Promise<void> {
    const watching = this.#watching;
    const listed = await this.#list();
    if (watching !== this.#watching) return;
    if (!listed.ok) {
      this.#isAllowed = false;
      return this.#onLost(listed);
    }
    const stills = stillsAmong(listed.value);
    const whole = wholeFiles(stills, this.#seen, Date.now());
    this.#seen = stills;
    this.#count = whole.length;
    const cameIn = this.#comeIn.look(stills, whole);
    if (cameIn) {
      this.#arrivedMs = Date.now();
      // Before they are taken up: a page that is closed meanwhile hears of them again.
      await this.#onCameIn(cameIn);
      if (watching !== this.#watching) return;
    }
    // Fewer than two are no take yet; a folder that was emptied takes nothing away.
    if (!this.#isTaking && whole.length >= 2 && !areSameFiles(whole, this.#told ?? []))
      void this.#takeUp(whole, watching);
    this.#timer = setTimeout(() => void this.#look(), lookEveryMs);
  }

  /** Looking for the puppet in a still takes longer than shooting the next one may. */
  async #takeUp(whole: readonly File[], watching: number): Promise<void> {
    this.#told = whole;
    this.#arrivedMs = Date.now();
    this.#isTaking = true;
    await this.#onFiles(whole);
    if (watching === this.#watching) this.#isTaking = false;
  }

  async #list(): Promise<Outcome<File[]>> {
    const folder = this.#folder;
    assert(folder, 'no folder is watched');
    try {
      const files: Promise<File | null>[] = [];
      for await (const entry of folder.values())
        if (entry.kind === 'file') files.push((entry as FileSystemFileHandle).getFile().catch(() => null));
      // One that was taken away between listing and looking is not there.
      return good((await Promise.all(files)).filter((file) => file !== null));
    } catch {
      return failed(
        'file-unreadable',
        `The folder “${folder.name}” cannot be looked into any more. The stills that came from it are kept; choose it again to go on.`,
      );
    }
  }
}
