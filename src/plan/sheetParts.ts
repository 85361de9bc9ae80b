import { isProp, type Part } from '../base/joints.ts';
import type { Plan } from './plan.ts';

/** Parts whose moves are told: the joints that were tracked; where nobody was seen, the marked points. */
export function movingParts({ timing }: Pick<Plan, 'timing'>): Part[] {
  return timing.joints.length > 0 ? [...timing.joints] : [...timing.motion.paths.keys()].filter(isProp);
}

/** Parts whose moves stand on the sheet: of the joints those that the animator asked for. */
export function sheetParts({ book, timing }: Pick<Plan, 'book' | 'timing'>): Part[] {
  const parts = movingParts({ timing });
  const asked = book.sheetJoints.filter((joint) => timing.joints.includes(joint));
  return timing.joints.length > 0 ? asked : parts.slice(0, mostPoints);
}

/** A sheet has room for so many columns of moves. */
const mostPoints = 12;
