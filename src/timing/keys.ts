import { present } from '../base/assert.ts';
import type { FrameGrid } from '../base/frameGrid.ts';
import { fpsOf } from '../base/frameRate.ts';
import { bestPaths, type KeyPaths, type Legs, legsBetween } from './keyPath.ts';
import { sampleSec } from './poseSamples.ts';
import { reasonsFor } from './reasons.ts';
import type { Story } from './story.ts';
import type { Hold, Key, KeyCurvePoint, PinnedKey, TimingChoices } from './timing.ts';

/** Keys of a shot, rising by frame, and what each number of keys would leave undone. */
export interface ChosenKeys {
  readonly keys: readonly Key[];
  readonly keyCurve: readonly KeyCurvePoint[];
}

/** A hold found in the performance, with its frames. */
export interface PlacedHold {
  readonly startSec: number;
  readonly endSec: number;
  readonly hold: Hold;
}

/** A pose that may become a key. */
interface Node {
  readonly sample: number;
  readonly pinned: PinnedKey | null;
  /** Lies between two poses rather than where the body turns or stops. */
  readonly between: boolean;
  /** At the ends of the shot, when the animator took that key away: in-betweens still start there. */
  readonly silent: boolean;
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
  holds: readonly PlacedHold[],
): ChosenKeys {
  const { samples } = story;
  const pinned = choices.pinnedKeys.filter((p) => p.takeSec >= choices.startSec - 1e-9 && p.takeSec < choices.endSec);
  const nodes = layNodes(story, choices, pinned, holds);
  const silent = nodes.filter((n) => n.silent).length;
  const legs = legsBetween(
    samples,
    nodes.map((n) => n.sample),
  );
  const forced = nodes.map((n) => n.pinned !== null);
  const paths = bestPaths(legs, nodes.length, forced, nodes.length);
  const told = new Set(story.told.map((i) => story.at[i]));
  const byStory = nodes.flatMap((n, i) => (n.pinned || n.silent || told.has(n.sample) || i === 0 ? [i] : []));
  const wanted = choices.keyCount === null ? null : Math.max(1, Math.round(choices.keyCount)) + silent;
  let chosen: readonly number[] = byStory;
  if (wanted !== null && wanted !== byStory.length) {
    chosen = paths.path(Math.max(paths.fewest, Math.min(paths.most, wanted)));
  }
  const picked = chosen.map((i) => present(nodes[i], 'chosen pose'));
  const all = wanted !== null && picked.length < wanted ? withBreakdowns(story, picked, wanted) : picked;
  return {
    keys: toKeys(story, all, choices, grid, holds),
    keyCurve: curveOf(story, nodes, legs, paths, silent),
  };
}

function layNodes(
  story: Story,
  choices: TimingChoices,
  pinned: readonly PinnedKey[],
  holds: readonly PlacedHold[],
): Node[] {
  const { samples, at } = story;
  const holdAt = (sec: number) => holds.find((h) => sec >= h.startSec - halfAPoseSec && sec <= h.endSec);
  const near = (a: number, b: number) => {
    const hold = holdAt(a);
    return Math.abs(a - b) < halfAPoseSec || (hold !== undefined && hold === holdAt(b));
  };
  const last = samples.count - 1;
  const nodes: Node[] = [];
  at.forEach((sample, i) => {
    const sec = sampleSec(samples, sample);
    const taken = choices.removedKeysSec.some((r) => near(sec, r));
    const replaced = pinned.some((p) => near(sec, p.takeSec));
    if (!taken && !replaced) nodes.push({ sample, pinned: null, between: false, silent: false });
    else if (i === 0 || i === at.length - 1) nodes.push({ sample, pinned: null, between: false, silent: true });
  });
  for (const pin of pinned) {
    const sample = Math.max(0, Math.min(last, Math.round((pin.takeSec - samples.startSec) / samples.stepSec)));
    const same = nodes.findIndex((n) => n.sample === sample);
    if (same >= 0) nodes.splice(same, 1);
    nodes.push({ sample, pinned: pin, between: false, silent: false });
  }
  return nodes.sort((a, b) => a.sample - b.sample);
}

