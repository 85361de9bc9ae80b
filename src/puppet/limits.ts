import { pivotOf, rollNeeded } from './footRoll.ts';
import { frameCountOf, frameRunWords, type Hitch, partWords, runsAbove, worstWords } from './hitch.ts';
import { type JointAngle, jointAngleAt, type LimitedJoint } from './jointAngles.ts';
import { type FrameRun, type PuppetMotion, type Side, standsWithin } from './puppetMotion.ts';

/** All joints that have a limit. */
export const limitedJoints: readonly LimitedJoint[] = [
  'neck',
  ...(['left', 'right'] as const).flatMap((side): LimitedJoint[] => [
    `${side}Shoulder`,
    `${side}Elbow`,
    `${side}Wrist`,
    `${side}Hip`,
    `${side}Knee`,
    `${side}Ankle`,
  ]),
];

/** What lies nearer to the limit than so many standard deviations, or than this, is not told. */
const surelySds = 2;
const leastDeg = 1;

/**
 * Joints that would have to go further than they do, by the puppet's limits, or a person's where its own are not known.
 */
export function findLimits(motion: PuppetMotion): Hitch[] {
  const { timesSec } = motion.followed;
  const n = frameCountOf(motion);
  return limitedJoints.flatMap((joint) => {
    const over = new Float64Array(n);
    for (let k = 0; k < n; k++) over[k] = surelyOver(jointAngleAt(motion, joint, k));
    return runsAbove(over).map((run): Hitch => {
      const angle = jointAngleAt(motion, joint, run.worstFrame)!;
      const isBackward = angle.name === 'elbowBack' || angle.name === 'kneeBack';
      const kind = isBackward ? 'bendsBackward' : 'jointLimit';
      const by = over[run.worstFrame]!;
      return {
        id: `${kind}:${joint}:${run.firstFrame}`,
        kind,
        part: partWords(joint),
        ...run,
        worst: by,
        unit: 'deg',
        weight: by / 10,
        sentence: `${sentenceOf(joint, angle, by)}, ${frameRunWords(run)}${worstWords(run)}.`,
        why: whyOf(angle),
        fix: isFixable(motion, joint, angle, run)
          ? {
              id: `limit:${joint}:${run.firstFrame}`,
              kind: 'limit',
              joint,
              startSec: timesSec[run.firstFrame]!,
              endSec: timesSec[run.firstFrame + run.frames - 1]!,
            }
          : null,
        support: null,
      };
    });
  });
}

/** By how much a joint is surely beyond its limit, degrees; else 0. */
export function surelyOver(angle: JointAngle | null): number {
  if (!angle) return 0;
  const by = angle.deg - angle.limitDeg;
  return by > leastDeg && by > surelySds * angle.sdDeg ? by : 0;
}

/** Can it be turned back within the limit? A foot that stands rolls over its toes or heel. */
function isFixable(
  motion: PuppetMotion,
  joint: LimitedJoint,
  angle: JointAngle,
  { firstFrame, frames, worstFrame }: FrameRun & { readonly worstFrame: number },
): boolean {
  const side: Side = joint.startsWith('left') ? 'left' : 'right';
  if (joint.endsWith('Ankle') && standsWithin(motion, side, firstFrame, firstFrame + frames - 1))
    return !Number.isNaN(rollNeeded(motion, side, pivotOf(motion, side, worstFrame), worstFrame));
  return !Number.isNaN(angle.turnTo(angle.limitDeg));
}

const doing: Readonly<Record<JointAngle['name'], string>> = {
  neckForward: 'head bends forward',
  neckBack: 'head bends back',
  neckSide: 'head leans aside',
  shoulderForward: 'arm goes forward and up',
  shoulderBack: 'arm goes back',
  shoulderOut: 'arm goes out',
  elbowBend: 'elbow bends',
  elbowBack: 'elbow bends backward',
  wristBend: 'wrist bends',
  wristBack: 'wrist bends',
  hipForward: 'thigh goes forward',
  hipBack: 'thigh goes back',
  hipOut: 'thigh goes out',
  kneeBend: 'knee bends',
  kneeBack: 'knee bends backward',
  ankleUp: 'foot bends up',
  ankleDown: 'foot points down',
};

function sentenceOf(joint: LimitedJoint, { name, deg, limitDeg, isPersons }: JointAngle, by: number): string {
  const side = joint === 'neck' ? '' : joint.startsWith('left') ? 'left ' : 'right ';
  const whose = isPersons ? 'a person’s' : 'this puppet’s';
  return `The ${side}${doing[name]} by ${Math.round(deg)}°, ${Math.round(by)}° beyond ${whose} ${Math.round(limitDeg)}°`;
}

function whyOf({ view, isPersons, sdDeg }: JointAngle): string {
  const seen =
    view === 'threeQuarter'
      ? 'Seen at a slant, the more generous of the limits counts'
      : view === null
        ? 'The least bend that goes with what the camera sees'
        : `As the camera sees it from the ${view}`;
  const limit = isPersons ? ' The puppet’s own limit is not known.' : '';
  return `${seen}; uncertain by ${Math.max(1, Math.round(sdDeg))}°.${limit}`;
}
