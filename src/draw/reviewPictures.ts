import type { Joint } from '../base/joints.ts';
import { type ComparedArc, comparedArc, type IntoPicture, intoPicture } from '../compare/comparedArc.ts';
import type { Finding } from '../compare/finding.ts';
import { columnAt, type JointPlaces } from '../compare/places.ts';
import type { Review } from '../compare/review.ts';
import { type PuppetProfile, standingHeightMm } from '../puppet/profile.ts';
import type { PuppetJoint } from '../puppet/puppetMotion.ts';
import type { PageRoom } from './paper.ts';
import { PathPen } from './pathPen.ts';
import { layOutFigure, type ScenePoint } from './puppetFigure.ts';
import { StageView } from './scales.ts';
import { type Mark, pathMark } from './scene.ts';
import type { ColourName } from './tokens.ts';

/** A close look shows at least this share of the puppet's height. */
const closeShare = 0.32;
/** Around what must be seen stays this share of it. */
const airShare = 0.1;
/** Millimetres on paper. */
const lines = { path: 0.42, thin: 0.3, casing: 0.95, dot: 0.42, planHere: 1.15, shotHere: 0.7 } as const;
/** Planned paths are broken, shot ones are not. */
const planDash = [1.1, 0.9];

/** A box of picture pixels, y down. */
interface Box {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** A joint's way around the exposure, pixels of the shot's picture there. */
interface Ways {
  readonly shot: readonly ScenePoint[];
  readonly plan: readonly ScenePoint[];
  /** The shot's poses along its way. */
  readonly poses: readonly ScenePoint[];
  /** Where the joint is in the exposure; null = not known. */
  readonly shotHere: ScenePoint | null;
  readonly planHere: ScenePoint | null;
}

/** What a note shows of its exposure, all in pixels of the shot's picture. */
interface Seen {
  readonly exposure: number;
  /** The planned puppet, with how long a millimetre of it is. */
  readonly figure: ReadonlyMap<PuppetJoint, ScenePoint>;
  readonly pxPerMm: number;
  /** Where the puppet was found. */
  readonly found: readonly ScenePoint[];
  readonly ways: Ways | null;
}

/**
 * Two small pictures of a finding: the shot's own, cropped around the joint that is off or the whole puppet; and the planned puppet, with
 * a broken box where the first one is. Over both lie the joint's way as shot, unbroken, and as planned, broken.
 */
export function drawNotePictures(
  review: Review,
  profile: PuppetProfile,
  finding: Finding,
  [photo, figure]: readonly [photo: PageRoom, figure: PageRoom],
  id: string,
): Mark[] {
  const seen = lookAt(review, finding);
  const marks: Mark[] = [slotRule(photo, `${id}-photo-slot`), slotRule(figure, `${id}-figure-slot`)];
  const whole = boxAround([...seen.found, ...seen.figure.values(), ...(seen.ways ? allOf(seen.ways) : [])]);
  if (!whole) return marks;
  const heightPx = standingHeightMm(profile) * seen.pxPerMm;
  // What is told of the whole body is seen whole.
  const close = (finding.joint && closeBox(seen, heightPx)) ?? grown(whole, 0.16);
  const crop = inShape(close, photo);
  const onPhoto = viewInto(crop, photo);
  marks.push({
    kind: 'picture',
    id: `${id}-photo`,
    role: 'picture',
    label: `the shot at frame ${review.comparison.exposures[seen.exposure]!.firstFrame + 1}`,
    x: photo.left,
    y: photo.top,
    width: photo.right - photo.left,
    height: photo.bottom - photo.top,
    takeSec: Number.NaN,
    crop: {
      picture: review.pictureOf[seen.exposure]!,
      ...{ left: crop.left, top: crop.top, width: crop.right - crop.left, height: crop.bottom - crop.top },
    },
  });
  if (seen.ways) marks.push(...drawWays(seen.ways, onPhoto, photo, 'photo', `${id}-photo`));

  // Limbs are as thick as they are around their joints, and what is beside the body must be seen, too.
  const body = grown(boxAround([...seen.figure.values(), ...(seen.ways ? allOf(seen.ways) : [])])!, 0.14);
  const onFigure = viewInto(inShape(body, figure), figure);
  const places = new Map([...seen.figure].map(([joint, at]) => [joint, onFigure.toScreen(...at)] as const));
  marks.push(
    ...layOutFigure(profile, places, {
      perMm: seen.pxPerMm * onFigure.scale,
      id: `${id}-figure`,
      fill: 'sheet',
      stroke: 'quiet',
      strokeWidth: 0.22,
    }),
  );
  if (seen.ways) marks.push(...drawWays(seen.ways, onFigure, figure, 'paper', `${id}-figure`));
  if (finding.joint && seen.ways) {
    const [left, top] = onFigure.toScreen(crop.left, crop.top);
    const [right, bottom] = onFigure.toScreen(crop.right, crop.bottom);
    const box = {
      left: Math.max(figure.left + 0.4, left),
      right: Math.min(figure.right - 0.4, right),
      top: Math.max(figure.top + 0.4, top),
      bottom: Math.min(figure.bottom - 0.4, bottom),
    };
    if (box.right > box.left && box.bottom > box.top)
      marks.push(
        pathMark(`${id}-figure-close`, rect(box).toString(), {
          stroke: 'faint',
          strokeWidth: 0.2,
          dash: [0.5, 0.7],
        }),
      );
  }
  return marks;
}

/** Everything of the exposure in which a finding is to be looked at. */
function lookAt({ comparison }: Review, finding: Finding): Seen {
  const { registration, planFrame, exposures } = comparison;
  const i = Math.max(
    0,
    exposures.findLastIndex((e) => e.firstFrame <= finding.atFrame),
  );
  const arc = comparedArc(comparison, finding);
  const { place, perMm } = intoPicture(comparison, i);
  const all = (places: JointPlaces, pose: number) =>
    [...places.at].flatMap(([joint, { x, y }]): [Joint, ScenePoint][] => {
      const point = place(columnAt(x, pose), columnAt(y, pose));
      return isKnown(point) ? [[joint, point]] : [];
    });
  return {
    exposure: i,
    // What is early or late is held against what should be there at this frame; a pose against the moment that it shows.
    figure: new Map(all(registration.planned, arc?.against === 'frame' ? exposures[i]!.firstFrame : planFrame[i]!)),
    pxPerMm: perMm,
    found: all(registration.places, i).map(([, point]) => point),
    ways: arc && waysOf(arc, place),
  };
}

function waysOf(arc: ComparedArc, place: IntoPicture['place']): Ways {
  const known = (points: readonly ScenePoint[]) => points.map((p) => place(...p)).filter(isKnown);
  return {
    shot: known(arc.shotCurve),
    plan: known(arc.planCurve),
    poses: known(arc.shot),
    shotHere: known([arc.shot[arc.at]!])[0] ?? null,
    planHere: known([arc.plan[arc.at]!])[0] ?? null,
  };
}

function isKnown([x, y]: ScenePoint): boolean {
  return !Number.isNaN(x + y);
}

function allOf({ shot, plan, shotHere, planHere }: Ways): ScenePoint[] {
  return [...shot, ...plan, ...[shotHere, planHere].filter((p) => p !== null)];
}

/** Around both ways, with enough of the puppet to see what it is. Null where nothing of them is known. */
function closeBox({ ways }: Seen, heightPx: number): Box | null {
  const around = ways && boxAround(allOf(ways));
  if (!around) return null;
  const least = closeShare * heightPx;
  const air = airShare * Math.max(least, around.right - around.left, around.bottom - around.top);
  const half = (long: number) => Math.max(least, long + 2 * air) / 2;
  const [x, y] = [(around.left + around.right) / 2, (around.top + around.bottom) / 2];
  const [w, h] = [half(around.right - around.left), half(around.bottom - around.top)];
  return { left: x - w, right: x + w, top: y - h, bottom: y + h };
}

function drawWays(ways: Ways, view: StageView, room: PageRoom, on: 'photo' | 'paper', id: string): Mark[] {
  const [shotInk, planInk]: readonly ColourName[] = on === 'photo' ? ['overMark', 'overMiddle'] : ['ink', 'ink'];
  const strokeWidth = on === 'photo' ? lines.path : lines.thin;
  const marks: Mark[] = [];
  const inRoom = ([x, y]: ScenePoint) => x >= room.left && x <= room.right && y >= room.top && y <= room.bottom;
  const path = (name: string, points: readonly ScenePoint[], stroke: ColourName, dash: readonly number[]) => {
    const there = points.map((p) => view.toScreen(...p)).filter(inRoom);
    if (there.length < 2) return;
    const pen = new PathPen();
    for (const [k, [x, y]] of there.entries()) k === 0 ? pen.moveTo(x, y) : pen.lineTo(x, y);
    if (on === 'photo')
      marks.push(
        pathMark(`${id}-${name}-casing`, pen.toString(), { stroke: 'casing', strokeWidth: lines.casing, opacity: 0.7 }),
      );
    marks.push(pathMark(`${id}-${name}`, pen.toString(), { stroke, strokeWidth, dash, role: name }));
  };
  path('plan', ways.plan, planInk!, planDash);
  path('shot', ways.shot, shotInk!, []);
  const dots = new PathPen();
  // Small as the figure is, they would hide the way.
  if (on === 'photo')
    for (const point of ways.poses.map((p) => view.toScreen(...p)).filter(inRoom)) dots.circle(...point, lines.dot);
  if (dots.toString()) marks.push(pathMark(`${id}-dots`, dots.toString(), { fill: shotInk! }));
  const here = (
    name: 'planHere' | 'shotHere',
    point: ScenePoint | null,
    look: { fill: ColourName | null; stroke: ColourName },
  ) => {
    const there = point && view.toScreen(...point);
    if (!there || !inRoom(there)) return;
    const ring = new PathPen().circle(...there, lines[name] * (on === 'photo' ? 1 : 0.75)).toString();
    if (on === 'photo')
      marks.push(pathMark(`${id}-${name}-casing`, ring, { stroke: 'casing', strokeWidth: lines.casing, opacity: 0.7 }));
    marks.push(pathMark(`${id}-${name}`, ring, { ...look, strokeWidth, role: name }));
  };
  here('planHere', ways.planHere, { fill: on === 'paper' ? 'sheet' : null, stroke: planInk! });
  here('shotHere', ways.shotHere, { fill: shotInk!, stroke: on === 'photo' ? 'casing' : 'ink' });
  return marks;
}

/** A view that shows a box of pixels in all of a room of the same shape. */
function viewInto(box: Box, room: PageRoom): StageView {
  const scale = (room.right - room.left) / (box.right - box.left);
  return new StageView(scale, room.left - box.left * scale, room.top - box.top * scale);
}

/** The box made wider or higher, so that it has the shape of a room. */
function inShape(box: Box, room: PageRoom): Box {
  const shape = (room.right - room.left) / (room.bottom - room.top);
  const [w, h] = [Math.max(1, box.right - box.left), Math.max(1, box.bottom - box.top)];
  const [width, height] = [Math.max(w, h * shape), Math.max(h, w / shape)];
  const [x, y] = [(box.left + box.right) / 2, (box.top + box.bottom) / 2];
  return { left: x - width / 2, right: x + width / 2, top: y - height / 2, bottom: y + height / 2 };
}

/** With so much of its longer side added on every side. */
function grown(box: Box, share: number): Box {
  const by = share * Math.max(box.right - box.left, box.bottom - box.top);
  return { left: box.left - by, right: box.right + by, top: box.top - by, bottom: box.bottom + by };
}

function boxAround(points: readonly ScenePoint[]): Box | null {
  if (points.length === 0) return null;
  const [xs, ys] = [points.map(([x]) => x), points.map(([, y]) => y)];
  return { left: Math.min(...xs), right: Math.max(...xs), top: Math.min(...ys), bottom: Math.max(...ys) };
}

function rect({ left, right, top, bottom }: Box): PathPen {
  return new PathPen().rect(left, top, right - left, bottom - top);
}

function slotRule(room: PageRoom, id: string): Mark {
  return pathMark(id, rect(room).toString(), { stroke: 'line', strokeWidth: 0.2 });
}