/** Adds the poses at which the in-betweens are furthest off, one at a time, until there are `wanted` or nothing is to be gained. */
function withBreakdowns(story: Story, picked: readonly Node[], wanted: number): Node[] {
  const { samples } = story;
  const all = [...picked];
  while (all.length < wanted) {
    let best: { at: number; sample: number; gain: number } | null = null;
    for (let i = 1; i < all.length; i++) {
      const from = all[i - 1]?.sample ?? 0;
      const to = all[i]?.sample ?? 0;
      if (to - from < 8) continue;
      const whole = legsBetween(samples, [from, to]).leg(0, 1).squares;
      if (best && whole <= best.gain) continue;
      for (const part of [0.3, 0.4, 0.5, 0.6, 0.7]) {
        const sample = Math.round(from + part * (to - from));
        const split = legsBetween(samples, [from, sample, to]);
        const gain = whole - split.leg(0, 1).squares - split.leg(1, 2).squares;
        if (gain > (best?.gain ?? 0)) best = { at: i, sample, gain };
      }
    }
    if (!best) return all;
    all.splice(best.at, 0, { sample: best.sample, pinned: null, between: true, silent: false });
  }
  return all;
}

function curveOf(story: Story, nodes: readonly Node[], legs: Legs, paths: KeyPaths, silent: number): KeyCurvePoint[] {
  const { samples } = story;
  const points = Math.max(1, samples.count * samples.joints.length);
  const curve: KeyCurvePoint[] = [];
  let least = Number.POSITIVE_INFINITY;
  const add = (keyCount: number, squares: number) => {
    // With one key more the animator may always keep the choice before and repeat a pose: the error cannot rise.
    least = Math.min(least, Math.sqrt(squares / points));
    if (keyCount > 0) curve.push({ keyCount, error: least });
  };
  for (let count = paths.fewest; count <= paths.most; count++) {
    const path = paths.path(count);
    const squares = path.slice(1).reduce((sum, to, i) => sum + legs.leg(path[i] ?? 0, to).squares, 0);
    add(count - silent, squares);
  }
  const all = withBreakdowns(story, nodes, Math.max(nodes.length, curveReaches + silent));
  for (let count = nodes.length + 1; count <= all.length; count++) {
    const some = withBreakdowns(story, nodes, count).map((n) => n.sample);
    const split = legsBetween(samples, some);
    add(
      count - silent,
      some.slice(1).reduce((sum, _, i) => sum + split.leg(i, i + 1).squares, 0),
    );
  }
  return curve;
}

function toKeys(
  story: Story,
  picked: readonly Node[],
  choices: TimingChoices,
  grid: FrameGrid,
  holds: readonly PlacedHold[],
): Key[] {
  const { samples } = story;
  const fps = fpsOf(choices.rate);
  const legs = legsBetween(
    samples,
    picked.map((n) => n.sample),
  );
  const byFrame = new Map<number, Key>();
  picked.forEach((node, i) => {
    if (node.silent) return;
    const sec = node.pinned?.takeSec ?? sampleSec(samples, node.sample);
    const held = holds.find((h) => sec >= h.startSec - halfAPoseSec && sec <= h.endSec);
    const reached = held && !node.pinned ? Math.max(sec, held.startSec) : sec;
    const exact = held && !node.pinned ? held.hold.firstFrame : Math.round((sec - grid.startSec) * fps);
    const frameIndex = Math.max(0, Math.min(grid.frameCount - 1, exact));
    const reasons = held ? [`holds here for ${held.hold.frames} frames`] : [];
    reasons.push(
      ...reasonsFor(samples, {
        before: picked[i - 1]?.sample ?? null,
        at: node.sample,
        after: picked[i + 1]?.sample ?? null,
        into: i > 0 ? legs.leg(i - 1, i).moves : null,
        outOf: i + 1 < picked.length ? legs.leg(i, i + 1).moves : null,
      }),
    );
    if (node.pinned && reasons.length === 0) reasons.push('set by you');
    if (reasons.length === 0) reasons.push(node.between ? 'in-between off the even way' : 'the body slows here');
    const key: Key = {
      id: node.pinned?.id ?? `k${Math.round(reached * 1000)}`,
      frameIndex,
      takeSec: reached,
      kind: node.pinned?.kind ?? (node.between ? 'breakdown' : 'key'),
      reasons,
      locked: node.pinned !== null,
      name: node.pinned?.name ?? '',
    };
    const there = byFrame.get(frameIndex);
    if (!there || (key.locked && !there.locked)) byFrame.set(frameIndex, key);
  });
  return [...byFrame.values()].sort((a, b) => a.frameIndex - b.frameIndex);
}
