import { describe, expect, it } from 'vitest';
import { soundBetween, soundEndSec, soundFrame, soundShotSec, soundTakeSec } from '../../src/base/sound.ts';
import { SoundEnvelope } from '../../src/ingest/soundEnvelope.ts';
import { Spectrum } from '../../src/ingest/spectrum.ts';
import { click, madeRate, mix, soundtrackOf, tone } from '../madeSound.ts';

const about = { codec: 'made', channels: 1 };

describe('Spectrum', () => {
  it('gives a sine its own frequency and the square of its amplitude, and keeps power (Parseval)', () => {
    const n = 256;
    const sine = Float32Array.from({ length: n }, (_, i) => 0.7 * Math.cos((2 * Math.PI * 20 * i) / n + 1));
    const out = new Float64Array(n / 2 + 1);
    new Spectrum(n).power(sine, 0, out);
    expect(out.indexOf(Math.max(...out))).toBe(20);
    expect(out[20]!).toBeCloseTo(0.49, 6);
    expect(out[60]!).toBeLessThan(1e-10);
  });

  it('agrees with the transform written out', () => {
    const n = 16;
    const samples = Float32Array.from({ length: n }, (_, i) => Math.sin(i * i));
    const out = new Float64Array(n / 2 + 1);
    new Spectrum(n).power(samples, 0, out);
    for (let k = 0; k <= n / 2; k++) {
      let re = 0;
      let im = 0;
      for (let i = 0; i < n; i++) {
        const w = (0.5 - 0.5 * Math.cos((2 * Math.PI * i) / n)) * samples[i]!;
        re += w * Math.cos((2 * Math.PI * k * i) / n);
        im -= w * Math.sin((2 * Math.PI * k * i) / n);
      }
      expect(out[k]!).toBeCloseTo((re * re + im * im) * (4 / n) ** 2, 10);
    }
  });
});

describe('SoundEnvelope', () => {
  it('keeps extremes and power, whatever the pieces and the rate', () => {
    const sine = Float32Array.from(
      { length: 3 * madeRate },
      (_, i) => 0.5 * Math.sin((2 * Math.PI * 440 * i) / madeRate),
    );
    const whole = soundtrackOf(sine, 0.25);
    expect(whole.rms.length).toBe(3 * 480);
    expect(soundEndSec(whole)).toBeCloseTo(3.25, 9);
    expect(soundBetween(whole, 1, 2).high).toBeCloseTo(0.5, 3);
    expect(soundBetween(whole, 1, 2).low).toBeCloseTo(-0.5, 3);
    const power = whole.rms.reduce((sum, v) => sum + (v / 32767) ** 2, 0) / whole.rms.length;
    expect(Math.sqrt(power)).toBeCloseTo(0.5 / Math.SQRT2, 3);
    for (const piece of [1, 960, 50000]) expect(soundtrackOf(sine, 0.25, madeRate, piece)).toEqual(whole);
    const at44 = Float32Array.from({ length: 2 * 44100 }, (_, i) => 0.5 * Math.sin((2 * Math.PI * 440 * i) / 44100));
    expect(soundtrackOf(at44, 0, 44100).rms.length).toBe(960);
  });

  it('puts a click into the bin of its own time', () => {
    for (const rate of [8000, 16000, 44100, 48000]) {
      const samples = new Float32Array(rate);
      samples[Math.round(0.4321 * rate)] = 0.9;
      const sound = soundtrackOf(samples, 10, rate);
      expect(Math.abs(sound.high.findIndex((v) => v > 20000) - 0.4321 * 480)).toBeLessThanOrEqual(1);
    }
  });

  it('fills a hole with silence and leaves out what overlaps, so that later sound keeps its time', () => {
    const sound = tone(600, 1);
    const envelope = new SoundEnvelope(madeRate);
    envelope.push(sound, 0);
    envelope.push(click(), 2.5);
    envelope.push(new Float32Array(madeRate / 2), 2.5 + 3 / madeRate);
    // Half of this is there already.
    envelope.push(mix(1, [{ atSec: 0.75, samples: click() }]), 2.5);
    const made = envelope.finish(about)!;
    expect(soundBetween(made, 1.01, 2.49)).toEqual({ low: 0, high: 0 });
    expect(made.high.findIndex((v, b) => b > 1.5 * 480 && v > 20000)).toBe(2.5 * 480);
    expect(made.high.findIndex((v, b) => b > 2.7 * 480 && v > 20000)).toBe(3.25 * 480);
    expect(soundEndSec(made)).toBeCloseTo(3.5, 2);
  });

  it('follows the running count where stamps are only rounded', () => {
    const envelope = new SoundEnvelope(madeRate);
    for (let i = 0; i < 100; i++) envelope.push(new Float32Array(960), Math.round(i * 20.3) / 1000 - 0.0003 * i);
    expect(soundEndSec(envelope.finish(about)!)).toBeCloseTo(2, 2);
  });

  it('is nothing where nothing came in', () => {
    expect(new SoundEnvelope(madeRate).finish(about)).toBeNull();
  });
});

it('a sound belongs to the frame it begins in, found a few milliseconds early or not', () => {
  const rate = { frames: 24, seconds: 1 };
  expect([1.99, 1.998, 2, 2.002, 2.03, 2.041].map((sec) => soundFrame(rate, sec))).toEqual([47, 48, 48, 48, 48, 49]);
  expect(soundFrame(rate, -0.01)).toBe(-1);
});

it('sound stays at the shot’s time: only trim and nudge move it', () => {
  const place = { startSec: 2, nudgeSec: 0.125 };
  expect(soundTakeSec(place, 1)).toBe(2.875);
  expect(soundShotSec(place, soundTakeSec(place, 1.3))).toBeCloseTo(1.3, 12);
});
