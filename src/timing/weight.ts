/**
 * Falls and bounces of a point, read from where it was seen: one gravity for all its flights, what is kept of its speed at
 * each bounce, when it touches, how high it flies.
 */
import { bendOf, cutFlights, type Piece } from './flights.ts';
import { standardGravityMps2 } from './idealFall.ts';
import { LinearSystem } from './linearFit.ts';
import type { PointSamples } from './pointSamples.ts';

/** How a flight begins or ends: let go at rest, thrown or taken up by something, bounced, or only seen from or to there. */
export type FlightEnd = 'released' | 'bounce' | 'thrown' | 'caught' | 'lands' | 'edge';

/** One free flight. */
export interface Flight {
  /** Take seconds, between pictures; the sd of each is that of the fit. */
  readonly startSec: number;
  readonly endSec: number;
  readonly begins: FlightEnd;
  readonly ends: FlightEnd;
  /** When it is highest, take seconds; may lie outside the flight (something thrown down). */
  readonly apexSec: number;
  /** Upright pixels, y down: the highest place of the parabola. */
  readonly apexYPx: number;
  /** How far it falls from the highest place seen in the flight to its end, pixels; and rises from its beginning. */
  readonly dropPx: number;
  readonly risePx: number;
  /** Speed to the right and downward at beginning and end, pixels per second. */
  readonly vxPx: number;
  readonly startVyPx: number;
  readonly endVyPx: number;
  /** Root mean square distance of the believed samples from the parabola, pixels. */
  readonly residualPx: number;
}

/** One bounce. */
export interface Bounce {
  readonly takeSec: number;
  /** Standard deviation of the time, seconds. */
  readonly sdSec: number;
  /** Where the point is then, upright pixels. */
  readonly xPx: number;
  readonly yPx: number;
  /** Speed upward after it ÷ speed downward before it, and its standard deviation. */
  readonly restitution: number;
  readonly restitutionSd: number;
}

/** Everything that a falling point tells. */
export interface Fall {
  /** Downward acceleration in the picture and its standard deviation, pixels per second². */
  readonly gravityPxS2: number;
  readonly gravitySd: number;
  /** Pixels per metre at the ball's distance if that is 9.80665 m/s², and its standard deviation. */
  readonly pxPerMetre: number;
  readonly pxPerMetreSd: number;
  /** How far "down" of the fall is turned from "down" of the picture, degrees clockwise, and its sd: the camera's tilt. */
  readonly tiltDeg: number;
  readonly tiltSd: number;
  /** In order of time. */
  readonly flights: readonly Flight[];
  readonly bounces: readonly Bounce[];
  /** How the numbers came about, for "why?". */
  readonly why: string;
  /** Why it may be no fall at all; null when something was let go, landed or bounced. */
  readonly doubt: string | null;
}

/** Rounds of reweighting; the fit has come to rest long before. */
const rounds = 12;
/** A sample more than so many deviations off pulls no harder than one that is (Huber 1964). */
const huberSds = 1.5;
/** Samples this near to a contact, picture intervals, are left out: the shutter smears both sides of the bounce together. */
const contactReach = 0.6;
/** A flight is told when it has so many samples of its own. */
const leastSamples = 4;
/** Two flights with a longer time between them do not meet: picture intervals, and seconds where those are short. */
const meetReach = 3.5;
const meetSec = 0.12;
/** A camera is tilted by no more than 20° (this is its tangent), and alike for all flights within this share of gravity. */
const mostTilt = 0.36;
const mostUnlike = 0.08;
const sidewaysSds = 4;
/** One fall alone is told when it has so many samples: a shorter bend may be any move. */
const leastAlone = 8;

/** Without a bounce, the deepest flight must bend so many deviations away from a straight line. */
const leastBendAlone = 20;

/** A parabola y = y0 + v·s + ½ g s², x = x0 + u·s + ½ h s², s = time since the fit's zero. */
interface Parabola {
  readonly piece: Piece;
  y0: number;
  v: number;
  x0: number;
  u: number;
}

