import { csvLine } from '../base/csv.ts';
import { jointWords } from '../base/joints.ts';
import type { Deviation } from './deviations.ts';
import type { MoveComparison } from './moves.ts';
import { notesOf, plannedExposures, type Review } from './review.ts';

/**
 * What differs, one row each, worst first: a header row, frames and exposures from 1 as on the sheet, CRLF line ends, UTF-8 when
 * written, no byte order mark. "note" is the number on the printed page; it is empty for what camera and light did, as are joints
 * where the whole body is meant. Sizes are in the unit beside them: a key that is early has a negative one.
 */
export function findingsCsv(review: Review): string {
  const notes = notesOf(review);
  const head = [
    'note',
    'first frame',
    'last frame',
    'frame to look at',
    'first exposure',
    'last exposure',
    'kind',
    'joint',
    'with',
    'size',
    'unit',
    'sd',
    'weight',
    'sentence',
  ];
  const lines = review.comparison.findings.map((finding) => {
    const [first, last] = plannedExposures(review, finding);
    return csvLine([
      notes.indexOf(finding) + 1 || '',
      finding.firstFrame + 1,
      finding.firstFrame + Math.max(1, finding.frames),
      finding.atFrame + 1,
      first + 1,
      last + 1,
      finding.kind,
      finding.joint ? jointWords(finding.joint) : '',
      finding.also.map(jointWords).join('; '),
      said(finding.size, 3),
      finding.unit,
      said(finding.sd, 3),
      said(finding.weight, 3),
      finding.sentence,
    ]);
  });
  return csvLine(head) + lines.join('');
}

/**
 * Every joint in every exposure, written as `findingsCsv`. Shot minus plan in millimetres on the set, x to the right and y up in the
 * picture: first against the moment of the plan that the pose shows ("planned frame", with fractions, from 1), then against the frame
 * that it stands on. Degrees: how much further the joint is opened, as seen. Steps: how far along its way it goes from the exposure
 * before, as planned and as shot; empty where it goes nowhere. "In all of the shot": by how much the joint lies elsewhere throughout,
 * which was not counted; empty where it does not. Any other empty cell means that it is not known.
 */
export function deviationsCsv({ comparison, ...review }: Review): string {
  const head = [
    'exposure',
    'frame',
    'planned frame',
    'joint',
    'x mm',
    'y mm',
    'sd mm',
    'x mm on its frame',
    'y mm on its frame',
    'degrees',
    'sd degrees',
    'planned step mm',
    'shot step mm',
    'mm in all of the shot',
  ];
  const leftOut = new Map(comparison.leftOut.map((t) => [t.joint, t.sizeMm]));
  const steps = stepsOf(comparison.moves);
  const inOrder = [...comparison.deviations].sort((a, b) => a.exposure - b.exposure);
  const lines = inOrder.map((d) => {
    const step = steps.get(stepId(d));
    return csvLine([
      plannedExposures(review, { firstFrame: d.frame, frames: 1 })[0] + 1,
      d.frame + 1,
      said(d.planFrame + 1, 2),
      jointWords(d.joint),
      said(d.xMm, 2),
      said(d.yMm, 2),
      said(d.sdMm, 2),
      said(d.frameXMm, 2),
      said(d.frameYMm, 2),
      said(d.deg, 1),
      said(d.sdDeg, 1),
      said(step?.plan ?? Number.NaN, 2),
      said(step?.shot ?? Number.NaN, 2),
      said(leftOut.get(d.joint) ?? Number.NaN, 2),
    ]);
  });
  return csvLine(head) + lines.join('');
}

/** How far along its way a joint goes into each exposure of its moves, millimetres. */
function stepsOf(moves: readonly MoveComparison[]): Map<string, { readonly plan: number; readonly shot: number }> {
  const steps = new Map<string, { plan: number; shot: number }>();
  for (const { joint, exposures, planMm, shotMm, planFractions, shotFractions } of moves)
    for (let k = 1; k < exposures.length; k++)
      steps.set(stepId({ joint, exposure: exposures[k]! }), {
        plan: planMm * (planFractions[k]! - planFractions[k - 1]!),
        shot: shotMm * (shotFractions[k]! - shotFractions[k - 1]!),
      });
  return steps;
}

function stepId({ joint, exposure }: Pick<Deviation, 'joint' | 'exposure'>): string {
  return `${joint} ${exposure}`;
}

/** Rounded to the digits that can mean something; "" for what is not known. */
function said(value: number, digits: number): string | number {
  return Number.isFinite(value) ? Number(value.toFixed(digits)) + 0 : '';
}
