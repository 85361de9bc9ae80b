import { type PuppetProfile, standingHeightMm } from '../puppet/profile.ts';
import type { Planted, PuppetJoint, PuppetMotion } from '../puppet/puppetMotion.ts';
import type { ChartSize } from './charts.ts';
import { PathPen } from './pathPen.ts';
import { type FigurePlaces, layOutFigure, type ScenePoint } from './puppetFigure.ts';
import { type Mark, pathMark, type Scene, textMark } from './scene.ts';

/** Something that stands against the pose in a frame, by the joints that it concerns. */
export interface StageWarning {
  readonly joints: readonly PuppetJoint[];
  readonly label: string;
}

/** What is shown of the puppet. */
export interface PuppetStageStyle extends ChartSize {
  readonly frame: number;
  /** Frames whose poses are shown thinly, before and after. */
  readonly onions: readonly number[];
  readonly warnings: readonly StageWarning[];
}

/** The part of the set that a shot takes place on, millimetres. */
interface Ground {
  readonly left: number;
  readonly right: number;
  readonly low: number;
  readonly high: number;
}

/** The set's part is the same for every frame of a motion, so it is looked up once. */
const grounds = new WeakMap<PuppetMotion, Ground>();

/** Lengths that a bar may have, millimetres: the longest that takes up at most a third of the width. */
const barLengths = [10, 20, 50, 100, 200, 500, 1000];
const small = { size: 11.5, font: 'text', weight: 400 } as const;
const digits = { size: 11.5, font: 'mono', weight: 400 } as const;

/**
 * The puppet on its floor in one frame, at one scale through the whole shot: what stands has its own ground and is marked under it,
 * for a foot nearer to the lens stands lower in the picture; thin figures show where it comes from and goes to, rings show where a
 * pose asks too much. A bar tells the scale.
 */
export function layOutPuppetStage(puppet: PuppetMotion, style: PuppetStageStyle): Scene {
  const { width, height, frame } = style;
  const { profile } = puppet;
  const ground = groundOf(puppet);
  const [padX, padTop, padBottom] = [24, 20, 46];
  const perMm = Math.min(
    (width - 2 * padX) / Math.max(1, ground.right - ground.left),
    (height - padTop - padBottom) / Math.max(1, ground.high - ground.low),
  );
  const middle = (ground.left + ground.right) / 2;
  const bottom = height - padBottom;
  const at = (xMm: number, yMm: number): ScenePoint => [
    width / 2 + (xMm - middle) * perMm,
    bottom - (yMm - Math.min(0, ground.low)) * perMm,
  ];
  const floorY = at(0, 0)[1];
  const places = placesAt(puppet, frame, at);
  const standing = puppet.planted.filter((p) => frame >= p.firstFrame && frame < p.firstFrame + p.frames);
  const marks: Mark[] = [
    pathMark('floor', new PathPen().line(8, floorY, width - 8, floorY).toString(), {
      stroke: 'line',
      strokeWidth: 1,
      role: 'floor',
    }),
    ...standing.flatMap((p) => groundUnder(p, places, profile, perMm)),
  ];
  for (const [i, other] of style.onions.entries())
    marks.push(
      ...layOutFigure(profile, placesAt(puppet, other, at), {
        perMm,
        id: `onion-${i}`,
        fill: null,
        stroke: 'line',
        strokeWidth: 1,
      }),
    );
  marks.push(
    ...layOutFigure(profile, places, {
      perMm,
      id: 'puppet',
      fill: 'tint',
      stroke: 'ink',
      strokeWidth: 1.4,
    }),
  );
  for (const p of standing) marks.push(...standMark(p, places));
  for (const [i, warning] of style.warnings.entries())
    for (const joint of warning.joints) {
      const place = places.get(joint);
      if (place)
        marks.push(
          pathMark(`warning-${i}-${joint}`, new PathPen().circle(...place, Math.max(9, 7 * perMm)).toString(), {
            stroke: 'doubt',
            strokeWidth: 2.2,
            dash: [5, 3],
            role: 'warning',
            label: warning.label,
          }),
        );
    }
  marks.push(...bar(perMm, width, height, profile));
  const summary = `Frame ${frame + 1} on “${profile.name}”, ${Math.round(standingHeightMm(profile))} mm high, as seen from the camera.`;
  return { unit: 'px', width, height, title: 'The puppet', summary, ground: null, marks };
}

