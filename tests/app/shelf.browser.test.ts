import { openDB } from 'idb';
import { afterEach, describe, expect, it } from 'vitest';
import { Shelf } from '../../src/app/shelf.ts';
import { newBook } from '../../src/project/book.ts';

const still = (name: string, words: string, lastModified = 1) => new File([words], name, { lastModified });
const open = async () => (await Shelf.open())!;
const entries = async (id: string) => {
  const db = await openDB('nudgebook');
  const all = await db.getAll('takeFiles', IDBKeyRange.bound([id, 0], [id, Number.POSITIVE_INFINITY]));
  db.close();
  return all as { place: number; file: File }[];
};

afterEach(async () => (await open()).discard('a'));

describe('Shelf', () => {
  it('keeps a take’s stills in their order; fewer, more and others take their places', async () => {
    const shelf = await open();
    const words = async () => Promise.all((await shelf.files('a')).map((file) => file.text()));
    await shelf.keepTake('a', [still('l_1.jpg', 'one'), still('l_2.jpg', 'two'), still('l_3.jpg', 'three')]);
    await shelf.keepTake('b', [still('other.mp4', 'film')]);
    expect(await words()).toEqual(['one', 'two', 'three']);
    await shelf.keepTake('a', [still('l_1.jpg', 'one'), still('l_2.jpg', 'anew', 2)]);
    expect(await words()).toEqual(['one', 'anew']);
    await shelf.keepTake('a', [still('l_1.jpg', 'one'), still('l_2.jpg', 'anew', 2), still('l_3.jpg', 'again')]);
    expect(await words()).toEqual(['one', 'anew', 'again']);
    expect((await shelf.files('b')).map((file) => file.name)).toEqual(['other.mp4']);
    await shelf.discard('b');
    expect(await shelf.files('b')).toEqual([]);
  });

  it('lists a book that is worked on first, and leaves one where it is that is kept beside it', async () => {
    const shelf = await open();
    const order = async () => (await shelf.list()).map(({ id, shotName }) => `${id} ${shotName}`);
    await shelf.keepBook('b', newBook('lamp, animated'), true);
    await expect.poll(() => Date.now()).toBeGreaterThan((await shelf.list())[0]!.savedAt);
    await shelf.keepBook('a', newBook('lamp'));
    expect(await order()).toEqual(['a lamp', 'b lamp, animated']);
    await expect.poll(() => Date.now()).toBeGreaterThan((await shelf.list())[0]!.savedAt);
    await shelf.keepBook('b', newBook('lamp, marked'), true);
    expect(await order()).toEqual(['a lamp', 'b lamp, marked']);
    await shelf.keepBook('b', newBook('lamp, opened'));
    expect(await order()).toEqual(['b lamp, opened', 'a lamp']);
    await shelf.discard('b');
  });

  it('does not write again what is there', async () => {
    const shelf = await open();
    await shelf.keepTake('a', [still('l_1.jpg', 'one'), still('l_2.jpg', 'two')]);
    // The same still as far as a file tells; were it written, its words would be others.
    await shelf.keepTake('a', [still('l_1.jpg', 'ONE'), still('l_2.jpg', 'two'), still('l_3.jpg', 'three')]);
    expect(await Promise.all((await entries('a')).map(({ file }) => file.text()))).toEqual(['one', 'two', 'three']);
  });

  it('opens takes that were kept all in one entry, and moves them when they are kept again', async () => {
    const shelf = await open();
    await shelf.keepBook('a', newBook('lamp'));
    const db = await openDB('nudgebook');
    await db.put('takes', { id: 'a', files: [still('l_1.jpg', 'one'), still('l_2.jpg', 'two')] });
    const taken = await shelf.take('a');
    expect(taken.ok && taken.value.files.map((file) => file.name)).toEqual(['l_1.jpg', 'l_2.jpg']);
    await shelf.keepTake('a', [still('l_1.jpg', 'one')]);
    expect((await shelf.files('a')).map((file) => file.name)).toEqual(['l_1.jpg']);
    expect(await db.get('takes', 'a')).toBeUndefined();
    db.close();
  });

  it('remembers the folder a shot comes from', async () => {
    const shelf = await open();
    const folder = await (await navigator.storage.getDirectory()).getDirectoryHandle('lamp', { create: true });
    await shelf.keepFolder('a', folder);
    expect(await (await shelf.folder('a'))?.isSameEntry(folder)).toBe(true);
    await shelf.keepFolder('a', null);
    expect(await shelf.folder('a')).toBeNull();
  });
});
