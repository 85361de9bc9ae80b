import type { Lag } from '../timing/lags.ts';
import { clipText } from './fitText.ts';
import { measureBundled } from './measure.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

/** Size of the chart, screen pixels; its height follows from the links. */
export interface LagChartStyle {
  readonly width: number;
}

const words: TextStyle = { size: 12.5, font: 'text', weight: 400 };
const digits: TextStyle = { size: 12, font: 'mono', weight: 700 };
const small: TextStyle = { size: 11, font: 'mono', weight: 400 };
const row = 30;
const head = 10;
const foot = 20;
/** Surer than this a lag is drawn as a full dot; below it, as an open one. */
const sure = 0.6;
/** A picture that is empty sideways still shows so many frames. */
const leastSpan = 3;

/** Height of the chart of so many lags (one row more: the leading link). */
export function lagChartHeight(lags: number): number {
  return head + (lags + 1) * row + foot;
}

/**
 * A chain in one move, from the leading link down: each link stands as far right as it comes later than the first, in frames,
 * with a line as long as its standard deviation to either side. Full dot: sure; open dot: not so sure; a cross at the place of
 * the link above, with a broken line: cannot be said.
 * @param lags of neighbouring links, in the order of the chain.
 */
export function layOutLagChart(lags: readonly Lag[], style: LagChartStyle): Scene {
  const first = lags[0];
  const height = lagChartHeight(lags.length);
  const scene = { unit: 'px', width: style.width, height, title: 'Lead and drag', ground: null } as const;
  if (!first) return { ...scene, summary: 'Nothing to compare.', marks: [] };
  const named = Math.min(
    0.46 * style.width,
    Math.max(...[first.leader, ...lags.map((l) => l.follower)].map((w) => measureBundled(w, words))) + 8,
  );
  const told = 74;
  const at: { frames: number; lag: Lag | null; isTold: boolean }[] = [{ frames: 0, lag: null, isTold: true }];
  for (const lag of lags) {
    const before = at.at(-1)!.frames;
    at.push({ frames: before + (lag.lagFrames ?? 0), lag, isTold: lag.lagFrames !== null });
  }
  const low = Math.floor(Math.min(0, ...at.map((a) => a.frames - (a.lag?.sdFrames ?? 0))));
  const high = Math.max(low + leastSpan, Math.ceil(Math.max(0, ...at.map((a) => a.frames + (a.lag?.sdFrames ?? 0)))));
  const left = named + 10;
  const right = style.width - told - 6;
  const x = (frames: number) => left + ((frames - low) / (high - low)) * Math.max(1, right - left);
  const y = (i: number) => head + (i + 0.5) * row;
  const floor = head + at.length * row;
  const marks: Mark[] = [];
  const every = high - low > 9 ? 5 : high - low > 5 ? 2 : 1;
  for (let f = low; f <= high; f++) {
    const isZero = f === 0;
    marks.push(
      pathMark(`frame-${f}`, new PathPen().line(x(f), head, x(f), floor).toString(), {
        stroke: isZero ? 'quiet' : 'line',
        strokeWidth: isZero ? 1.2 : 1,
      }),
    );
    if (f % every === 0)
      marks.push(
        textMark(`frame-${f}-number`, x(f), floor + 12, String(f).replace('-', '−'), {
          ...small,
          colour: 'quiet',
          anchor: 'middle',
        }),
      );
  }
  marks.push(
    textMark('unit', style.width, floor + 12, 'frames later', {
      ...small,
      font: 'text',
      colour: 'quiet',
      anchor: 'end',
    }),
  );
  at.forEach(({ frames, lag, isTold }, i) => {
    const name = lag?.follower ?? first.leader;
    const before = at[i - 1];
    if (before)
      marks.push(
        pathMark(`tie-${i}`, new PathPen().line(x(before.frames), y(i - 1), x(frames), y(i)).toString(), {
          stroke: 'ink',
          strokeWidth: isTold ? 2 : 1.2,
          dash: isTold ? [] : [2, 3],
        }),
      );
    if (lag?.sdFrames) {
      const [a, b] = [x(frames - lag.sdFrames), x(frames + lag.sdFrames)];
      marks.push(
        pathMark(
          `sd-${i}`,
          new PathPen()
            .line(a, y(i), b, y(i))
            .line(a, y(i) - 3, a, y(i) + 3)
            .line(b, y(i) - 3, b, y(i) + 3)
            .toString(),
          {
            stroke: 'quiet',
            strokeWidth: 1.2,
          },
        ),
      );
    }
    const isSure = lag === null || lag.confidence >= sure;
    const sign = isTold
      ? new PathPen().circle(x(frames), y(i), 5)
      : new PathPen()
          .line(x(frames) - 4, y(i) - 4, x(frames) + 4, y(i) + 4)
          .line(x(frames) - 4, y(i) + 4, x(frames) + 4, y(i) - 4);
    marks.push(
      pathMark(`link-${i}`, sign.toString(), {
        fill: isTold ? (isSure ? 'ink' : 'sheet') : null,
        stroke: isTold ? 'ink' : 'quiet',
        strokeWidth: 1.8,
        role: 'link',
        label: lag ? lagWords(lag) : `${name} leads`,
      }),
      textMark(`link-${i}-name`, 0, y(i) + 4, clipText(name, named, words, measureBundled), words),
      textMark(`link-${i}-lag`, style.width, y(i) + 4, lag ? signed(lag) : '', {
        ...digits,
        weight: isSure && isTold ? 700 : 400,
        colour: isTold ? 'ink' : 'quiet',
        anchor: 'end',
      }),
    );
  });
  return { ...scene, summary: `${lags.map(lagWords).join('; ')}.`, marks };
}

/** "+2.5 ±0.2", or "not said". */
function signed(lag: Lag): string {
  if (lag.lagFrames === null) return 'not said';
  return `${signedFrames(lag.lagFrames)} ±${(lag.sdFrames ?? 0).toFixed(1)}`;
}

/** A number of frames with its sign, to a tenth: "+2.5", "−0.3", "0". */
export function signedFrames(frames: number): string {
  const tenths = Math.round(10 * frames) / 10;
  return tenths === 0 ? '0' : `${tenths > 0 ? '+' : '−'}${Math.abs(tenths).toFixed(1)}`;
}

/** "left forearm 2.5 frames after left upper arm", or why it cannot be said. */
export function lagWords(lag: Lag): string {
  if (lag.lagFrames === null) return `${lag.follower} after ${lag.leader}: not to be said, ${lag.why}`;
  const frames = Math.abs(Math.round(10 * lag.lagFrames) / 10);
  if (frames === 0) return `${lag.follower} together with ${lag.leader}`;
  return `${lag.follower} ${frames} frames ${lag.lagFrames > 0 ? 'after' : 'before'} ${lag.leader}`;
}