/** Where everything of the puppet is in a frame. */
export function placesAt(
  puppet: PuppetMotion,
  frame: number,
  at: (xMm: number, yMm: number) => ScenePoint,
): Map<PuppetJoint, ScenePoint> {
  const places = new Map<PuppetJoint, ScenePoint>();
  for (const [joint, { xMm, yMm }] of puppet.paths) {
    const [x, y] = [xMm[frame] ?? Number.NaN, yMm[frame] ?? Number.NaN];
    if (!Number.isNaN(x + y)) places.set(joint, at(x, y));
  }
  return places;
}

/** The ground where a foot stands, under all of it, so that it crosses no leg. */
function groundUnder({ side }: Planted, places: FigurePlaces, { sizes }: PuppetProfile, perMm: number): Mark[] {
  const foot = [places.get(`${side}Ankle`), places.get(`${side}Heel`), places.get(`${side}Toe`)];
  if (!foot.every((p) => p !== undefined)) return [];
  const thick = sizes.legThickMm * perMm;
  const y = Math.max(...foot.map((p) => p[1]), foot[0]![1] + thick / 2);
  const [left, right] = [Math.min(...foot.map((p) => p[0])) - thick, Math.max(...foot.map((p) => p[0])) + thick];
  return [
    pathMark(`ground-${side}`, new PathPen().line(left, y, right, y).toString(), {
      stroke: 'heavy',
      strokeWidth: 1.2,
      role: 'ground',
    }),
  ];
}

function standMark({ side, on }: Planted, places: FigurePlaces): Mark[] {
  const [heel, toe] = [places.get(`${side}Heel`), places.get(`${side}Toe`)];
  if (!heel || !toe) return [];
  const [from, to] = on === 'foot' ? [heel, toe] : on === 'heel' ? [heel, heel] : [toe, toe];
  const [left, right] = [Math.min(from[0], to[0]) - 4, Math.max(from[0], to[0]) + 4];
  const y = Math.max(from[1], to[1]) + 5;
  const words = { foot: 'foot stands', heel: 'heel stands', toe: 'toes stand' }[on];
  return [
    pathMark(`stands-${side}`, new PathPen().rect(left, y, right - left, 4).toString(), {
      fill: 'mark',
      role: 'stand',
      label: `${side} ${words}`,
    }),
  ];
}

function bar(perMm: number, width: number, height: number, { unit }: PuppetProfile): Mark[] {
  const mm = barLengths.findLast((length) => length * perMm <= width / 3) ?? barLengths[0]!;
  const [left, y] = [14, height - 14];
  const right = left + mm * perMm;
  const pen = new PathPen()
    .line(left, y, right, y)
    .line(left, y - 4, left, y + 4)
    .line(right, y - 4, right, y + 4);
  return [
    pathMark('bar', pen.toString(), { stroke: 'quiet', strokeWidth: 1.2, role: 'scale' }),
    textMark('bar-mm', right + 6, y + 4, unit === 'mm' ? `${mm} mm` : `${(mm / 25.4).toFixed(2)} in`, {
      ...digits,
      colour: 'quiet',
    }),
    textMark('view', width - 10, y + 4, 'as the camera sees it', { ...small, colour: 'quiet', anchor: 'end' }),
  ];
}

function groundOf(puppet: PuppetMotion): Ground {
  const before = grounds.get(puppet);
  if (before) return before;
  let [left, right, low, high] = [Infinity, -Infinity, 0, 0];
  for (const { xMm, yMm } of puppet.paths.values())
    for (let k = 0; k < xMm.length; k++) {
      if (Number.isNaN(xMm[k]! + yMm[k]!)) continue;
      left = Math.min(left, xMm[k]!);
      right = Math.max(right, xMm[k]!);
      low = Math.min(low, yMm[k]!);
      high = Math.max(high, yMm[k]!);
    }
  const { headMm, headWidthMm, armThickMm } = puppet.profile.sizes;
  const around = Math.max(headWidthMm / 2, armThickMm);
  const ground =
    left <= right
      ? { left: left - around, right: right + around, low, high: high + headMm / 2 }
      : { left: -100, right: 100, low: 0, high: standingHeightMm(puppet.profile) };
  grounds.set(puppet, ground);
  return ground;
}
