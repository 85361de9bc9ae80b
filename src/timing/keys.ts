import { present } from '../base/assert.ts';
import type { FrameGrid } from '../base/frameGrid.ts';
import { fpsOf } from '../base/frameRate.ts';
import { type Breakdowns, breakdownsFor } from './breakdowns.ts';
import { firstHeldFrame, lastHeldFrame, type Rest, registersFrames } from './holds.ts';
import { bestPaths, type KeyPaths } from './keyPath.ts';
import type { Touch } from './pointFlights.ts';
import { pointReasons } from './pointReasons.ts';
import { sampleSec } from './poseSamples.ts';
import { reasonsFor } from './reasons.ts';
import type { Story } from './story.ts';
import type { TimeMap } from './timeMap.ts';
import type { Hold, Key, KeyCurvePoint, PinnedKey, TimingChoices } from './timing.ts';
import type { ToldPose } from './toldPoses.ts';

/** Keys of a shot, rising by frame, and what each number of keys would leave undone. */
export interface ChosenKeys {
  readonly keys: readonly Key[];
  readonly keyCurve: readonly KeyCurvePoint[];
}

/** A pose of the story with its hold in frames, if it is held. */
export interface PlacedPose {
  readonly pose: ToldPose;
  readonly hold: Hold | null;
}

/** A pose that may become a key. */
interface Node {
  readonly sample: number;
  readonly takeSec: number;
  readonly hold: Hold | null;
  readonly rest: Rest | null;
  readonly pinned: PinnedKey | null;
  /** Part of the story as computed. */
  readonly told: boolean;
  /** Lies between two poses rather than where the body turns or stops. */
  readonly between: boolean;
  /** At the ends of the shot, when the animator took that key away or nobody is seen: in-betweens still start there. */
  readonly silent: boolean;
  /** The marked point that bounces or lands there, see `ToldPose`. */
  readonly touch: Touch | null;
}

/** The curve is worked out to at least this many keys, since that is how far the animator's slider goes. */
const curveReaches = 20;
/** No computed key lies this near a key that the animator set or took away: 2.5 frames at 24 fps, half of a quick pose. */
const halfAPoseSec = 2.5 / 24;

/**
 * Chooses the keys: the animator's own always, none where one was taken away, the computed number unless another is asked
 * for (then that many in all, as far as there are poses to tell apart). Never two on one frame.
 */
export function chooseKeys(
  story: Story,
  choices: TimingChoices,
  grid: FrameGrid,
  map: TimeMap,
  placed: readonly PlacedPose[],
): ChosenKeys {
  const nodes = layNodes(story, choices, placed);
  const silent = nodes.filter((n) => n.silent).length;
  const paths = bestPaths(
    story.legs,
    nodes.map((n) => n.sample),
    nodes.map((n) => n.pinned !== null),
  );
  const breakdowns = breakdownsFor(story.samples, story.legs, (leg) => leg.squares);
  let chosen = nodes.filter((n) => n.pinned || n.silent || n.told);
  if (choices.keyCount !== null) {
    const wanted = Math.max(1, Math.round(choices.keyCount)) + silent;
    if (wanted !== chosen.length) {
      const path = paths.path(Math.max(paths.fewest, Math.min(paths.most, wanted)));
      chosen = withBreakdowns(
        path.map((i) => present(nodes[i], 'chosen pose')),
        story,
        breakdowns,
        wanted,
      );
    }
  }
  return {
    keys: toKeys(story, chosen, choices, grid, map),
    keyCurve: curveOf(story, nodes, paths, breakdowns, silent),
  };
}

/** All poses to choose from, rising: the story's candidates but those taken away or replaced, and the animator's own. */
function layNodes(story: Story, choices: TimingChoices, placed: readonly PlacedPose[]): Node[] {
  const { samples, at } = story;
  const pins = choices.pinnedKeys.filter(
    (p) => p.takeSec >= choices.startSec - 1e-9 && p.takeSec < choices.endSec + 1e-9,
  );
  const holdAt = (sec: number) =>
    placed.find(
      ({ pose: { rest } }) => rest && sec >= rest.startSec - halfAPoseSec && sec <= rest.endSec + halfAPoseSec / 2,
    );
  const samePose = (a: number, b: number) =>
    Math.abs(a - b) < halfAPoseSec || (holdAt(a) !== undefined && holdAt(a) === holdAt(b));
  const last = samples.count - 1;
  const nodes: Node[] = [];
  at.forEach((sample, i) => {
    const told = placed.find((p) => p.pose.sample === sample);
    const takeSec = told?.pose.reachedSec ?? sampleSec(samples, sample);
    const gone =
      choices.removedKeysSec.some((sec) => samePose(takeSec, sec)) ||
      // A key added within a hold stands beside the hold's own; only one at the same place takes its place.
      pins.some((p) => Math.abs(takeSec - p.takeSec) < halfAPoseSec);
    const node = {
      sample,
      takeSec,
      hold: told?.hold ?? null,
      rest: told?.pose.rest ?? null,
      pinned: null,
      told: told !== undefined,
      between: told?.pose.between ?? false,
      touch: told?.pose.touch ?? null,
    };
    const seen = samples.joints.length > 0;
    if (seen && !gone && !told?.pose.passing) nodes.push({ ...node, silent: false });
    else if (i === 0 || i === at.length - 1) nodes.push({ ...node, silent: true });
  });
  for (const pinned of pins) {
    const sample = Math.max(0, Math.min(last, Math.round((pinned.takeSec - samples.startSec) / samples.stepSec)));
    const same = nodes.findIndex((n) => n.sample === sample);
    if (same >= 0 && !nodes[same]?.pinned) nodes.splice(same, 1);
    else if (same >= 0) continue;
    const held = holdAt(pinned.takeSec);
    const [hold, rest] = [held?.hold ?? null, held?.pose.rest ?? null];
    const own = { pinned, told: false, between: false, silent: false, touch: null };
    nodes.push({ sample, takeSec: pinned.takeSec, hold, rest, ...own });
  }
  return nodes.sort((a, b) => a.sample - b.sample);
}

