import { detectedJoints, type Joint, type Part } from '../../base/joints.ts';
import type { NewestPose } from '../../detect/gathered.ts';
import { drawJointNotes } from '../../draw/jointNotes.ts';
import { arcWithin } from '../../draw/pictureOverlay.ts';
import { drawProps } from '../../draw/propMarks.ts';
import type { StageView } from '../../draw/scales.ts';
import type { Scene } from '../../draw/scene.ts';
import { layOutStage, type Pose, type PosePoint, poseAt } from '../../draw/stage.ts';
import { arcOf } from '../../timing/arcs.ts';
import type { Timing } from '../../timing/timing.ts';
import { circleNow, frameKnown } from '../arcs/arcActions.ts';
import type { Session } from '../session.svelte.ts';
import { wordsOfSession } from '../timing/phaseActions.ts';
import { pointsAt } from '../tracks/pointActions.ts';

/** Sightings below this are not drawn while reading: they jump about and say nothing. */
const leastConfidence = 0.2;
/** Poses before and after that are shown, to each side. */
const onionsEachSide = 2;

/** What the viewer shows. */
export interface Shown {
  readonly frame: number;
  readonly view: StageView;
  readonly width: number;
  readonly height: number;
  /** The joints just seen, while reading; else null. */
  readonly readingNow: NewestPose | null;
}

/** What lies over the picture on the present screen, marked points on top; null = nothing. */
export function overlayScene(session: Session, shown: Shown): Scene | null {
  const { frame, view, width, height, readingNow } = shown;
  const body = bodyScene(session, shown);
  // A point whose arc is drawn is marked and named there.
  const { arcJoints } = session.view;
  const onArc = session.screen === 'arcs' && session.timing ? arcJoints.filter((part) => !isFrom(session, part)) : [];
  const free = pointsAt(session, frame).filter(({ id }) => !onArc.includes(id));
  const points = readingNow ? [] : drawProps(free, view);
  if (points.length === 0) return body;
  const under = body ?? layOutStage({ view, width, height, frame, pose: null, onions: [], arcs: [], chosen: null });
  return { ...under, marks: [...under.marks, ...points] };
}

/** Are arcs seen from this part, so that it has none of its own? */
function isFrom({ timing, view }: Session, part: Part): boolean {
  return timing !== null && frameKnown(timing, view.arcRelativeTo) === part;
}

function bodyScene(session: Session, { frame, view, width, height, readingNow }: Shown): Scene | null {
  const { timing, screen } = session;
  const looks = session.view;
  const base = { view, width, height, frame, onions: [], arcs: [], chosen: null };
  if (readingNow) return layOutStage({ ...base, pose: seenPose(readingNow) });
  if (!timing || frame >= timing.grid.frameCount) return null;
  if (screen === 'check') return checkScene(session, timing, { frame, view, width, height });
  if (screen === 'tracks') return tracksScene(session, { frame, view, width, height });
  const pose = poseAt(timing.motion, frame);
  const isArcs = screen === 'arcs';
  const shownArcs = isArcs ? looks.arcJoints.filter((j) => timing.motion.paths.has(j)) : [];
  const from = frameKnown(timing, looks.arcRelativeTo);
  const arcs = shownArcs.filter((j) => j !== from).map((joint) => arcOf(timing, joint, from, frame));
  const exposure = timing.exposures.findIndex((e) => frame >= e.firstFrame && frame < e.firstFrame + e.frames);
  const neighbours = Array.from({ length: onionsEachSide }, (_, i) => [exposure - i - 1, exposure + i + 1]).flat();
  return layOutStage({
    ...base,
    pose: looks.showsSkeleton ? pose : null,
    arcs: looks.showsTicks ? arcs : arcs.map((arc) => ({ ...arc, tickFrames: [] })),
    words: wordsOfSession(session),
    circle: isArcs && looks.showsCircle ? circleNow(session, timing, arcs.at(-1)) : null,
    onions:
      isArcs && looks.showsOnions
        ? neighbours.flatMap((i) => {
            const other = timing.exposures[i];
            return other ? [poseAt(timing.motion, other.firstFrame)] : [];
          })
        : [],
    chosen: null,
  });
}

