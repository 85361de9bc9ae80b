import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';

/** Who may import whom, and which packages: the street runs one way (see DEVELOPERS.md). A trailing * is a prefix. */
const table: Record<string, { rooms: string[]; packages: string[] }> = {
  base: { rooms: [], packages: [] },
  flow: { rooms: ['base'], packages: [] },
  track: { rooms: ['base'], packages: [] },
  timing: { rooms: ['base', 'track'], packages: [] },
  puppet: { rooms: ['base', 'track'], packages: [] },
  // Where the puppet was found to stand changes the plan: moves are laid anew by the room that compares.
  plan: { rooms: ['base', 'track', 'timing', 'puppet', 'compare', 'project'], packages: [] },
  // The shot against the plan: it is handed the plan's numbers and never asks the plan room for them.
  compare: { rooms: ['base', 'flow', 'track', 'timing', 'puppet'], packages: [] },
  draw: { rooms: ['base', 'track', 'timing', 'puppet', 'plan', 'compare'], packages: [] },
  project: { rooms: ['base', 'track', 'timing', 'puppet', 'compare'], packages: ['zod', 'fflate'] },
  ingest: { rooms: ['base'], packages: ['mediabunny'] },
  // Movies out, as ingest is movies in: no other room knows a codec, and neither knows what the pictures show.
  encode: { rooms: ['base'], packages: ['mediabunny'] },
  detect: { rooms: ['base', 'track', 'flow', 'ingest'], packages: ['@tensorflow*', 'vite'] },
  app: { rooms: ['*'], packages: ['svelte*', '@lucide/*', '@fontsource/*', 'idb', 'fflate'] },
  cli: { rooms: ['base', 'track', 'timing', 'puppet', 'plan', 'project'], packages: ['playwright', 'vite', 'node:*'] },
};

const src = resolve(import.meta.dirname, '../src');

interface ImportLine {
  readonly file: string;
  readonly room: string;
  readonly target: string;
}

function importsOf(file: string): ImportLine[] {
  const text = readFileSync(file, 'utf8');
  const room = relative(src, file).split('/')[0]!;
  // Static, re-exported, side-effect and dynamic imports alike.
  const pattern = /(?:^|\n)\s*(?:import|export)\s[^'"`;]*?from\s*['"]([^'"]+)['"]|\bimport\s*\(?\s*['"]([^'"]+)['"]/g;
  return [...text.matchAll(pattern)].map((m) => ({ file: relative(src, file), room, target: (m[1] ?? m[2])! }));
}

const files = readdirSync(src, { recursive: true, withFileTypes: true })
  .filter((e) => e.isFile() && /\.(ts|svelte)$/.test(e.name) && !e.name.endsWith('.d.ts'))
  .map((e) => join(e.parentPath, e.name));
const lines = files.flatMap(importsOf);

const fits = (allowed: string[], name: string) =>
  allowed.some((a) => (a.endsWith('*') ? name.startsWith(a.slice(0, -1)) : a === name));

describe('the rooms of src', () => {
  it('are all in the table', () => {
    const rooms = new Set(files.map((f) => relative(src, f).split('/')[0]!));
    expect([...rooms].filter((r) => !(r in table))).toEqual([]);
  });

  it('import only the rooms that the table lets them', () => {
    const wrong = lines.filter(({ file, room, target }) => {
      if (!target.startsWith('.')) return false;
      const to = relative(src, resolve(src, dirname(file), target));
      if (to.startsWith('..')) return !(room === 'app' && to.startsWith('../fixtures/takes/'));
      const toRoom = to.split('/')[0]!;
      return toRoom !== room && !fits(table[room]!.rooms, toRoom);
    });
    expect(wrong).toEqual([]);
  });

  it('import only the packages that the table lets them', () => {
    const wrong = lines.filter(
      ({ room, target }) =>
        !target.startsWith('.') && !target.startsWith('virtual:') && !fits(table[room]!.packages, target),
    );
    expect(wrong).toEqual([]);
  });

  it('keep zod to the schemas of files', () => {
    expect(lines.filter((l) => l.target === 'zod' && !/^project\/(schema|puppetSchema)\.ts$/.test(l.file))).toEqual([]);
  });

  it('name the file they import, with its ending', () => {
    expect(lines.filter((l) => l.target.startsWith('.') && !/\.\w+(\?[\w&=]+)?$/.test(l.target))).toEqual([]);
  });
});
