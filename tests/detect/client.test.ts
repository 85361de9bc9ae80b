import { expect, it } from 'vitest';
import { fineWorkers, piecesOf } from '../../src/detect/client.ts';

it('pieces cover every picture once, in order; a single worker gets all at once, several get short ones', () => {
  expect(piecesOf(10, 500, 1)).toEqual([{ from: 10, to: 500 }]);
  expect(piecesOf(0, 32, 2)).toEqual([
    { from: 0, to: 16 },
    { from: 16, to: 32 },
  ]);
  const pieces = piecesOf(7, 500, 3);
  expect(Math.max(...pieces.map(({ from, to }) => to - from))).toBe(60);
  expect(pieces.flatMap(({ from, to }) => Array.from({ length: to - from }, (_, i) => from + i))).toEqual(
    Array.from({ length: 493 }, (_, i) => 7 + i),
  );
  expect(piecesOf(36, 36, 2)).toEqual([]);
});

it('several workers are for processors only, and leave half of the cores to the rest', () => {
  expect(fineWorkers('wasm', 2)).toBe(1);
  expect(fineWorkers('wasm', 8)).toBe(4);
  expect(fineWorkers('wasm', 64)).toBe(4);
  expect(fineWorkers('webgpu', 8)).toBe(1);
  expect(fineWorkers(null, 8)).toBe(1);
});
