import { assert } from '../base/assert.ts';
import { type Soundtrack, soundBinsPerSec, soundFullScale } from '../base/sound.ts';
import { Spectrum } from './spectrum.ts';

/** Length of the stretch whose spectrum is taken, seconds: short enough to tell two knocks apart, long enough for pitch. */
const stretchSec = 0.011;
/** Pitch bands: from below a voice to where hiss begins; three to the octave, as the ear roughly parts them. */
const lowestHz = 80;
const highestHz = 11000;
const bandRatio = 2 ** (1 / 3);
/** A band fainter than this counts as silent: −70 dB of full scale, where a camera's own noise lies. */
const silent = 10 ** (-70 / 20);
/**
 * The rise is against the loudest that each band was from this many bins before (about a stretch) back to so many: noise,
 * whose bands flicker, then rises little above itself.
 */
const riseBins = 5;
const riseBackBins = 14;
/** Time stamps that stray less than this from the running count are the container's rounding. */
const strayAtMostSec = 0.01;

/**
 * Boils sound down to a `Soundtrack` while it comes in, in memory that does not grow with it except by the result.
 */
export class SoundEnvelope {
  readonly #rate: number;
  readonly #size: number;
  readonly #spectrum: Spectrum;
  readonly #power: Float64Array;
  /** First line of each band in the spectrum, and one past the last band. */
  readonly #edges: number[];
  /** Loudness of the bands in the last bins, newest at `#turn`. */
  readonly #recent: Float64Array[];
  #turn = 0;
  #startSec = Number.NaN;
  /** Samples not yet done with; the first has number `#heldFrom`, counted from the sound's start. */
  #held: Float32Array;
  #heldCount: number;
  #heldFrom: number;
  #bins = 0;
  #low = new Int16Array(4096);
  #high = new Int16Array(4096);
  #rms = new Int16Array(4096);
  #rise = new Float32Array(4096);

  /** @param sampleRate samples a second of what will be pushed. */
  constructor(sampleRate: number) {
    assert(sampleRate >= 2 * soundBinsPerSec, `sound of ${sampleRate} samples a second`);
    this.#rate = sampleRate;
    this.#size = 2 ** Math.max(5, Math.round(Math.log2(stretchSec * sampleRate)));
    this.#spectrum = new Spectrum(this.#size);
    this.#power = new Float64Array(this.#size / 2 + 1);
    this.#edges = bandEdges(sampleRate, this.#size);
    this.#recent = Array.from({ length: riseBackBins + 1 }, () => new Float64Array(this.#edges.length - 1));
    // Silence before the first sample, so that the first bin, too, has a stretch around it.
    this.#held = new Float32Array(4 * this.#size);
    this.#heldCount = this.#size;
    this.#heldFrom = -this.#size;
  }

  /** Take time up to which sound has come in; NaN before the first. */
  get untilSec(): number {
    return this.#startSec + (this.#heldFrom + this.#heldCount) / this.#rate;
  }

