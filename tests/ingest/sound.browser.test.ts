import { describe, expect, it, vi } from 'vitest';
import { type Soundtrack, soundBetween, soundEndSec } from '../../src/base/sound.ts';
import { openTake } from '../../src/ingest/openTake.ts';
import { readSound } from '../../src/ingest/sound.ts';
import { readSoundOf } from '../../src/ingest/soundTake.ts';
import { failureOf } from '../../src/ingest/worldFailure.ts';
import { findOnsets } from '../../src/timing/onsets.ts';
import { tempoOfSound } from '../../src/timing/soundTempo.ts';
import { clipFile } from './corpus.ts';

async function soundOf(name: string) {
  const file = await clipFile(name);
  const opened = await openTake(file);
  if (!opened.ok) throw new Error(`${name}: ${opened.failure.sentence}`);
  const { footage } = opened.value;
  opened.value.close();
  return { footage, outcome: await readSound({ file, firstStampSec: footage.firstStampSec, endSec: footage.endSec }) };
}

/** When a sound of at least a tenth of full scale is first there between two times, take seconds. */
function beginsWithin(sound: Soundtrack, fromSec: number, toSec: number): number {
  const bin = sound.high.findIndex((v, b) => {
    const sec = sound.startSec + b / sound.binsPerSec;
    return sec >= fromSec && sec < toSec && v > 3277;
  });
  return bin < 0 ? Number.NaN : sound.startSec + bin / sound.binsPerSec;
}

describe('sound of takes', () => {
  // These clips beep for 50 ms as the pictures 0, 30 and 60 (of 30 a second) appear; the trimmed one begins with picture 15.
  for (const [name, beepsSec, withinSec] of [
    ['av_sync.mp4', [1, 2], 0.0025],
    ['editlist_trim.mp4', [0.5, 1.5], 0.0025],
    // Its own stamps put the sound 45.3 ms before the pictures (the encoder's run-up is not cut): believed, as written.
    ['frag.mp4', [0.9547, 1.9547], 0.0025],
    // Matroska counts in milliseconds, and this file's writer moved the pictures by 7 of them against the sound.
    ['av_sync.webm', [1, 2], 0.01],
  ] as const)
    it(`${name} beeps with the pictures it was made to beep with`, async () => {
      const { outcome, footage } = await soundOf(name);
      if (!outcome.ok || !outcome.value) throw new Error(JSON.stringify(outcome));
      const sound = outcome.value;
      for (const sec of beepsSec) {
        expect(Math.abs(beginsWithin(sound, sec - 0.2, sec + 0.2) - sec)).toBeLessThan(withinSec);
        expect(soundBetween(sound, sec - 0.2, sec - 0.02).high).toBeLessThan(0.02);
      }
      const onsets = findOnsets(sound);
      expect(onsets).toHaveLength(beepsSec.length);
      for (const [i, sec] of beepsSec.entries()) expect(Math.abs(onsets[i]!.takeSec - sec)).toBeLessThan(0.01);
      expect(Math.abs(soundEndSec(sound) - footage.endSec)).toBeLessThan(0.05);
    });

  it('begins at once where the recording does: the encoder’s run-up is cut away, not the sound', async () => {
    const { outcome } = await soundOf('av_sync.mp4');
    if (!outcome.ok || !outcome.value) throw new Error(JSON.stringify(outcome));
    expect(outcome.value.startSec).toBe(0);
    expect(beginsWithin(outcome.value, 0, 0.2)).toBeLessThan(0.003);
    expect(beginsWithin(outcome.value, 0.055, 0.5)).toBeNaN();
  });

  it('is null for a take without sound', async () => {
    const { outcome } = await soundOf('h264_cfr24.mp4');
    expect(outcome).toEqual({ ok: true, value: null });
  });

  it('is read as far as the file goes where the file was cut short', async () => {
    const { outcome, footage } = await soundOf('trunc_frag.mp4');
    if (!outcome.ok) throw new Error(JSON.stringify(outcome));
    if (outcome.value) expect(soundEndSec(outcome.value)).toBeLessThan(footage.endSec + 0.1);
  });

  it('is stopped when nobody wants it any more', async () => {
    const file = await clipFile('av_sync.mp4');
    const stop = new AbortController();
    stop.abort();
    const outcome = await readSound({ file, firstStampSec: 0, endSec: 3 }, { signal: stop.signal });
    expect(outcome.ok ? null : outcome.failure.code).toBe('cancelled');
  });

  it('that this browser cannot decode is a failure that says so and leaves the pictures alone', async () => {
    const file = await clipFile('av_sync.mp4');
    vi.stubGlobal('AudioDecoder', undefined);
    const error = await readSoundOf({ file, firstStampSec: 0, endSec: 3 }).catch((e: unknown) => e);
    vi.unstubAllGlobals();
    expect(failureOf(error).code).toBe('sound-unreadable');
    expect(failureOf(error).sentence).toMatch(/AAC.*Pictures and plan are not touched.*export/);
  });
});

describe('the demo take', () => {
  it('sounds when its truth says so: every sound is found within 10 ms, and nothing else', async () => {
    const { default: truth } = await import('../../fixtures/takes/keeper.truth.json');
    const response = await fetch(new URL('../../fixtures/takes/keeper.mp4', import.meta.url));
    const file = new File([await response.blob()], 'keeper.mp4');
    const outcome = await readSound({ file, firstStampSec: 0, endSec: 7 });
    if (!outcome.ok || !outcome.value) throw new Error(JSON.stringify(outcome));
    const onsets = findOnsets(outcome.value);
    expect(onsets).toHaveLength(truth.sounds.length);
    for (const [i, { t }] of truth.sounds.entries()) expect(Math.abs(onsets[i]!.takeSec - t)).toBeLessThan(0.01);
    const bell = tempoOfSound(onsets, 2.5, 7)!;
    // A beat of 18 frames at 24 a second.
    expect(bell.beatsPerMinute).toBeCloseTo(80, 0);
  });
});
