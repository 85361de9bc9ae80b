import { readFileSync } from 'node:fs';
import { expect, it } from 'vitest';

const read = (path: string) => readFileSync(new URL(`../../${path}`, import.meta.url), 'utf8');
const listed = read('THIRD-PARTY.md');
const [shipped = '', development = ''] = listed.split('## Used in development only');
const packageFile = JSON.parse(read('package.json')) as {
  dependencies: Record<string, string>;
  devDependencies: Record<string, string>;
};

const missingIn = (text: string, names: readonly string[]) => names.filter((name) => !text.includes(`\`${name}\``));

it('THIRD-PARTY.md names every part the build may hold', () => {
  expect(missingIn(shipped, Object.keys(packageFile.dependencies))).toEqual([]);
});

it('THIRD-PARTY.md names every part used in development', () => {
  expect(missingIn(development, Object.keys(packageFile.devDependencies))).toEqual([]);
});

it('THIRD-PARTY.md says of each part what the part itself says of its licence', () => {
  const rows = listed.split('\n').filter((line) => line.startsWith('| `'));
  const wrong = rows.flatMap((row) => {
    const [, names = '', , licence = ''] = row.split('|');
    return [...names.matchAll(/`([^`]+)`/g)].flatMap(([, name]) => {
      const own = JSON.parse(read(`node_modules/${name}/package.json`)) as { license?: string };
      return licence.includes(own.license ?? 'none stated') ? [] : [`${name}: ${own.license}`];
    });
  });
  expect(rows.length).toBeGreaterThan(20);
  expect(wrong).toEqual([]);
});
