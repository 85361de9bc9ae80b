import { describe, expect, it } from 'vitest';
import { areSameFiles, wholeFiles } from '../../src/app/check/folderLook.ts';

const file = (name: string, size: number, lastModified: number) =>
  new File([new Uint8Array(size)], name, { lastModified });
const names = (files: readonly File[]) => files.map(({ name }) => name);
const now = 1_000_000;

describe('wholeFiles', () => {
  it('leaves a still alone that the camera may be writing', () => {
    const files = [file('lamp_1.jpg', 900, now - 60_000), file('lamp_2.jpg', 300, now - 500)];
    expect(names(wholeFiles(files, null, now))).toEqual(['lamp_1.jpg']);
    // It has grown since the look before.
    const grown = [files[0]!, file('lamp_2.jpg', 800, now)];
    expect(names(wholeFiles(grown, files, now + 100))).toEqual(['lamp_1.jpg']);
    expect(names(wholeFiles(grown, grown, now + 1600))).toEqual(['lamp_1.jpg', 'lamp_2.jpg']);
  });

  it('takes one that stays as it is for whole, though the camera’s clock is ahead', () => {
    const ahead = [file('lamp_1.jpg', 900, now + 3_600_000)];
    expect(wholeFiles(ahead, null, now)).toEqual([]);
    expect(names(wholeFiles(ahead, ahead, now))).toEqual(['lamp_1.jpg']);
  });
});

describe('areSameFiles', () => {
  it('sees a still that was written anew under its old name', () => {
    const [a, b] = [file('lamp_1.jpg', 900, 1), file('lamp_2.jpg', 800, 2)];
    expect(areSameFiles([a, b], [b, a])).toBe(true);
    expect(areSameFiles([a, b], [a, file('lamp_2.jpg', 800, 3)])).toBe(false);
    expect(areSameFiles([a], [a, b])).toBe(false);
  });
});
