import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { takeFiles } from '../../src/cli/takeFiles.ts';
import { writeWhole } from '../../src/cli/writeWhole.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'nudgebook-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

describe('writeWhole', () => {
  it('makes the folder, replaces old files and leaves nothing else behind', () => {
    const out = join(folder, 'a/b');
    writeWhole(out, { 'plan.json': 'old' });
    writeWhole(out, { 'plan.json': 'new', 'sheet.pdf': new Uint8Array([1, 2]) });
    expect(readdirSync(out).sort()).toEqual(['plan.json', 'sheet.pdf']);
    expect(readFileSync(join(out, 'plan.json'), 'utf8')).toBe('new');
  });

  it('leaves the old files as they were when one of the new ones cannot be written', () => {
    writeWhole(folder, { 'plan.json': 'old' });
    mkdirSync(join(folder, `.sheet.csv.${process.pid}.part`));
    expect(() => writeWhole(folder, { 'plan.json': 'new', 'sheet.csv': 'x' })).toThrow();
    expect(readFileSync(join(folder, 'plan.json'), 'utf8')).toBe('old');
  });
});

describe('takeFiles', () => {
  it('gives a video itself, and the pictures of a folder without what else lies there', () => {
    for (const name of ['w_2.JPG', 'w_1.png', 'notes.txt', '.w_3.png.swp']) writeFileSync(join(folder, name), '');
    expect(takeFiles(join(folder, 'w_1.png'))).toEqual({ ok: true, value: [join(folder, 'w_1.png')] });
    expect(takeFiles(folder)).toEqual({ ok: true, value: [join(folder, 'w_1.png'), join(folder, 'w_2.JPG')] });
  });

  it('says when nothing is there, or nothing to look at', () => {
    expect(takeFiles(join(folder, 'gone.mp4'))).toMatchObject({ ok: false, failure: { code: 'file-unreadable' } });
    expect(takeFiles(folder)).toMatchObject({ ok: false, failure: { code: 'file-empty' } });
  });
});