/** Finds falls and bounces; null when there is no flight to be sure of. */
export function findFall(samples: PointSamples): Fall | null {
  const cut = cutFlights(samples);
  if (!cut) return null;
  const flying = fallingStraight(
    samples,
    cut.noisePx,
    cut.gravityPxS2,
    cut.pieces.filter((p) => p.flies && p.last - p.first + 1 >= leastSamples),
  );
  const longest = Math.max(0, ...flying.map((p) => p.last - p.first + 1));
  if (flying.length === 0 || (flying.length === 1 && longest < leastAlone)) return null;
  const fit = fitTogether(samples, cut.noisePx, flying);
  if (!fit) return null;
  const fall = tell(samples, cut.pieces, fit);
  const bend = Math.max(...flying.map((piece) => bendOf(piece, samples, cut.noisePx, fit.gravity)));
  return fall.bounces.length > 0 || bend >= leastBendAlone ? fall : null;
}

/**
 * The pieces in which the point is not driven to the side: what swings or is carried is bent sideways as well, each time
 * otherwise; a tilted camera bends all flights alike.
 */
function fallingStraight(
  { timesSec, xPx }: PointSamples,
  noisePx: Float64Array,
  gravity: number,
  pieces: readonly Piece[],
): Piece[] {
  const bent = pieces.flatMap((piece) => {
    const fit = new LinearSystem(3);
    for (let i = piece.first; i <= piece.last; i++) {
      const s = timesSec[i]! - timesSec[piece.first]!;
      fit.add([0, 1, 2], [1, s, (s * s) / 2], xPx[i]! - xPx[piece.first]!, 1 / noisePx[i]! ** 2);
    }
    const solved = fit.solve();
    if (!solved) return [];
    return [{ piece, sideways: solved.values[2]!, doubt: sidewaysSds * Math.sqrt(solved.covariance[8]!) }];
  });
  const upright = bent.filter((b) => Math.abs(b.sideways) <= mostTilt * gravity + b.doubt);
  // The longest flight knows best how the camera stood.
  const length = (b: (typeof bent)[number]) => b.piece.last - b.piece.first;
  const usual = upright.reduce<(typeof bent)[number] | null>((a, b) => (a && length(a) >= length(b) ? a : b), null);
  return upright
    .filter((b) => Math.abs(b.sideways - (usual?.sideways ?? 0)) <= mostUnlike * gravity + b.doubt)
    .map((b) => b.piece);
}

interface Fit {
  readonly gravity: number;
  readonly sideways: number;
  readonly zeroSec: number;
  readonly parabolas: readonly Parabola[];
  /** Covariance of (g, then y0 and v of each) and of (h, then x0 and u of each), scaled by the misfit. */
  readonly covariance: Float64Array;
  readonly gravitySd: number;
  readonly sidewaysSd: number;
  readonly residualPx: readonly number[];
  readonly interval: number;
}

