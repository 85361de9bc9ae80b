import { type FrameRate, fpsOf } from '../base/frameRate.ts';
import {
  type SoundPlace,
  type Soundtrack,
  soundBetween,
  soundFrame,
  soundShotSec,
  soundTakeSec,
} from '../base/sound.ts';
import type { Beat } from '../base/tempo.ts';
import type { Onset } from '../timing/onsets.ts';
import { clipText } from './fitText.ts';
import { measureBundled } from './measure.ts';
import { PathPen } from './pathPen.ts';
import type { FrameScale } from './scales.ts';
import { type Mark, pathMark, type Scene, type TextStyle, textMark } from './scene.ts';

/** What is heard along the shot. */
export interface SoundLane {
  readonly rate: FrameRate;
  readonly frameCount: number;
  /** Null = no sound: beats and dialogue stand alone. */
  readonly sound: Soundtrack | null;
  readonly place: SoundPlace;
  readonly onsets: readonly Onset[];
  readonly beats: readonly Beat[];
  /** What is said, by the frame at which it begins (from 0), rising. */
  readonly dialogue: readonly { readonly frameIndex: number; readonly text: string }[];
}

/** Where it is drawn, screen pixels. */
export interface SoundStripStyle {
  readonly width: number;
  readonly scale: FrameScale;
}

const band = { beats: 16, wave: 36, dialogue: 17 } as const;
const beatText: TextStyle = { size: 10.5, font: 'mono', weight: 700 };
const spoken: TextStyle = { size: 12, font: 'text', weight: 400 };
/** Faint sounds are to be seen beside loud ones: the wave's height goes with loudness to this power. */
const heightPower = 0.75;
/** A recording whose loudest moment is below this, −46 dB, is drawn as what it is: nearly nothing. */
const leastLoudest = 0.005;

/** Height of the strip: without sound there is no wave to draw. Screen pixels. */
export function soundStripHeight(hasSound: boolean): number {
  return band.beats + (hasSound ? band.wave : 6) + band.dialogue;
}

/**
 * The sound along the shot's frames: the wave as heard (from the frame on which it is heard, whatever was done to the poses), beats as
 * numbered ticks through it, beginnings of sounds as pins below, and what is said at the frame where it begins.
 */
export function layOutSoundStrip(lane: SoundLane, style: SoundStripStyle): Scene {
  const hasSound = lane.sound !== null;
  const height = soundStripHeight(hasSound);
  const floor = height - band.dialogue;
  const parts = [
    hasSound ? `${lane.onsets.length} sounds begin` : 'no sound',
    ...(lane.beats.length > 0 ? [`${lane.beats.length} beats`] : []),
    ...(lane.dialogue.length > 0 ? [`${lane.dialogue.length} notes of what is said`] : []),
  ];
  return {
    unit: 'px',
    width: style.width,
    height,
    title: 'Sound along the shot',
    summary: `${parts.join(', ')}.`,
    ground: null,
    marks: [
      ...drawSoundWave(lane, style),
      ...drawBeats(lane, style, floor),
      ...drawOnsets(lane, style, floor),
      ...drawDialogue(lane, style, height),
    ],
  };
}

/** The wave, one column a pixel, about a middle line. */
function drawSoundWave({ sound, place, rate, frameCount }: SoundLane, { scale }: SoundStripStyle): Mark[] {
  if (!sound) return [];
  const fps = fpsOf(rate);
  const left = Math.floor(scale.x(0));
  const right = Math.ceil(scale.x(frameCount));
  const takeSec = (x: number) => soundTakeSec(place, Math.min(frameCount, Math.max(0, scale.frame(x))) / fps);
  const columns = Array.from({ length: Math.max(1, right - left) }, (_, i) =>
    soundBetween(sound, takeSec(left + i), takeSec(left + i + 1)),
  );
  const loudest = Math.max(leastLoudest, ...columns.map((c) => Math.max(c.high, -c.low)));
  const middle = band.beats + band.wave / 2;
  const reach = (v: number) => ((v / loudest) ** heightPower * band.wave) / 2;
  const pen = new PathPen().moveTo(left, middle);
  for (const [i, { high }] of columns.entries()) pen.lineTo(left + i + 0.5, middle - Math.max(0.4, reach(high)));
  pen.lineTo(right, middle);
  for (const [i, { low }] of [...columns.entries()].reverse())
    pen.lineTo(left + i + 0.5, middle + Math.max(0.4, reach(-low)));
  return [
    pathMark('wave', pen.close().toString(), { fill: 'faint', role: 'wave', label: 'the loudness of the sound' }),
  ];
}

