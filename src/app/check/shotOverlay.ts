import { intoPicture } from '../../compare/comparedArc.ts';
import { type ArcPlacing, layOutComparedArc } from '../../draw/comparedArcs.ts';
import { drawProps } from '../../draw/propMarks.ts';
import { said } from '../../draw/puppetMeasures.ts';
import { drawRuler } from '../../draw/rulerMarks.ts';
import type { StageView } from '../../draw/scales.ts';
import type { Scene } from '../../draw/scene.ts';
import { layOutStage, poseAt } from '../../draw/stage.ts';
import type { Session } from '../session.svelte.ts';
import { astrayPoints } from './astrayPoints.ts';
import { rulerEnds } from './checkActions.ts';
import { markedInPicture } from './markJoints.ts';

/** What the shot's picture is shown in. */
export interface ShownPicture {
  readonly frame: number;
  /** Which picture of the shot. */
  readonly picture: number;
  readonly view: StageView;
  readonly width: number;
  readonly height: number;
}

/** What lies over the picture of the shot: where joints were found, which are marked while others are, points that may have left theirs, both arcs of the finding that is looked at, and the ruler. */
export function shotOverlay(session: Session, { frame, picture, view, width, height }: ShownPicture): Scene {
  const { check, animated, book } = session;
  const { comparison, arc } = check;
  const base = { view, width, height, frame, onions: [], arcs: [], chosen: null };
  const isKnown = animated.motion && session.view.showsSkeleton;
  const stage = layOutStage({ ...base, pose: isKnown ? poseAt(animated.motion!, picture) : null });
  const exposure = check.exposureAt(frame);
  const { unit } = book.puppet;
  const marks = [...stage.marks];
  let { title, summary } = stage;
  if (comparison && arc && exposure >= 0) {
    const into = intoPicture(comparison, exposure);
    const placing: ArcPlacing = {
      place: (x, y) => view.toScreen(...into.place(x, y)),
      perMm: into.perMm * view.scale,
      said: (mm) => said(mm, unit),
    };
    const arcs = layOutComparedArc(arc, { ...placing, width, height, exposure });
    marks.push(...arcs.marks);
    ({ title, summary } = arcs);
  }
  const ends = rulerEnds(session);
  if (ends) {
    const length = session.view.rulerEnds ? null : book.animated?.ruler?.lengthMm;
    marks.push(...drawRuler(view.toScreen(...ends[0]), view.toScreen(...ends[1]), length ? said(length, unit) : ''));
  }
  const astray = astrayPoints(session).filter(({ first, last }) => exposure >= first && exposure <= last);
  const points = markedInPicture(session, picture).filter(
    ({ id }) => session.view.markingRun || astray.some(({ prop }) => prop.id === id),
  );
  marks.push(...drawProps(points, view));
  return { ...stage, title, summary, marks };
}
