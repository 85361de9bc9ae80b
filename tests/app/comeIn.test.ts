import { describe, expect, it } from 'vitest';
import { ComeIn } from '../../src/app/check/comeIn.ts';

const file = (number: number, size = 900) => new File([new Uint8Array(size)], `lamp_${number}.jpg`);
const files = (...numbers: number[]) => numbers.map((n) => file(n));

/** A folder that held these when it began to be watched. */
function watched(...numbers: number[]): (now: readonly File[], whole?: readonly File[]) => [number, number] | null {
  const comeIn = new ComeIn();
  comeIn.begin(files(...numbers));
  return (now, whole = now) => {
    const cameIn = comeIn.look(now, whole);
    return cameIn && [cameIn.from, cameIn.to];
  };
}

describe('ComeIn', () => {
  it('hears of each still once it is whole, and of those that came while nobody looked', () => {
    const look = watched(1, 2);
    expect(look(files(1, 2))).toBeNull();
    const now = files(1, 2, 3);
    expect(look(now, now.slice(0, 2))).toBeNull();
    expect(look(now)).toEqual([2, 3]);
    expect(look(now)).toBeNull();
    expect(look(files(3, 1, 6, 5, 2))).toEqual([3, 5]);
  });

  it('takes what it finds first for what was there before, if nothing was told; the very first still comes in', () => {
    expect(watched()(files(1, 2, 3))).toBeNull();
    const look = watched();
    expect(look([])).toBeNull();
    expect(look(files(1))).toEqual([0, 1]);
  });

  it('does not hear of one that is written anew, taken away, or has another’s number', () => {
    const look = watched(1, 2, 3);
    const [a, b, c] = files(1, 2, 3);
    // Being written, it is not whole for a while.
    expect(look([a!, file(2, 300), c!], [a!, c!])).toBeNull();
    expect(look([a!, b!, c!])).toBeNull();
    expect(look([a!, c!])).toBeNull();
    expect(look([a!, c!, new File(['x'], 'lamp_3.png')])).toBeNull();
    // One more than there were at the look before: which exposure that is, and whether it is shot already, others know.
    expect(look(files(1, 3, 4))).toEqual([2, 3]);
  });
});
