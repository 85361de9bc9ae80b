import type { Joint } from '../base/joints.ts';
import { partsOf } from '../track/constructed.ts';
import { carriedBy } from './build.ts';
import type { Comparison } from './compareShot.ts';

const ofBothSides = (...names: readonly string[]) =>
  names.flatMap((name) => [`left${name}` as Joint, `right${name}` as Joint]);

/** What stands for the head, the best first. */
const heads: readonly Joint[] = ['nose', 'mouth', 'leftEye', 'rightEye', 'leftEar', 'rightEar'];

/** Joints in the order in which a person finds them on a puppet: the trunk, the head, then outward along the limbs. */
const bodyOrder: readonly Joint[] = [
  ...ofBothSides('Hip', 'Shoulder'),
  ...heads,
  ...ofBothSides('Elbow', 'Wrist', 'Knee', 'Ankle'),
];

/** What a body has besides; asked for only when it is wished. */
const furtherOrder: readonly Joint[] = ofBothSides('Hand', 'Heel', 'Toe');

/** What is known of a shot's joints. */
export interface KnownJoints {
  /** Joints that the plan has a path for. */
  readonly planned: ReadonlySet<string>;
  /** Joints that are marked by hand already. */
  readonly marked: ReadonlySet<Joint>;
  /** Joints of which a detector does not know where they are: hardly recognised, found beside their places, or taken for each other. */
  readonly doubted: readonly Joint[];
}

/**
 * The joints of a comparison of which a detector does not know where they are, be it in a few pictures. Of one that was left out though it
 * is marked, what carries it is doubted: that one was not.
 */
export function doubtedJoints(
  { unsure, leftOut, mistaken }: Pick<Comparison, 'unsure' | 'leftOut' | 'mistaken'>,
  marked: ReadonlySet<Joint>,
): readonly Joint[] {
  const beside = leftOut.map(({ joint, carrier }) => (marked.has(joint) ? carrier : joint));
  const exchanged = mistaken.flatMap(({ limbs }) =>
    limbs === 'arms' ? ofBothSides('Elbow', 'Wrist') : ofBothSides('Knee', 'Ankle'),
  );
  return [...new Set([...unsure, ...beside, ...exchanged])].filter((joint) => !marked.has(joint));
}

/** The joints that can be marked on the puppet of this plan, in the order in which they are found on it. Those in the middle of others follow. */
export function markableJoints(planned: ReadonlySet<string>): readonly Joint[] {
  return [...bodyOrder, ...furtherOrder].filter((joint) => planned.has(joint) && partsOf(joint).length === 0);
}

/**
 * The joints to ask for, in the order in which they are found on a puppet, without those that are marked: those that are doubted, with
 * what hangs on them; where none is doubted, all that count for a body, one for the head among them. A joint that lies in the middle of
 * others is not asked for: they hang on it.
 */
export function jointsToMark({ planned, marked, doubted }: KnownJoints): readonly Joint[] {
  const can = markableJoints(planned);
  const head = heads.find((joint) => can.includes(joint));
  const body = bodyOrder.filter((joint) => can.includes(joint) && (!heads.includes(joint) || joint === head));
  const wanted = new Set(doubted);
  // From the trunk outward, so that what hangs on what hangs on it is reached.
  for (const joint of body) if (wanted.has(carriedBy(joint) as Joint)) wanted.add(joint);
  const asked = can.filter((joint) => wanted.has(joint) && !marked.has(joint));
  return asked.length > 0 ? asked : body.filter((joint) => !marked.has(joint));
}
