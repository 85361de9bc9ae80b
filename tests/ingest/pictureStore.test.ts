import { describe, expect, it } from 'vitest';
import { PictureStore, runFor } from '../../src/ingest/pictureStore.ts';

describe('PictureStore', () => {
  it('lets the picture farthest from the focus go, and releases it once', () => {
    const gone: string[] = [];
    const store = new PictureStore<string>(3, (item) => gone.push(item));
    store.focus = 10;
    for (const i of [2, 9, 10, 11]) store.put(i, `p${i}`);
    expect(gone).toEqual(['p2']);
    store.put(9, 'again');
    expect(gone).toEqual(['p2', 'p9']);
    store.clear();
    expect(gone.sort()).toEqual(['again', 'p10', 'p11', 'p2', 'p9']);
    expect(store.size).toBe(0);
  });

  it('tells a damaged picture from one that is not here', () => {
    const store = new PictureStore<string>(3, () => {});
    store.put(1, null);
    expect(store.get(1)).toBeNull();
    expect(store.get(2)).toBeUndefined();
  });
});

describe('runFor', () => {
  const holding = (...indices: number[]) => ({
    capacity: 80,
    get: (i: number) => (indices.includes(i) ? 'here' : undefined),
  });

  it('fetches the wanted picture first when going forwards', () => {
    const run = runFor(40, 1, 200, holding());
    expect([run[0], run[run.length - 1]]).toEqual([40, 64]);
  });

  it('fetches the stretch before it when going backwards', () => {
    const run = runFor(40, -1, 200, holding());
    expect([run[0], run[run.length - 1]]).toEqual([16, 46]);
  });

  it('stays within the take, and within memory', () => {
    expect(runFor(0, -1, 5, holding())).toEqual([0, 1, 2, 3, 4]);
    expect(runFor(40, 1, 200, { capacity: 8, get: () => undefined })).toEqual([40, 41, 42, 43, 44]);
  });

  it('waits while enough is at hand ahead', () => {
    const near = Array.from({ length: 22 }, (_, i) => 34 + i);
    expect(runFor(40, 1, 200, holding(...near, 56, 57, 58, 59, 60))).toEqual([]);
    expect(runFor(40, 1, 200, holding(...near))[0]).toBe(56);
  });
});
