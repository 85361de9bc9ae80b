import { detectedJoints, type Joint } from '../../base/joints.ts';
import type { NewestPose } from '../../detect/gathered.ts';
import type { StageView } from '../../draw/scales.ts';
import type { Scene } from '../../draw/scene.ts';
import { layOutStage, type Pose, type PosePoint, poseAt } from '../../draw/stage.ts';
import { arcOf } from '../../timing/arcs.ts';
import type { Session } from '../session.svelte.ts';

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

/** What lies over the picture on the present screen; null = nothing. */
export function overlayScene(session: Session, { frame, view, width, height, readingNow }: Shown): Scene | null {
  const { timing, screen } = session;
  const looks = session.view;
  const base = { view, width, height, frame, onions: [], arcs: [], chosen: null };
  if (readingNow) return layOutStage({ ...base, pose: seenPose(readingNow) });
  if (!timing || frame >= timing.grid.frameCount) return null;
  const pose = withDrag(poseAt(timing.motion, frame), looks.dragged);
  const isArcs = screen === 'arcs';
  const shownArcs = isArcs ? looks.arcJoints.filter((j) => timing.joints.includes(j)) : [];
  const from = looks.arcRelativeTo;
  const exposure = timing.exposures.findIndex((e) => frame >= e.firstFrame && frame < e.firstFrame + e.frames);
  const neighbours = Array.from({ length: onionsEachSide }, (_, i) => [exposure - i - 1, exposure + i + 1]).flat();
  return layOutStage({
    ...base,
    pose: looks.showsSkeleton ? pose : null,
    arcs: shownArcs.filter((j) => j !== from).map((joint) => arcOf(timing, joint, from, frame)),
    onions:
      isArcs && looks.showsOnions
        ? neighbours.flatMap((i) => {
            const other = timing.exposures[i];
            return other ? [poseAt(timing.motion, other.firstFrame)] : [];
          })
        : [],
    chosen: screen === 'tracks' ? looks.joint : null,
  });
}

function seenPose(newest: NewestPose): Pose {
  const pose = new Map<Joint, PosePoint>();
  for (const [j, joint] of detectedJoints.entries())
    if (newest.confidence[j]! >= leastConfidence)
      pose.set(joint, { xPx: newest.xPx[j]!, yPx: newest.yPx[j]!, sdPx: 0, guessed: false });
  return pose;
}

function withDrag(pose: Pose, dragged: Session['view']['dragged']): Pose {
  if (!dragged) return pose;
  const moved: PosePoint = { xPx: dragged.xPx, yPx: dragged.yPx, sdPx: 0, guessed: false };
  return new Map([...pose, [dragged.joint, moved]]);
}