  /** Takes mono samples that begin at a take time. Holes are filled with silence, what overlaps is left out. */
  push(samples: Float32Array, atSec: number): void {
    if (samples.length === 0) return;
    if (Number.isNaN(this.#startSec)) this.#startSec = atSec;
    const strayed = atSec - this.untilSec;
    if (strayed > strayAtMostSec) this.#silence(Math.round(strayed * this.#rate));
    const skip = strayed < -strayAtMostSec ? Math.round(-strayed * this.#rate) : 0;
    if (skip < samples.length) this.#add(samples.subarray(skip));
  }

  /** The whole. @returns null when nothing came in. */
  finish(about: { readonly codec: string; readonly channels: number }): Soundtrack | null {
    if (Number.isNaN(this.#startSec)) return null;
    const sampleCount = this.#heldFrom + this.#heldCount;
    this.#silence(this.#size);
    const count = Math.min(this.#bins, Math.max(1, Math.round((sampleCount * soundBinsPerSec) / this.#rate)));
    // A sound that the recording cuts off ticks as it is cut: that tick is ours.
    const cutOff = Math.ceil((this.#size * soundBinsPerSec) / this.#rate);
    this.#rise.fill(0, Math.max(0, count - cutOff), count);
    return {
      startSec: this.#startSec,
      binsPerSec: soundBinsPerSec,
      low: this.#low.slice(0, count),
      high: this.#high.slice(0, count),
      rms: this.#rms.slice(0, count),
      rise: this.#rise.slice(0, count),
      ...about,
    };
  }

  #silence(count: number): void {
    const some = new Float32Array(Math.min(count, this.#rate));
    for (let left = count; left > 0; left -= some.length) this.#add(some.subarray(0, Math.min(left, some.length)));
  }

  #add(samples: Float32Array): void {
    if (this.#heldCount + samples.length > this.#held.length) {
      const larger = new Float32Array(2 * (this.#heldCount + samples.length));
      larger.set(this.#held.subarray(0, this.#heldCount));
      this.#held = larger;
    }
    this.#held.set(samples, this.#heldCount);
    this.#heldCount += samples.length;
    const half = this.#size / 2;
    for (;;) {
      const from = Math.round((this.#bins * this.#rate) / soundBinsPerSec);
      const to = Math.round(((this.#bins + 1) * this.#rate) / soundBinsPerSec);
      const middle = (from + to) >> 1;
      if (Math.max(to, middle + half) > this.#heldFrom + this.#heldCount) break;
      this.#bin(from - this.#heldFrom, to - this.#heldFrom, middle - half - this.#heldFrom);
    }
    // What lies before the next stretch is done with.
    const next = Math.round((this.#bins * this.#rate) / soundBinsPerSec) - half - this.#heldFrom;
    if (next > 0) {
      this.#held.copyWithin(0, next, this.#heldCount);
      this.#heldCount -= next;
      this.#heldFrom += next;
    }
  }

  #bin(from: number, to: number, stretchFrom: number): void {
    const bin = this.#bins++;
    if (bin === this.#rms.length) this.#grow();
    let low = 0;
    let high = 0;
    let squares = 0;
    for (let i = from; i < to; i++) {
      const v = this.#held[i]!;
      low = Math.min(low, v);
      high = Math.max(high, v);
      squares += v * v;
    }
    const whole = (v: number) => Math.round(Math.max(-1, Math.min(1, v)) * soundFullScale);
    this.#low[bin] = whole(low);
    this.#high[bin] = whole(high);
    this.#rms[bin] = whole(Math.sqrt(squares / (to - from)));
    this.#rise[bin] = this.#riseInto(stretchFrom);
  }

  /**
   * Spectral flux (Bello et al. 2005, eq. 8; half-wave rectified, on logarithmic bands): only what grew counts, so that one
   * sound dying away does not hide another beginning.
   */
  #riseInto(stretchFrom: number): number {
    this.#spectrum.power(this.#held, stretchFrom, this.#power);
    this.#turn = (this.#turn + 1) % this.#recent.length;
    const now = this.#recent[this.#turn]!;
    const kept = this.#recent.length;
    let sum = 0;
    for (let band = 0; band < now.length; band++) {
      let power = 0;
      for (let k = this.#edges[band]!; k < this.#edges[band + 1]!; k++) power += this.#power[k]!;
      now[band] = Math.log10(1 + Math.sqrt(power) / silent);
      let before = 0;
      for (let back = riseBins; back < kept; back++)
        before = Math.max(before, this.#recent[(this.#turn - back + kept) % kept]![band]!);
      sum += Math.max(0, now[band]! - before);
    }
    // What sounds already when the recording begins did not begin then.
    return this.#bins <= riseBackBins ? 0 : sum / now.length;
  }

  #grow(): void {
    const larger = <T extends Int16Array | Float32Array>(from: T, into: T): T => {
      into.set(from);
      return into;
    };
    const size = 2 * this.#rms.length;
    this.#low = larger(this.#low, new Int16Array(size));
    this.#high = larger(this.#high, new Int16Array(size));
    this.#rms = larger(this.#rms, new Int16Array(size));
    this.#rise = larger(this.#rise, new Float32Array(size));
  }
}

/** Lines of the spectrum at which bands begin, each band at least one line wide, and the end of the last. */
function bandEdges(sampleRate: number, size: number): number[] {
  const last = Math.min(size / 2, Math.floor((Math.min(highestHz, 0.45 * sampleRate) * size) / sampleRate));
  const edges: number[] = [];
  for (let hz = lowestHz; ; hz *= bandRatio) {
    const line = Math.round((hz * size) / sampleRate);
    if (line >= last) break;
    if (line > (edges.at(-1) ?? 0)) edges.push(line);
  }
  return [...edges, last];
}
