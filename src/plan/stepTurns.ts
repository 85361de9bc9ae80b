import type { Hinge, Part } from '../base/joints.ts';
import type { Plan } from './plan.ts';

/** A hinge that is turned on the way into an exposure. */
export interface StepTurn {
  /** "elbow": of the same side as the part that it carries. */
  readonly words: string;
  /** Degrees as seen from the camera, a multiple of the smallest step, over 0. */
  readonly deg: number;
  /** True = toward straight, false = toward folded. */
  readonly opens: boolean;
}

/** The hinges that carry a limb's part, nearest first; the trunk and the head hang on none that is measured. */
function carriersOf(joint: Part): readonly string[] {
  if (/Wrist|Hand/.test(joint)) return ['Elbow', 'Shoulder'];
  if (/Elbow/.test(joint)) return ['Shoulder'];
  if (/Ankle|Heel|Toe/.test(joint)) return ['Knee', 'Hip'];
  return /Knee/.test(joint) ? ['Hip'] : [];
}

/** Which hinge turns most to carry a part into this exposure; null where none turns at all. */
export function turnsAt({ angles }: Plan, exposure: number): (joint: Part) => StepTurn | null {
  const roundedDeg = new Map<Hinge['name'], number>();
  for (const angle of angles) if (angle.exposure === exposure) roundedDeg.set(angle.hinge, angle.roundedDeg);
  return (joint) => {
    const side = joint.startsWith('left') ? 'left' : 'right';
    let most: StepTurn | null = null;
    for (const carrier of carriersOf(joint)) {
      const turned = roundedDeg.get(`${side}${carrier}`) ?? Number.NaN;
      if (Math.abs(turned) > (most?.deg ?? 0))
        most = { words: carrier.toLowerCase(), deg: Math.abs(turned), opens: turned > 0 };
    }
    return most;
  };
}
