import { describe, expect, it } from 'vitest';
import { boxOf, type Mark } from '../../src/draw/scene.ts';
import { layOutSheetPages } from '../../src/draw/sheetPages.ts';
import { findOnsets } from '../../src/timing/onsets.ts';
import { mix, soundtrackOf, tone } from '../madeSound.ts';
import { madePlan } from '../plan/madeTiming.ts';

const track = soundtrackOf(
  mix(
    7,
    [1, 2.5].map((atSec) => ({ atSec, samples: tone(440, 0.6) })),
    0.0005,
  ),
);
const notes = new Map([[12, { action: '', dialogue: 'a gull cries over the lamp room, twice', camera: '' }]]);
const sound = { nudgeSec: 0, beatsPerMinute: 80, firstBeatSec: 0.5 };
const plan = {
  ...madePlan({ frameCount: 96, book: { frameNotes: notes, sound } }),
  heard: { track, onsets: findOnsets(track) },
};

const pathsOf = (marks: readonly Mark[], role: string) =>
  marks.flatMap((m) => (m.kind === 'path' && m.role === role ? [boxOf(m.d)] : []));

describe('sound on the printed sheet', () => {
  const [page] = layOutSheetPages(plan, { paper: 'A4', measure: (text, { size }) => 0.55 * size * text.length });
  const { marks } = page!;
  const rowTop = (frame: number) => {
    const digits = marks.find((m) => m.id === `row-${frame}-frame`);
    const next = marks.find((m) => m.id === `row-${frame + 1}-frame`);
    if (digits?.kind !== 'text' || next?.kind !== 'text') throw new Error(`no row ${frame}`);
    return digits.y;
  };

  it('puts beats and beginnings into the rows of their frames', () => {
    const beats = pathsOf(marks, 'beat').map((b) => b.top);
    expect(beats).toHaveLength(5);
    // 18 rows from beat to beat.
    const row = (rowTop(39) - rowTop(19)) / 20;
    for (let i = 1; i < beats.length; i++) expect((beats[i]! - beats[i - 1]!) / row).toBeCloseTo(18, 1);
    const cues = pathsOf(marks, 'cue').map((c) => (c.top + c.bottom) / 2);
    expect(cues).toHaveLength(2);
    expect((cues[1]! - cues[0]!) / row).toBeCloseTo(36, 0);
    expect((beats[1]! - cues[0]!) / row).toBeCloseTo(6, 0);
  });

  it('keeps words out of the wave', () => {
    const wave = pathsOf(marks, 'wave')[0]!;
    for (const m of marks)
      if (m.kind === 'text' && m.role === 'sound') expect(m.x + 0.55 * m.size * m.text.length).toBeLessThan(wave.left);
    expect(marks.filter((m) => m.role === 'sound').length).toBeGreaterThan(1);
  });

  it('changes nothing where nothing is heard', () => {
    const silent = madePlan({ frameCount: 96, book: { frameNotes: notes } });
    const [quiet] = layOutSheetPages(silent, { paper: 'A4', measure: (text, { size }) => 0.55 * size * text.length });
    expect(quiet!.marks.some((m) => ['wave', 'beat', 'cue'].includes(m.role))).toBe(false);
  });
});
