import type { Joint } from '../base/joints.ts';
import type { PuppetProfile } from '../puppet/profile.ts';
import type { PuppetJoint } from '../puppet/puppetMotion.ts';
import { PathPen } from './pathPen.ts';
import { type Mark, pathMark } from './scene.ts';
import type { ColourName } from './tokens.ts';

/** A place in the scene. */
export type ScenePoint = readonly [number, number];

/** Where the joints of a puppet are in a scene; a joint that is missing is not known. */
export type FigurePlaces = ReadonlyMap<PuppetJoint, ScenePoint>;

/** How a figure is drawn. */
export interface FigureLook {
  /** Scene units for one millimetre of the puppet. */
  readonly perMm: number;
  /** Put before the id of each mark. */
  readonly id: string;
  readonly fill: ColourName | null;
  readonly stroke: ColourName;
  readonly strokeWidth: number;
}

/** Limbs from the joint nearer to the body outwards, by side. What is behind is drawn first. */
const limbs = (side: 'left' | 'right'): readonly (readonly [Joint, Joint, 'armThickMm' | 'legThickMm'])[] => [
  [`${side}Hip`, `${side}Knee`, 'legThickMm'],
  [`${side}Knee`, `${side}Ankle`, 'legThickMm'],
  [`${side}Shoulder`, `${side}Elbow`, 'armThickMm'],
  [`${side}Elbow`, `${side}Wrist`, 'armThickMm'],
  [`${side}Wrist`, `${side}Hand`, 'armThickMm'],
];

/**
 * The puppet as it stands in one frame: limbs, trunk and head as thick as they are. Its right side is drawn with a broken
 * outline, so that the sides can be told in grey. What is not known is left out.
 */
export function layOutFigure(profile: PuppetProfile, places: FigurePlaces, look: FigureLook): Mark[] {
  const { sizes, tail } = profile;
  const { perMm, id } = look;
  const marks: Mark[] = [];
  const draw = (name: string, d: string, side: 'left' | 'right' | 'middle') =>
    marks.push(
      pathMark(`${id}-${name}`, d, {
        fill: look.fill,
        stroke: look.stroke,
        strokeWidth: look.strokeWidth,
        dash: side === 'right' ? [3 * look.strokeWidth, 2 * look.strokeWidth] : [],
        role: 'limb',
      }),
    );
  const capsule = (
    name: string,
    from: PuppetJoint,
    to: PuppetJoint,
    thickMm: number,
    side: 'left' | 'right' | 'middle',
  ) => {
    const [a, b] = [places.get(from), places.get(to)];
    if (a && b) draw(name, new PathPen().capsule(...a, ...b, (thickMm / 2) * perMm).toString(), side);
  };
  tail?.piecesMm.forEach((_, k) => {
    capsule(`tail${k + 1}`, k === 0 ? 'pelvis' : `tail${k}`, `tail${k + 1}`, tail.thickMm, 'middle');
  });
  for (const side of ['right', 'left'] as const) {
    for (const [from, to, thick] of limbs(side)) capsule(to, from, to, sizes[thick], side);
    const foot = footOf(places, side);
    if (foot) draw(`${side}Foot`, new PathPen().polygon(foot).toString(), side);
  }
  const trunk = (['rightShoulder', 'leftShoulder', 'leftHip', 'rightHip'] as const).map((j) => places.get(j));
  if (trunk.every((p) => p !== undefined)) draw('trunk', new PathPen().polygon(trunk).toString(), 'middle');
  const neck = places.get('neck');
  const face = headCentre(places);
  if (neck && face) {
    const away = Math.hypot(face[0] - neck[0], face[1] - neck[1]) || 1;
    const up = (mm: number): ScenePoint => [
      neck[0] + ((face[0] - neck[0]) / away) * mm * perMm,
      neck[1] + ((face[1] - neck[1]) / away) * mm * perMm,
    ];
    const thick = Math.min(sizes.headMm, sizes.headWidthMm);
    const [low, high] = [up(sizes.neckMm + thick / 2), up(sizes.neckMm + sizes.headMm - thick / 2)];
    draw('neck', new PathPen().capsule(...neck, ...low, (sizes.armThickMm / 2) * perMm).toString(), 'middle');
    draw('head', new PathPen().capsule(...low, ...high, (sizes.headWidthMm / 2) * perMm).toString(), 'middle');
  }
  return marks;
}

/** Middle of the ears, else of the eyes, else the nose; null when the head is not known. */
export function headCentre(places: FigurePlaces): ScenePoint | null {
  for (const [a, b] of [
    ['leftEar', 'rightEar'],
    ['leftEye', 'rightEye'],
  ] as const) {
    const [l, r] = [places.get(a), places.get(b)];
    if (l && r) return [(l[0] + r[0]) / 2, (l[1] + r[1]) / 2];
  }
  return places.get('nose') ?? null;
}

/** Ankle, heel and toe as a wedge; null where one of them is not known. */
function footOf(places: FigurePlaces, side: 'left' | 'right'): ScenePoint[] | null {
  const foot = [places.get(`${side}Ankle`), places.get(`${side}Heel`), places.get(`${side}Toe`)];
  return foot.every((p) => p !== undefined) ? foot : null;
}
