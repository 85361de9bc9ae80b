import type { Joint, Part } from '../../src/base/joints.ts';
import { minimumJerk } from '../../src/timing/ease.ts';
import type { Places } from './authored.ts';

/** One eased turn of the arm: degrees of the upper arm and the forearm against hanging down, and of the wrist's bend. */
export interface ArmMove {
  readonly startSec: number;
  readonly endSec: number;
  readonly upperDeg: number;
  readonly foreDeg: number;
  readonly bendDeg: number;
}

/** How the two arms of a made figure go. */
export interface MadeArms {
  readonly moves: readonly ArmMove[];
  /** Frames at 24 a second by which the forearm's direction comes after the upper arm's, and the wrist's bend after the forearm. */
  readonly foreLag: number;
  readonly handLag: number;
  /** Only these arms move; the other hangs. */
  readonly sides: readonly ('left' | 'right')[];
  readonly heightPx: number;
  readonly endSec: number;
  readonly fps?: number;
  readonly shiftSec?: number;
}

/** A figure that stands and turns its arms in the picture plane: shoulders, elbows, wrists, hands, hips and a nose. */
export function madeArms(made: MadeArms): Places {
  const { heightPx, moves, foreLag, handLag, endSec, fps = 30, shiftSec = 0 } = made;
  const count = Math.round(endSec * fps);
  const timesSec = Float64Array.from({ length: count }, (_, i) => i / fps);
  const places = new Map<Joint, { x: Float64Array; y: Float64Array }>();
  const put = (joint: Joint, i: number, x: number, y: number) => {
    if (!places.has(joint)) places.set(joint, { x: new Float64Array(count), y: new Float64Array(count) });
    places.get(joint)!.x[i] = 320 + x * heightPx;
    places.get(joint)!.y[i] = 200 + y * heightPx;
  };
  const turn = (sec: number, what: 'upperDeg' | 'foreDeg' | 'bendDeg', rest: number) =>
    moves.reduce((deg, m) => deg + m[what] * minimumJerk((sec - m.startSec) / (m.endSec - m.startSec)), rest);
  timesSec.forEach((time, i) => {
    const sec = time - shiftSec;
    put('nose', i, 0, -0.12);
    for (const side of ['left', 'right'] as const) {
      const s = side === 'left' ? 1 : -1;
      const moved = made.sides.includes(side) ? sec : -10;
      const rad = (deg: number) => (deg * Math.PI) / 180;
      const upper = rad(turn(moved, 'upperDeg', 15));
      const fore = rad(turn(moved - foreLag / 24, 'foreDeg', 30));
      const hand = fore + rad(turn(moved - (foreLag + handLag) / 24, 'bendDeg', 0));
      put(`${side}Hip`, i, s * 0.06, 0.29);
      put(`${side}Shoulder`, i, s * 0.11, 0);
      const ex = s * 0.11 + s * 0.17 * Math.sin(upper);
      const ey = 0.17 * Math.cos(upper);
      put(`${side}Elbow`, i, ex, ey);
      const wx = ex + s * 0.15 * Math.sin(fore);
      const wy = ey + 0.15 * Math.cos(fore);
      put(`${side}Wrist`, i, wx, wy);
      put(`${side}Hand`, i, wx + s * 0.05 * Math.sin(hand), wy + 0.05 * Math.cos(hand));
    }
  });
  return { timesSec, places };
}

/** A marked point that goes along a line or an arc as its author says, in a figure that otherwise stands still. */
export function madePoints(
  fps: number,
  seconds: number,
  heightPx: number,
  points: ReadonlyMap<Part, (sec: number) => readonly [x: number, y: number]>,
): Places {
  const timesSec = Float64Array.from({ length: Math.round(seconds * fps) }, (_, i) => i / fps);
  const places = new Map<Joint, { x: Float64Array; y: Float64Array }>();
  for (const [part, at] of points) {
    const x = timesSec.map((sec) => 320 + heightPx * at(sec)[0]);
    const y = timesSec.map((sec) => 200 + heightPx * at(sec)[1]);
    // What `tracksThrough` calls a joint may be any part.
    places.set(part as Joint, { x, y });
  }
  return { timesSec, places };
}
