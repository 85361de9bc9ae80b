import type { Joint } from '../base/joints.ts';
import type { Motion } from '../track/motion.ts';
import type { PuppetJoint, PuppetPath } from './puppetMotion.ts';

/** Joint places while they are being worked out. */
export class Places {
  readonly #at = new Map<PuppetJoint, { x: Float64Array; y: Float64Array; z: Float64Array }>();

  constructor(private readonly count: number) {}

  put(joint: PuppetJoint, k: number, x: number, y: number, z: number): void {
    let place = this.#at.get(joint);
    if (!place) {
      const unknown = () => new Float64Array(this.count).fill(Number.NaN);
      place = { x: unknown(), y: unknown(), z: unknown() };
      this.#at.set(joint, place);
    }
    place.x[k] = x;
    place.y[k] = y;
    place.z[k] = z;
  }

  x(joint: PuppetJoint, k: number): number {
    return this.#at.get(joint)?.x[k] ?? Number.NaN;
  }

  y(joint: PuppetJoint, k: number): number {
    return this.#at.get(joint)?.y[k] ?? Number.NaN;
  }

  /** All that is known anywhere, with how sure the tracks behind it are. */
  paths(motion: Motion, mmPerPx: number): Map<PuppetJoint, PuppetPath> {
    const paths = new Map<PuppetJoint, PuppetPath>();
    for (const [joint, { x, y, z }] of this.#at) {
      if (x.every(Number.isNaN)) continue;
      const own = motion.paths.get(joint as Joint);
      const sdMm = own ? own.sdPx.map((sd) => sd * mmPerPx) : new Float64Array(this.count);
      paths.set(joint, { xMm: x, yMm: y, zMm: z, sdMm, guessed: own?.guessed ?? new Uint8Array(this.count) });
    }
    return paths;
  }
}
