import { describe, expect, it } from 'vitest';
import { fitNotes, type NoteLine, noteLines } from '../../src/app/onset/setNotes.ts';
import { measureBundled } from '../../src/draw/measure.ts';
import { type Prepared, type StepCard, stepCard } from '../../src/plan/onSet.ts';
import { madePlan } from '../plan/madeTiming.ts';

const card = stepCard(madePlan(), 3)!;
const ahead = { inExposures: 2, poseNumber: 12, name: 'bends to the can', firstFrame: 20 };
const rig = (firstFrame: number): Prepared => ({
  firstFrame,
  frames: 8,
  support: 'rig',
  sentence: 'In the air: a rig.',
});
const long = 'eyes first, then the head; the can stays level, and nobody leans on the table '.repeat(3).trim();
const toPrepare = { ...rig(90), support: 'tie-down', inExposures: 4 } as const;
const usual = {
  ahead,
  standing: 'stands on both feet',
  stoodBefore: '',
  hands: [],
  prepared: [],
  toPrepare: null,
  note: '',
};
const fullest: StepCard = {
  ...{ ...card, ...usual, toPrepare, note: long },
  ...{ standing: 'stands on left foot, right toes', stoodBefore: 'in the air', hands: ['left hand takes hold'] },
  prepared: [rig(5)],
};

const wordsOf = (lines: readonly NoteLine[], kind: NoteLine['kind']) =>
  lines
    .filter((l) => l.kind === kind)
    .map((l) => l.words)
    .join(' ');

describe('the notes of an exposure at the set', () => {
  it('are all told where they fit, the key ahead first', () => {
    const { lines, more } = fitNotes({ ...card, ...usual, note: 'eyes first' }, 24);
    expect(lines.map((l) => l.words)).toEqual(['Pose 12 bends to the can', 'stands on both feet', 'eyes first']);
    expect(more).toBe(0);
  });

  it('never take more than their room, and what is cut or left out is counted', () => {
    for (const widthEm of [11, 14, 20, 30]) {
      const { lines, more } = fitNotes(fullest, widthEm);
      expect(lines.reduce((sum, l) => sum + l.scale, 0)).toBeLessThanOrEqual(noteLines);
      expect(lines[0]!.kind).toBe('ahead');
      expect(more).toBeGreaterThan(0);
      expect(wordsOf(lines, 'care')).toBe('! rig, frames 6–13');
      // "and 2 more" stands in the last line, beside its words.
      const last = lines.at(-1)!;
      const face = {
        size: 1,
        font: 'text',
        weight: last.kind === 'changed' || last.kind === 'ahead' ? 700 : 400,
      } as const;
      expect(measureBundled(last.words, face), last.words).toBeLessThanOrEqual(widthEm - 5);
    }
  });

  it('lose nothing of a caution, however many there are: letters get smaller first', () => {
    for (const count of [1, 2, 4, 9, 16]) {
      const prepared = Array.from({ length: count }, (_, i) => rig(10 * i));
      for (const widthEm of [14, 24]) {
        const { lines } = fitNotes({ ...fullest, prepared }, widthEm);
        const care = lines.filter((l) => l.kind === 'care');
        const words = wordsOf(lines, 'care');
        for (let i = 0; i < count; i++) expect(words).toContain(`rig, frames ${10 * i + 1}–${10 * i + 8}`);
        expect(words).not.toContain('…');
        expect(lines.reduce((sum, l) => sum + l.scale, 0)).toBeLessThanOrEqual(noteLines + 1e-9);
        if (count === 1) expect(care[0]!.scale).toBe(1);
      }
    }
  });
});