/** The performer, with their own way around the finding that is looked at: what the plan was made of. */
function checkScene(
  session: Session,
  timing: Timing,
  { frame, view, width, height }: Omit<Shown, 'readingNow'>,
): Scene {
  const { arc } = session.check;
  const part = arc && timing.motion.paths.has(arc.joint) ? arc.joint : null;
  const end = timing.grid.frameCount - 1;
  const span = arc && { firstFrame: arc.frames[0]!, lastFrame: Math.min(end, arc.frames.at(-1)!) };
  return layOutStage({
    ...{ view, width, height, frame, onions: [], chosen: null },
    pose: session.view.showsSkeleton ? poseAt(timing.motion, frame) : null,
    arcs: part && span ? [arcWithin(arcOf(timing, part), span)] : [],
  });
}

function seenPose(newest: NewestPose): Pose {
  const pose = new Map<Joint, PosePoint>();
  for (const [j, joint] of detectedJoints.entries())
    if (newest.confidence[j]! >= leastConfidence)
      pose.set(joint, { xPx: newest.xPx[j]!, yPx: newest.yPx[j]!, sdPx: 0, guessed: false });
  return pose;
}

/** How far to each side the chosen joint's way is drawn on the picture, seconds. */
const wayReachSec = 0.5;
const waySteps = 40;

/**
 * The body in the very picture that is on the screen (a frame may fall between two), with the chosen joint's way around
 * it, what is doubted in it and what was placed by hand in it.
 */
function tracksScene(session: Session, { frame, view, width, height }: Omit<Shown, 'readingNow'>): Scene | null {
  const tracks = session.tracksNow;
  if (!tracks) return null;
  const looks = session.view;
  const nowSec = session.pictureSec(frame);
  const pose = poseAt(tracks.at(Float64Array.of(nowSec)), 0);
  const stage = { view, width, height, frame, onions: [], arcs: [], pose: looks.showsSkeleton ? pose : null };
  const scene = layOutStage({ ...stage, chosen: looks.joint });
  const influences = tracks.seen(looks.joint)?.influences ?? [];
  const reach = influences.find((i) => nowSec >= i.fromSec && nowSec <= i.toSec);
  const fromSec = Math.min(nowSec - wayReachSec, reach?.fromSec ?? nowSec);
  const toSec = Math.max(nowSec + wayReachSec, reach?.toSec ?? nowSec);
  const timesSec = Float64Array.from({ length: waySteps + 1 }, (_, i) => fromSec + ((toSec - fromSec) * i) / waySteps);
  const path = tracks.at(timesSec).paths.get(looks.joint);
  const dragged = looks.dragged;
  const corrections = dragged ? [...session.book.corrections, dragged] : session.book.corrections;
  const notes = drawJointNotes({
    view,
    pose,
    way: path
      ? Array.from(timesSec, (sec, i) => ({
          xPx: path.xPx[i]!,
          yPx: path.yPx[i]!,
          isMoved: influences.some((one) => sec >= one.fromSec && sec <= one.toSec && one.toSec > one.fromSec),
        }))
      : [],
    // The doubts as they stood when the drag began: finding them anew would hold the hand up.
    doubted: (session.tracks?.doubts ?? []).flatMap((d) =>
      d.joint && d.startSec <= nowSec && d.endSec >= nowSec ? [{ joint: d.joint, code: d.code }] : [],
    ),
    placed: corrections.flatMap((c) =>
      c.kind === 'place' && Math.abs(c.takeSec - nowSec) < samePictureSec ? [c] : [],
    ),
  });
  return { ...scene, marks: [...scene.marks, ...notes] };
}

/** A placement this near belongs to the picture on the screen, seconds. */
const samePictureSec = 0.008;
