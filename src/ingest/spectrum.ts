import { assert } from '../base/assert.ts';

/**
 * Power spectra of short stretches of sound: Hann window, then the radix-2 transform of Cooley & Tukey (1965). A sine of
 * amplitude a gives a² at its own frequency.
 */
export class Spectrum {
  readonly #size: number;
  readonly #window: Float64Array;
  readonly #cos: Float64Array;
  readonly #sin: Float64Array;
  readonly #order: Uint32Array;
  readonly #re: Float64Array;
  readonly #im: Float64Array;

  /** @param size samples in a stretch, a power of 2 from 4 on. */
  constructor(size: number) {
    assert(size >= 4 && (size & (size - 1)) === 0, `a spectrum of ${size} samples`);
    this.#size = size;
    this.#window = Float64Array.from({ length: size }, (_, i) => 0.5 - 0.5 * Math.cos((2 * Math.PI * i) / size));
    this.#cos = Float64Array.from({ length: size / 2 }, (_, i) => Math.cos((2 * Math.PI * i) / size));
    this.#sin = Float64Array.from({ length: size / 2 }, (_, i) => -Math.sin((2 * Math.PI * i) / size));
    const bits = Math.log2(size);
    this.#order = Uint32Array.from({ length: size }, (_, i) => {
      let turned = 0;
      for (let b = 0; b < bits; b++) turned |= ((i >> b) & 1) << (bits - 1 - b);
      return turned;
    });
    this.#re = new Float64Array(size);
    this.#im = new Float64Array(size);
  }

  /** Writes the power of `samples[from .. from + size)` into `out`, shape [frequency from 0 to size / 2]. */
  power(samples: Float32Array, from: number, out: Float64Array): void {
    const n = this.#size;
    const re = this.#re;
    const im = this.#im;
    for (let i = 0; i < n; i++) re[this.#order[i]!] = this.#window[i]! * samples[from + i]!;
    im.fill(0);
    for (let half = 1; half < n; half *= 2) {
      const stride = n / (2 * half);
      for (let block = 0; block < n; block += 2 * half)
        for (let k = 0; k < half; k++) {
          const c = this.#cos[k * stride]!;
          const s = this.#sin[k * stride]!;
          const a = block + k;
          const b = a + half;
          const xr = re[b]! * c - im[b]! * s;
          const xi = re[b]! * s + im[b]! * c;
          re[b] = re[a]! - xr;
          im[b] = im[a]! - xi;
          re[a] = re[a]! + xr;
          im[a] = im[a]! + xi;
        }
    }
    // The window's mean is 1/2 and a real sine puts half its amplitude at each of ± its frequency.
    const scale = (4 / n) ** 2;
    for (let k = 0; k <= n / 2; k++) out[k] = (re[k]! ** 2 + im[k]! ** 2) * scale;
  }
}