/** All flights at once, one acceleration in common; contacts found on the way tell which samples to leave out. */
function fitTogether(samples: PointSamples, noisePx: Float64Array, flying: readonly Piece[]): Fit | null {
  const { timesSec, xPx, yPx } = samples;
  const zeroSec = timesSec[flying[0]!.first]!;
  const interval = medianInterval(timesSec);
  const parabolas = flying.map((piece): Parabola => ({ piece, y0: 0, v: 0, x0: 0, u: 0 }));
  const unknowns = 1 + 2 * parabolas.length;
  let [gravity, sideways] = [Number.NaN, Number.NaN];
  let solved: { y: ReturnType<LinearSystem['solve']>; x: ReturnType<LinearSystem['solve']> } = { y: null, x: null };
  let contacts: number[] = [];
  let scale = 1;
  const isLeftOut = (sec: number) => contacts.some((contact) => Math.abs(sec - contact) < contactReach * interval);
  for (let round = 0; round < rounds; round++) {
    const [forY, forX] = [new LinearSystem(unknowns), new LinearSystem(unknowns)];
    let [squares, used] = [0, 0];
    for (const [j, p] of parabolas.entries())
      for (let i = p.piece.first; i <= p.piece.last; i++) {
        if (isLeftOut(timesSec[i]!)) continue;
        const s = timesSec[i]! - zeroSec;
        const noise = noisePx[i]!;
        const off = round === 0 ? [0, 0] : misfit(p, s, xPx[i]!, yPx[i]!, gravity, sideways).map((d) => d / noise);
        const weightOf = (sds: number) => Math.min(1, (huberSds * scale) / Math.abs(sds)) / noise ** 2;
        squares += Math.min(off[1]! ** 2, (huberSds * scale) ** 2);
        used++;
        const places = [0, 1 + 2 * j, 2 + 2 * j];
        const factors = [(s * s) / 2, 1, s];
        forY.add(places, factors, yPx[i]!, off[1] === 0 ? 1 / noise ** 2 : weightOf(off[1]!));
        forX.add(places, factors, xPx[i]!, off[0] === 0 ? 1 / noise ** 2 : weightOf(off[0]!));
      }
    solved = { y: forY.solve(), x: forX.solve() };
    if (!solved.y || !solved.x) return null;
    gravity = solved.y.values[0]!;
    sideways = solved.x.values[0]!;
    for (const [j, p] of parabolas.entries()) {
      p.y0 = solved.y.values[1 + 2 * j]!;
      p.v = solved.y.values[2 + 2 * j]!;
      p.x0 = solved.x.values[1 + 2 * j]!;
      p.u = solved.x.values[2 + 2 * j]!;
    }
    contacts = parabolas.flatMap((p, j) => {
      const next = parabolas[j + 1];
      const sec = next ? meeting(p, next) : null;
      return sec !== null && next && isBetween(sec + zeroSec, p.piece, next.piece, samples, interval)
        ? [sec + zeroSec]
        : [];
    });
    if (round > 0) scale = Math.max(0.5, Math.sqrt(squares / Math.max(1, used - unknowns)));
  }
  if (!solved.y || !solved.x || !(gravity > 0)) return null;
  const residualPx = parabolas.map((p) => {
    let [squares, count] = [0, 0];
    for (let i = p.piece.first; i <= p.piece.last; i++) {
      if (isLeftOut(timesSec[i]!)) continue;
      squares += misfit(p, timesSec[i]! - zeroSec, xPx[i]!, yPx[i]!, gravity, sideways)[1] ** 2;
      count++;
    }
    return Math.sqrt(squares / Math.max(1, count));
  });
  // Errors of following stay alike for some pictures: the fit's own deviation is taken twice.
  const inflate = 2 * Math.max(1, scale);
  return {
    gravity,
    sideways,
    zeroSec,
    parabolas,
    covariance: solved.y.covariance.map((c) => c * inflate ** 2),
    gravitySd: inflate * Math.sqrt(solved.y.covariance[0]!),
    sidewaysSd: inflate * Math.sqrt(solved.x.covariance[0]!),
    residualPx,
    interval,
  };
}

/** How far a sample lies from a parabola, [x, y], pixels. */
function misfit(p: Parabola, s: number, x: number, y: number, gravity: number, sideways: number): [number, number] {
  return [x - p.x0 - p.u * s - (sideways * s * s) / 2, y - p.y0 - p.v * s - (gravity * s * s) / 2];
}

/** Where two parabolas of one curvature are equally high, seconds since the fit's zero; null when they never are. */
function meeting(a: Parabola, b: Parabola): number | null {
  const turn = b.v - a.v;
  // A bounce turns the speed upward; anything else is no floor.
  return turn < 0 ? (a.y0 - b.y0) / turn : null;
}

function isBetween(sec: number, a: Piece, b: Piece, { timesSec }: PointSamples, interval: number): boolean {
  const [end, start] = [timesSec[a.last]!, timesSec[b.first]!];
  return start - end <= meetWithin(interval) && sec > end - interval && sec < start + interval;
}

