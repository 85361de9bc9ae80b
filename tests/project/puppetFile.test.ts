import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readPuppet, writePuppet } from '../../src/project/puppetSchema.ts';
import { builtInPuppets, realisticPuppet } from '../../src/puppet/builtIn.ts';
import { limitNames, massNames, puppetOfHeight, standingHeightMm } from '../../src/puppet/profile.ts';

const somePuppet = fc
  .record({
    puppet: fc.constantFrom(...builtInPuppets),
    heightMm: fc.double({ min: 20, max: 2900, noNaN: true }),
    name: fc.string(),
    unit: fc.constantFrom('mm' as const, 'in' as const),
    limit: fc.constantFrom(...limitNames),
    deg: fc.nat(180),
    mass: fc.constantFrom(...massNames),
    tieDowns: fc.constantFrom('both' as const, 'left' as const, 'right' as const, 'none' as const),
  })
  .map(({ puppet, heightMm, name, unit, limit, deg, mass, tieDowns }) => ({
    ...puppetOfHeight(puppet, heightMm),
    ...{ name, unit, tieDowns, limitsDeg: { [limit]: deg }, massesG: { [mass]: 12.5 } },
  }));

describe('puppet file', () => {
  it('reads back what it wrote', () => {
    fc.assert(
      fc.property(somePuppet, (puppet) => {
        expect(readPuppet(writePuppet(puppet))).toEqual({ ok: true, value: puppet });
      }),
    );
  });

  it('names the place of what cannot be right, and keeps the puppet', () => {
    const text = writePuppet(realisticPuppet);
    for (const [from, to, place] of [
      [`"thighMm": ${realisticPuppet.sizes.thighMm}`, '"thighMm": 0', 'thighMm'],
      [`"headMm": ${realisticPuppet.sizes.headMm}`, '"headMm": "large"', 'headMm'],
      [`"trunkMm": ${realisticPuppet.sizes.trunkMm}`, '"trunkMm": 2999', 'sizes'],
      ['"limitsDeg": {}', '"limitsDeg": { "wing": 20 }', 'limitsDeg'],
      ['"format": "nudgebook-puppet"', '"format": "nudgebook"', 'format'],
    ] as const) {
      const broken = text.replace(from, to);
      expect(broken).not.toBe(text);
      const read = readPuppet(broken);
      expect(read).toMatchObject({ ok: false, failure: { code: 'puppet-unreadable' } });
      if (!read.ok) expect(read.failure.sentence).toContain(place);
    }
    expect(readPuppet('{').ok).toBe(false);
    expect(readPuppet(text.replace('"version": 1', '"version": 9'))).toMatchObject({
      failure: { code: 'puppet-newer' },
    });
  });

  it('gives built-in puppets that stand as high as their parts add up to', () => {
    expect(standingHeightMm(realisticPuppet)).toBeCloseTo(1700 / 6, 0);
    for (const puppet of builtInPuppets) expect(standingHeightMm(puppetOfHeight(puppet, 250))).toBe(250);
  });

  it('scales as a maker does: a person of 64 in as a puppet of 12 in has arms of 5.34 in for 28.5 in', () => {
    // One maker's published example: 1 : 5.33, real arm 28.5 in, puppet's arm 5.35 in (their rounding).
    const inch = 25.4;
    const person = puppetOfHeight(realisticPuppet, 64 * inch);
    const arm = 28.5 * inch - person.sizes.handMm;
    const own = { ...person, sizes: { ...person.sizes, upperArmMm: arm / 2, forearmMm: arm / 2 } };
    const { sizes } = puppetOfHeight(own, 12 * inch);
    expect(64 / 12).toBeCloseTo(5.33, 2);
    expect((sizes.upperArmMm + sizes.forearmMm + sizes.handMm) / inch).toBeCloseTo(5.35, 1);
  });
});
