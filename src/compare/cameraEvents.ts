import type { Exposure } from '../timing/timing.ts';
import { median } from '../track/quantile.ts';
import { type Finding, framesWords, runWords } from './finding.ts';

/** How a picture differs from the one before as a whole. */
export interface PictureStep {
  /** How far everything that stands still went, pixels, y down. NaN = not known. */
  readonly shiftXPx: number;
  readonly shiftYPx: number;
  /** Mean brightness of what stands still, in any unit that is proportional to light in the file; NaN = not known. */
  readonly brightness: number;
}

/** What the camera did over the shot. */
export interface CameraPath {
  /** Where the still background lies against the first picture, pixels. Shape [exposure]. */
  readonly xPx: Float64Array;
  readonly yPx: Float64Array;
  readonly findings: readonly Finding[];
}

/** A shift below this is no bump, pixels: a match of one picture with another errs by some hundredths. */
const leastShiftPx = 0.35;
/** A change of brightness below this is no flicker: the eye sees about half a percent of the whole picture flash (practice). */
const leastFlickerShare = 0.008;
/** Both must exceed so many standard deviations of what pictures of this shot differ by anyway. */
const surely = 5;
/** Shifts within so many pictures to either side tell a camera that travels on purpose. */
const around = 4;

/**
 * Reads what happened to the picture as a whole: bumps of camera or set (a shift that neighbouring pictures do not share) and flicker
 * (brightness that its neighbours on both sides do not share). A camera that travels steadily is followed and not told.
 */
export function readCamera(exposures: readonly Exposure[], pictures: readonly PictureStep[] | null): CameraPath {
  const n = exposures.length;
  const path = { xPx: new Float64Array(n), yPx: new Float64Array(n) };
  if (!pictures) return { ...path, findings: [] };
  const [dx, dy] = [pictures.map((p) => p.shiftXPx || 0), pictures.map((p) => p.shiftYPx || 0)];
  const findings: Finding[] = [];
  const [offX, offY] = offNeighbours([dx, dy], leastShiftPx);
  const noise = deviation([...offX!, ...offY!]);
  const isShift = (i: number) => Math.hypot(dx[i]!, dy[i]!) > Math.max(0.1, 3 * noise);
  for (let i = 1; i < n; i++) {
    // Shifts that are only errors would add up.
    path.xPx[i] = path.xPx[i - 1]! + (isShift(i) ? dx[i]! : 0);
    path.yPx[i] = path.yPx[i - 1]! + (isShift(i) ? dy[i]! : 0);
  }
  for (let i = 1; i < n; i++) {
    const size = Math.hypot(offX![i]!, offY![i]!);
    if (!(size > leastShiftPx && size > surely * noise)) continue;
    // Knocked and put back: one bump, as long as it lasts.
    let back = i + 1;
    while (back < n && back <= i + 4 && Math.hypot(offX![back]! + offX![i]!, offY![back]! + offY![i]!) > 0.3 * size)
      back++;
    const isBack = back < n && back <= i + 4;
    const first = exposures[i]!.firstFrame;
    const frames = isBack ? exposures[back]!.firstFrame - first : exposures[i]!.frames;
    findings.push({
      kind: 'cameraBump',
      joint: null,
      also: [],
      firstFrame: first,
      frames,
      atFrame: first,
      size,
      unit: 'px',
      sd: noise,
      weight: size,
      sentence: `The whole picture jumps by ${size.toFixed(1)} px at ${runWords(first, 1)}${isBack ? `, and back ${framesWords(frames)} later` : ''}: the camera or the set was bumped.`,
    });
    if (isBack) i = back;
  }
  return { ...path, findings: [...findings, ...flickers(exposures, pictures)] };
}

function flickers(exposures: readonly Exposure[], pictures: readonly PictureStep[]): Finding[] {
  const light = pictures.map((p) => Math.log(p.brightness));
  const off = offNeighbours([light], leastFlickerShare)[0]!;
  const noise = deviation(off);
  return off.flatMap((share, i): Finding[] => {
    if (!(Math.abs(share) > leastFlickerShare && Math.abs(share) > surely * noise)) return [];
    const { firstFrame, frames } = exposures[i]!;
    const percent = 100 * (Math.exp(share) - 1);
    return [
      {
        kind: 'flicker',
        joint: null,
        also: [],
        firstFrame,
        frames,
        atFrame: firstFrame,
        size: percent,
        unit: '%',
        sd: 100 * noise,
        weight: Math.abs(percent) / 2,
        sentence: `The light flickers at ${runWords(firstFrame, 1)}: ${Math.abs(percent).toFixed(1)} % ${percent > 0 ? 'brighter' : 'darker'} than the pictures around it.`,
      },
    ];
  });
}

/**
 * How far each entry of some columns is from where its neighbours lead. What is surely off, in all columns together and by more than
 * `least`, is no neighbour to lead others: the worst is found first.
 */
function offNeighbours(columns: readonly (readonly number[])[], least: number): number[][] {
  const wrong = new Set<number>();
  for (;;) {
    const offs = columns.map((values) => values.map((_, i) => offAt(values, i, wrong)));
    const noise = deviation(offs.flat());
    const size = (i: number) => Math.hypot(...offs.map((off) => off[i]!));
    let worst = -1;
    for (let i = 0; i < columns[0]!.length; i++)
      if (!wrong.has(i) && size(i) > Math.max(least, surely * noise) && (worst < 0 || size(i) > size(worst))) worst = i;
    // With a third of all wrong, nothing is to be told from it.
    if (worst < 0 || wrong.size > columns[0]!.length / 3) return offs;
    wrong.add(worst);
  }
}

/**
 * How far an entry is from where its neighbours lead: the middle of all slopes between them, then the middle of where these bring each
 * (Theil & Sen, from memory), good for a third of wrong ones. Near the ends, where they lead less surely, a half of it. NaN counts as none.
 */
function offAt(values: readonly number[], i: number, wrong: ReadonlySet<number>): number {
  const near: number[] = [];
  for (let k = Math.max(0, i - around); k <= Math.min(values.length - 1, i + around); k++)
    if (k !== i && Number.isFinite(values[k]!) && !wrong.has(k)) near.push(k);
  if (near.length < 3 || !Number.isFinite(values[i]!)) return 0;
  const slopes = near.flatMap((a) => near.filter((b) => b > a).map((b) => (values[b]! - values[a]!) / (b - a)));
  const slope = median(slopes);
  const off = values[i]! - median(near.map((k) => values[k]! - slope * (k - i)));
  return Math.min(i, values.length - 1 - i) < 2 ? off / 2 : off;
}

/** Standard deviation from the median distance to 0: what is wrong now and then does not count. */
function deviation(values: readonly number[]): number {
  return 1.4826 * median(values.map(Math.abs));
}