/** A tick through the wave at each beat's own time, and its number counted from 1 where there is room. */
function drawBeats({ beats, rate }: SoundLane, { scale }: SoundStripStyle, floor: number): Mark[] {
  const fps = fpsOf(rate);
  const first = beats[0];
  if (!first) return [];
  const apart = beats[1] ? (beats[1].shotSec - first.shotSec) * fps * scale.frameWidth : Number.POSITIVE_INFINITY;
  const every = [1, 2, 4, 8, 16].find((n) => n * apart >= 20) ?? 32;
  const ticks = new PathPen();
  const marks: Mark[] = [];
  for (const beat of beats) {
    const x = scale.x(beat.shotSec * fps);
    ticks.line(x, band.beats - 3, x, floor);
    const isNamed = ((beat.number % every) + every) % every === 0;
    if (!isNamed) continue;
    marks.push(
      textMark(`beat-${beat.number}`, x, band.beats - 3.5, String(beat.number + 1), {
        ...beatText,
        anchor: 'middle',
        colour: 'mark',
        role: 'beat',
        label: `beat ${beat.number + 1}, frame ${beat.frame + 1}`,
      }),
    );
  }
  return [pathMark('beats', ticks.toString(), { stroke: 'mark', strokeWidth: 1.4, role: 'beat' }), ...marks];
}

/** A pin where a sound begins: the clearer, the larger its head. */
function drawOnsets(
  { onsets, place, rate, frameCount, sound }: SoundLane,
  { scale }: SoundStripStyle,
  floor: number,
): Mark[] {
  if (!sound) return [];
  const fps = fpsOf(rate);
  return onsets.flatMap((onset, i) => {
    const shotSec = soundShotSec(place, onset.takeSec);
    const at = shotSec * fps;
    const frame = soundFrame(rate, shotSec);
    if (frame < 0 || frame >= frameCount) return [];
    const x = scale.x(at);
    const r = 1.8 + 1.8 * onset.strength;
    const pin = new PathPen()
      .polygon([
        [x, floor - 2 * r],
        [x + r, floor - r],
        [x, floor],
        [x - r, floor - r],
      ])
      .toString();
    return [
      pathMark(`onset-${i}-line`, new PathPen().line(x, band.beats + 2, x, floor - 2 * r).toString(), {
        stroke: 'ink',
        dash: [2, 2],
      }),
      pathMark(`onset-${i}`, pin, {
        fill: 'sheet',
        stroke: 'ink',
        strokeWidth: 1.4,
        role: 'onset',
        label: `a sound begins at frame ${frame + 1}`,
      }),
    ];
  });
}

/** What is said, from its frame to the next note's. */
function drawDialogue({ dialogue, frameCount }: SoundLane, { scale }: SoundStripStyle, height: number): Mark[] {
  return dialogue.flatMap(({ frameIndex, text }, i) => {
    const x = scale.x(frameIndex);
    const room = scale.x(Math.min(frameCount, dialogue[i + 1]?.frameIndex ?? frameCount)) - x - 1;
    const line = clipText(text, room, spoken, measureBundled);
    return [
      pathMark(
        `said-${frameIndex}-tick`,
        new PathPen().line(x, height - band.dialogue, x, height - band.dialogue + 4).toString(),
        {
          stroke: 'ink',
          strokeWidth: 1.2,
        },
      ),
      ...(line === ''
        ? []
        : [
            textMark(`said-${frameIndex}`, x + 0.5, height - 3, line, {
              ...spoken,
              role: 'dialogue',
              label: `frame ${frameIndex + 1}: ${text}`,
            }),
          ]),
    ];
  });
}