/** Adds the poses at which the in-betweens are furthest off, one at a time, until there are `wanted` or nothing is to be gained. */
function withBreakdowns(picked: readonly Node[], story: Story, breakdowns: Breakdowns, wanted: number): Node[] {
  const all = [...picked];
  while (all.length < wanted) {
    const sample = breakdowns.next(all.map((n) => n.sample));
    if (sample === null) break;
    const takeSec = sampleSec(story.samples, sample);
    const free = { hold: null, rest: null, pinned: null, touch: null };
    all.push({ sample, takeSec, ...free, told: false, between: true, silent: false });
    all.sort((a, b) => a.sample - b.sample);
  }
  return all;
}

function curveOf(
  story: Story,
  nodes: readonly Node[],
  paths: KeyPaths,
  breakdowns: Breakdowns,
  silent: number,
): KeyCurvePoint[] {
  const { samples, legs } = story;
  const points = Math.max(1, samples.count * samples.joints.length);
  const curve: KeyCurvePoint[] = [];
  let least = Number.POSITIVE_INFINITY;
  const add = (at: readonly number[]) => {
    const squares = at.slice(1).reduce((sum, to, i) => sum + legs.leg(at[i] ?? 0, to).squares, 0);
    // With one key more the animator may always keep the choice before and repeat a pose: the error cannot rise.
    least = Math.min(least, Math.sqrt(squares / points));
    if (at.length > silent) curve.push({ keyCount: at.length - silent, error: least });
  };
  for (let count = paths.fewest; count <= paths.most; count++) {
    const path = paths.path(count);
    // No path of so few poses: their legs would be longer than any that are worked out.
    if (path.length === count) add(path.map((i) => nodes[i]?.sample ?? 0));
  }
  const all = nodes.map((n) => n.sample);
  while (all.length < curveReaches + silent) {
    const sample = breakdowns.next(all);
    if (sample === null) break;
    all.push(sample);
    all.sort((a, b) => a - b);
    add(all);
  }
  return curve;
}

function toKeys(story: Story, chosen: readonly Node[], choices: TimingChoices, grid: FrameGrid, map: TimeMap): Key[] {
  const { samples, legs } = story;
  const fps = fpsOf(choices.rate);
  const byFrame = new Map<number, Key>();
  chosen.forEach((node, i) => {
    if (node.silent) return;
    const { pinned, hold } = node;
    const settled = pinned ? null : settledRest(node, (sec) => (sec - choices.startSec) * fps);
    const exact = map.shotAt(settled?.startSec ?? node.takeSec) * fps;
    const frame = settled ? firstHeldFrame(exact) : Math.round(exact);
    const frameIndex = Math.max(0, Math.min(grid.frameCount - 1, frame));
    const before = chosen[i - 1]?.sample ?? null;
    const after = chosen[i + 1]?.sample ?? null;
    const into = before === null ? null : legs.leg(before, node.sample).moves;
    const outOf = after === null ? null : legs.leg(node.sample, after).moves;
    const held = hold !== null && (hold.frames * 24) / fps >= registersFrames;
    const reasons = hold ? [`holds here for ${hold.frames} frames`] : [];
    const pose = { before, at: node.sample, after, into, outOf, held };
    reasons.push(...(samples.ofPoints ? pointReasons(samples, pose, node.touch) : reasonsFor(samples, pose)));
    if (reasons.length === 0) reasons.push(pinned ? 'set by you' : plainReason(node, samples.ofPoints));
    const key: Key = {
      id: pinned?.id ?? `k${Math.round(node.takeSec * 1000)}`,
      frameIndex,
      takeSec: node.takeSec,
      anchorSec: settled?.startSec ?? node.takeSec,
      kind: pinned?.kind ?? (node.between ? 'breakdown' : 'key'),
      reasons,
      locked: pinned !== null,
      name: pinned?.name ?? '',
    };
    const there = byFrame.get(frameIndex);
    if (!there || (key.locked && !there.locked)) byFrame.set(frameIndex, key);
  });
  return [...byFrame.values()].sort((a, b) => a.frameIndex - b.frameIndex);
}

/** Said where nothing in particular happens. */
function plainReason({ between }: Node, ofPoints: boolean): string {
  if (between) return 'off the even way between';
  return ofPoints ? 'slows here' : 'the body slows here';
}

/**
 * The rest in which a pose settles, where that is within a frame: the last parts may settle a frame after the body is there, and
 * then the pose to shoot is the settled one. Told by the take's own frames, so that no retiming changes what stands on a frame.
 * @param own frames of the take's own timing, not rounded.
 */
function settledRest({ rest, takeSec }: Node, own: (sec: number) => number): Rest | null {
  if (!rest) return null;
  const first = firstHeldFrame(own(rest.startSec));
  const isHeld = lastHeldFrame(own(rest.endSec)) > first;
  return isHeld && Math.abs(Math.max(0, first) - own(takeSec)) < 1.01 ? rest : null;
}