function meetWithin(interval: number): number {
  return Math.max(meetReach * interval, meetSec);
}

function medianInterval(timesSec: Float64Array): number {
  const steps = [...timesSec.subarray(1)].map((t, i) => t - timesSec[i]!).sort((a, b) => a - b);
  return steps[steps.length >> 1] ?? Number.NaN;
}

function tell(samples: PointSamples, pieces: readonly Piece[], fit: Fit): Fall {
  const { gravity, sideways, gravitySd, sidewaysSd, parabolas, zeroSec } = fit;
  const bounces: Bounce[] = [];
  const after = new Map<number, Bounce>();
  for (let j = 0; j + 1 < parabolas.length; j++) {
    const bounce = bounceBetween(samples, fit, j);
    if (!bounce) continue;
    bounces.push(bounce);
    after.set(j, bounce);
  }
  const flights = parabolas.map((p, j): Flight => {
    const at = (sec: number) => p.y0 + p.v * (sec - zeroSec) + (gravity * (sec - zeroSec) ** 2) / 2;
    const speed = (sec: number) => p.v + gravity * (sec - zeroSec);
    const apexSec = zeroSec - p.v / gravity;
    const begin = after.get(j - 1)
      ? ({ sec: after.get(j - 1)!.takeSec, as: 'bounce' } as const)
      : beginning(samples, pieces, fit, j);
    const end = after.get(j)
      ? ({ sec: after.get(j)!.takeSec, as: 'bounce' } as const)
      : ending(samples, pieces, fit, j);
    const highest = at(Math.min(end.sec, Math.max(begin.sec, apexSec)));
    return {
      startSec: begin.sec,
      endSec: end.sec,
      begins: begin.as,
      ends: end.as,
      apexSec,
      apexYPx: at(apexSec),
      dropPx: at(end.sec) - highest,
      risePx: at(begin.sec) - highest,
      vxPx: p.u + sideways * (apexSec - zeroSec),
      startVyPx: speed(begin.sec),
      endVyPx: speed(end.sec),
      residualPx: fit.residualPx[j]!,
    };
  });
  const total = Math.hypot(gravity, sideways);
  const tiltSd = ((180 / Math.PI) * sidewaysSd) / gravity;
  const tiltDeg = (-180 / Math.PI) * Math.atan2(sideways, gravity);
  // A tilt within its errors is none: then only the upright part is gravity.
  const full = Math.abs(tiltDeg) > 3 * tiltSd ? total : gravity;
  const samplesUsed = parabolas.reduce((sum, { piece }) => sum + piece.last - piece.first + 1, 0);
  return {
    gravityPxS2: full,
    gravitySd,
    pxPerMetre: full / standardGravityMps2,
    pxPerMetreSd: gravitySd / standardGravityMps2,
    tiltDeg,
    tiltSd,
    flights,
    bounces,
    doubt: isUndoubted(flights, bounces)
      ? null
      : 'Nothing is let go, lands or bounces here, so this may be a move of the hand that only looks like a flight.',
    why: `One parabola for each of ${flights.length} ${flights.length === 1 ? 'flight' : 'flights'}, all with the same gravity, through ${samplesUsed} pictures; those at a bounce are left out, as the shutter smears them.`,
  };
}

function isUndoubted(flights: readonly Flight[], bounces: readonly Bounce[]): boolean {
  return (
    bounces.length > 0 ||
    flights.some((f) => f.begins === 'released' || f.ends === 'lands' || (f.begins === 'edge' && f.ends === 'edge'))
  );
}

