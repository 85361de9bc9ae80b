import { cocoJoints } from '../base/joints.ts';
import type { Region } from '../ingest/pixels.ts';
import { isFollowable, joinedBox, type SeenPose } from './crop.ts';
import { awayFrom, type Crowd, nearestPerson } from './performer.ts';

/** What is wrong with a picture's pose. */
export type Stray = 'somebody-else' | 'lost' | 'nobody-there';

/** A pose further than this from where the performer is expected is of somebody else, in heights of the performer. */
const farHeights = 0.5;
/** A pose belongs to another person when that one is nearer by this, in heights. */
const clearlyNearer = 0.1;
/** How far from a picture a crowd may lie in time and still tell of it, seconds. */
const crowdReachSec = 0.15;
/**
 * Mean confidence over the COCO joints below which a pose is nobody's, where the finder sees the performer elsewhere in
 * the take but not here: an empty room looked like a person with up to 0.27, actors come with 0.4 and more.
 */
const ghost = 0.35;

/**
 * Tells whether the pose that was seen in a picture is the performer's.
 * @param expected the performer's box in this picture; null = the performer is not to be seen.
 * @param crowd the nearest in time, or null; `chosen` the performer's place in it, −1 = not among them.
 * @returns null when it is.
 */
export function strayOf(
  pose: SeenPose,
  timeSec: number,
  expected: Region | null,
  crowd: Crowd | null,
  chosen: number,
  widthPx: number,
  heightPx: number,
): Stray | null {
  const box = joinedBox(pose);
  const isSeen = box !== null && isFollowable(pose, widthPx, heightPx);
  if (!isSeen) return expected ? 'lost' : 'nobody-there';
  const x = (box.left + box.right) / 2;
  const y = (box.top + box.bottom) / 2;
  const near = crowd && Math.abs(crowd.timeSec - timeSec) <= crowdReachSec ? crowd : null;
  const likeliest = near ? nearestPerson(near.people, x, y) : null;
  if (!expected) {
    const isOther = likeliest !== null && awayFrom(likeliest.box, x, y) < farHeights;
    return isOther || sureness(pose) < ghost ? 'nobody-there' : null;
  }
  if (awayFrom(expected, x, y) > farHeights) return 'somebody-else';
  const performer = near?.people[chosen];
  if (!performer || !likeliest || likeliest === performer) return null;
  const isNearer = awayFrom(likeliest.box, x, y) + clearlyNearer < awayFrom(performer.box, x, y);
  return isNearer ? 'somebody-else' : null;
}

/** Mean confidence over the COCO joints, which come first. */
export function sureness(pose: SeenPose): number {
  return pose.confidence.subarray(0, cocoJoints.length).reduce((sum, c) => sum + c, 0) / cocoJoints.length;
}
