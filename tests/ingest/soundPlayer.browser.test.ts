import { afterEach, describe, expect, it, vi } from 'vitest';
import { SoundPlayer, type SoundStretch } from '../../src/ingest/soundPlayer.ts';
import { clipFile } from './corpus.ts';

/** Milliseconds of `performance.now()` at which the made loudspeaker's clock says 0. */
const zeroMs = 1000;

interface Laid {
  readonly samples: Float32Array;
  readonly rate: number;
  readonly whenSec: number;
  readonly skipSec: number;
  readonly speed: number;
}

/** A loudspeaker that writes down what it is to play, and when. */
function madeLoudspeaker(): Laid[] {
  const laid: Laid[] = [];
  const parameter = () => ({
    value: 1,
    setValueAtTime() {},
    linearRampToValueAtTime() {},
    cancelScheduledValues() {},
    setTargetAtTime() {},
  });
  class MadeContext {
    readonly state = 'running';
    readonly destination = {};
    get currentTime() {
      return (performance.now() - zeroMs) / 1000;
    }
    getOutputTimestamp() {
      const now = performance.now();
      return { contextTime: (now - zeroMs) / 1000, performanceTime: now };
    }
    createGain() {
      return { gain: parameter(), connect() {}, disconnect() {} };
    }
    createBufferSource() {
      const node = {
        buffer: null as AudioBuffer | null,
        playbackRate: parameter(),
        connect() {},
        start(whenSec: number, skipSec: number) {
          const { buffer, playbackRate } = node;
          if (!buffer) throw new Error('started without sound');
          laid.push({
            samples: buffer.getChannelData(0),
            rate: buffer.sampleRate,
            whenSec,
            skipSec,
            speed: playbackRate.value,
          });
        },
      };
      return node;
    }
    async close() {}
  }
  vi.stubGlobal('AudioContext', MadeContext);
  return laid;
}

/** When something louder than a tenth of full scale first leaves the loudspeaker, `performance.now()`. */
function firstLoudMs(laid: readonly Laid[]): number {
  for (const { samples, rate, whenSec, skipSec, speed } of laid) {
    const from = Math.round(skipSec * rate);
    const at = samples.findIndex((v, i) => i >= from && Math.abs(v) > 0.1);
    if (at >= 0) return zeroMs + 1000 * (whenSec + (at - from) / rate / speed);
  }
  return Number.NaN;
}

/** Plays a stretch of the clip that beeps at 1 s, until all of it is laid out. */
async function played(stretch: SoundStretch): Promise<readonly Laid[]> {
  const laid = madeLoudspeaker();
  const player = new SoundPlayer(await clipFile('av_sync.mp4'), 0);
  await player.play(stretch);
  player.close();
  return laid;
}

describe('SoundPlayer', () => {
  afterEach(() => vi.unstubAllGlobals());

  it('sounds when its picture is on screen, at full and at half speed', async () => {
    for (const speed of [1, 0.5]) {
      const atMs = performance.now() + 400;
      const laid = await played({ fromSec: 0.9, untilSec: 1.15, atMs, speed });
      expect(Math.abs(firstLoudMs(laid) - (atMs + 100 / speed))).toBeLessThan(1);
      expect(laid.every((piece) => piece.speed === speed)).toBe(true);
    }
  });

  it('joins the pieces without a gap', async () => {
    const laid = await played({ fromSec: 0.5, untilSec: 1.2, atMs: performance.now() + 400, speed: 1 });
    expect(laid.length).toBeGreaterThan(20);
    for (const [i, piece] of laid.entries()) {
      const next = laid[i + 1];
      const endSec = piece.whenSec + piece.samples.length / piece.rate - piece.skipSec;
      if (next) expect(Math.abs(next.whenSec - endSec)).toBeLessThan(1e-6);
    }
  });

  it('skips into sound that is late rather than hold it up', async () => {
    const atMs = performance.now() - 60;
    const laid = await played({ fromSec: 0.9, untilSec: 1.2, atMs, speed: 1 });
    expect(laid[0]!.whenSec).toBeGreaterThan((atMs + 50 - zeroMs) / 1000);
    expect(Math.abs(firstLoudMs(laid) - (atMs + 100))).toBeLessThan(30);
  });

  it('plays a step’s worth whole, however long it takes to be there', async () => {
    const laid = await played({ fromSec: 0.99, untilSec: 1.03, atMs: null, speed: 1 });
    const heardSec = laid.reduce((sum, p) => sum + p.samples.length / p.rate - p.skipSec, 0);
    expect(heardSec).toBeGreaterThanOrEqual(0.04);
    // 10 ms of silence, then the beep.
    expect(firstLoudMs(laid) - (zeroMs + 1000 * laid[0]!.whenSec)).toBeCloseTo(10, 0);
  });

  it('is silent once stopped', async () => {
    const laid = madeLoudspeaker();
    const player = new SoundPlayer(await clipFile('av_sync.mp4'), 0);
    const playing = player.play({ fromSec: 0, untilSec: 3, atMs: performance.now() + 200, speed: 1 });
    player.stop();
    await playing;
    expect(laid).toEqual([]);
    player.close();
  });
});