function bounceBetween(samples: PointSamples, fit: Fit, j: number): Bounce | null {
  const { parabolas, gravity, zeroSec, covariance } = fit;
  const [a, b] = [parabolas[j]!, parabolas[j + 1]!];
  const s = meeting(a, b);
  if (s === null || !isBetween(s + zeroSec, a.piece, b.piece, samples, fit.interval)) return null;
  const down = a.v + gravity * s;
  const up = -(b.v + gravity * s);
  if (!(down > 0 && up > 0)) return null;
  const size = 1 + 2 * parabolas.length;
  /** Standard deviation of a quantity by its slopes in (g, y0 a, v a, y0 b, v b). */
  const sdOf = (slopes: readonly number[]) => {
    const places = [0, 1 + 2 * j, 2 + 2 * j, 3 + 2 * j, 4 + 2 * j];
    let variance = 0;
    for (let p = 0; p < 5; p++)
      for (let q = 0; q < 5; q++) variance += slopes[p]! * slopes[q]! * covariance[places[p]! * size + places[q]!]!;
    return Math.sqrt(Math.max(0, variance));
  };
  const turn = b.v - a.v;
  const ds = [0, 1 / turn, s / turn, -1 / turn, -s / turn];
  // e = up / down, both of which move with s as well.
  const dDown = ds.map((d, k) => gravity * d + (k === 0 ? s : 0) + (k === 2 ? 1 : 0));
  const dUp = ds.map((d, k) => -gravity * d - (k === 0 ? s : 0) - (k === 4 ? 1 : 0));
  return {
    takeSec: zeroSec + s,
    sdSec: sdOf(ds),
    xPx: a.x0 + a.u * s + (fit.sideways * s * s) / 2,
    yPx: a.y0 + a.v * s + (gravity * s * s) / 2,
    restitution: up / down,
    restitutionSd: sdOf(dUp.map((d, k) => d / down - (up * dDown[k]!) / down ** 2)),
  };
}

/** Where a flight that follows no bounce begins. */
function beginning(
  samples: PointSamples,
  pieces: readonly Piece[],
  fit: Fit,
  j: number,
): { sec: number; as: FlightEnd } {
  const { timesSec, yPx } = samples;
  const p = fit.parabolas[j]!;
  const { first } = p.piece;
  const before = pieces[pieces.indexOf(p.piece) - 1];
  const startSec = timesSec[first]!;
  if (!before || startSec - timesSec[before.last]! > meetWithin(fit.interval)) return { sec: startSec, as: 'edge' };
  const apexSec = fit.zeroSec - p.v / fit.gravity;
  const apexY = p.y0 - p.v ** 2 / (2 * fit.gravity);
  // At rest before, and the parabola's top is there and then: let go.
  const isAtRest = Math.abs(yPx[before.last]! - yPx[Math.max(before.first, before.last - 3)]!) < 1.5;
  if (isAtRest && Math.abs(apexY - yPx[before.last]!) < 2 && Math.abs(apexSec - startSec) < 4 * fit.interval)
    return { sec: apexSec, as: 'released' };
  return { sec: (startSec + timesSec[before.last]!) / 2, as: 'thrown' };
}

/** Where a flight that no bounce follows ends. */
function ending(samples: PointSamples, pieces: readonly Piece[], fit: Fit, j: number): { sec: number; as: FlightEnd } {
  const { timesSec, yPx } = samples;
  const p = fit.parabolas[j]!;
  const { last } = p.piece;
  const next = pieces[pieces.indexOf(p.piece) + 1];
  const endSec = timesSec[last]!;
  if (!next || timesSec[next.first]! - endSec > meetWithin(fit.interval)) return { sec: endSec, as: 'edge' };
  const rest = yPx[Math.min(next.last, next.first + 2)]!;
  const isAtRest = Math.abs(yPx[next.last]! - rest) < 1.5;
  // The falling branch of the parabola at the height where it comes to rest.
  const root = p.v ** 2 + 2 * fit.gravity * (rest - p.y0);
  const sec = root >= 0 ? fit.zeroSec + (-p.v + Math.sqrt(root)) / fit.gravity : Number.NaN;
  if (isAtRest && sec > endSec - 2 * fit.interval && sec < timesSec[next.first]! + 2 * fit.interval)
    return { sec, as: 'lands' };
  return { sec: (endSec + timesSec[next.first]!) / 2, as: 'caught' };
}
