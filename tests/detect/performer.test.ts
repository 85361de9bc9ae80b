import { describe, expect, it } from 'vitest';
import { type Crowd, choosePerformer, type Person, performerBoxes } from '../../src/detect/performer.ts';

type Colour = readonly [number, number, number];
const blue: Colour = [40, 60, 160];
const red: Colour = [170, 50, 40];

/** A person 300 px high whose box's middle stands at x. */
function person(x: number, colour: Colour | null = null, height = 300): Person {
  return { box: { x: x - 50, y: 200, width: 100, height }, score: 0.6, colour };
}

function crowds(everySec: number, ...people: (readonly (Person | null)[])[]): Crowd[] {
  return people.map((all, i) => ({
    picture: 3 * i,
    timeSec: i * everySec,
    people: all.filter((one): one is Person => one !== null),
  }));
}

describe('the performer', () => {
  it('stays the one who stands when another walks past, also while only one of them is found', () => {
    const steps = Array.from({ length: 13 }, (_, i) => {
      const passing = person(20 + 80 * i);
      // Behind the performer the other one is not found.
      return Math.abs(passing.box.x + 50 - 500) < 60 ? [person(500)] : [passing, person(500)];
    });
    const seen = crowds(0.1, ...steps);
    const chosen = choosePerformer(seen);
    seen.forEach((crowd, c) => {
      expect(crowd.people[chosen[c]!]?.box.x).toBe(450);
    });
  });

  it('is told from another of the same size by the clothes where the two meet and part', () => {
    // Both walk towards each other; at the meeting only one box is found.
    const steps = Array.from({ length: 11 }, (_, i) =>
      i === 5 ? [person(500)] : [person(100 + 80 * i, blue), person(900 - 80 * i, red)],
    );
    const chosen = choosePerformer(crowds(0.2, ...steps), [{ timeSec: 0, xPx: 100, yPx: 350 }]);
    expect([...chosen]).toEqual([0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
    const other = choosePerformer(crowds(0.2, ...steps), [{ timeSec: 0, xPx: 900, yPx: 350 }]);
    expect([...other.slice(6)]).toEqual([1, 1, 1, 1, 1]);
  });

  it('is the one who is there longest, not the one who is seen first', () => {
    const seen = crowds(
      0.5,
      [person(100)],
      [person(420)],
      [],
      [person(800)],
      [person(802)],
      [person(801)],
      [person(800)],
    );
    const chosen = choosePerformer(seen);
    expect([...chosen.slice(3)]).toEqual([0, 0, 0, 0]);
  });

  it('is in none of the pictures where nobody is found', () => {
    expect([...choosePerformer(crowds(0.5, [], []))]).toEqual([-1, -1]);
    expect([...choosePerformer([])]).toEqual([]);
  });
});

describe('where the performer is expected', () => {
  const seen = crowds(0.5, [], [], [person(100)], [person(200)]);
  const timesSec = Float64Array.from({ length: 30 }, (_, i) => i / 10);
  const boxes = performerBoxes(seen, Int32Array.of(-1, -1, 0, 0), timesSec);

  it('is between two finds in proportion to time', () => {
    expect(boxes[12]!.x).toBeCloseTo(50 + 40);
  });

  it('is nowhere well before the first find and well after the last', () => {
    expect(boxes[4]).toBeNull();
    expect(boxes[6]).not.toBeNull();
    expect(boxes[20]).not.toBeNull();
    expect(boxes[22]).toBeNull();
  });
});
