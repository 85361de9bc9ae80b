import type { Plan } from './plan.ts';
import { supportAt } from './support.ts';

/** One pose of the rough pose pass: shown alone for its planned length. */
export interface PopThroughPose {
  /** The sheet's number for the same pose. */
  readonly poseNumber: number;
  /** First and last frame that show it in the rough pass, from 0, both inclusive. */
  readonly firstFrame: number;
  readonly lastFrame: number;
  readonly frames: number;
  /** The frame (from 0) and take time whose picture shows the pose. Later than `firstFrame` only for the shot's opening. */
  readonly poseFrame: number;
  readonly takeSec: number;
  readonly name: string;
  /** Why it is a pose, joined to one phrase; "" when the shot has no key. */
  readonly why: string;
  /** The animator's words at that frame, sound and action joined; "" = none. */
  readonly note: string;
  /** What the puppet stands on in it: "both feet"; "" where no foot was seen. */
  readonly support: string;
}

/**
 * The list for the rough pose pass: the keys (breakdowns are left to the final pass), each held until the next one. The
 * first opens the shot, so lengths add up to the shot's. A shot without keys is one pose, its first.
 */
export function listPopThrough({ timing, poses, book, puppet }: Plan): PopThroughPose[] {
  const { grid, takeTimeSec } = timing;
  const keys = timing.keys.filter((k) => k.kind === 'key').sort((a, b) => a.frameIndex - b.frameIndex);
  // Two keys on one frame are one pose on paper.
  const shown = keys.filter((k, i) => i === 0 || k.frameIndex !== keys[i - 1]?.frameIndex);
  const anchors = shown.length > 0 ? shown : [null];
  return anchors.map((key, i) => {
    const poseFrame = key?.frameIndex ?? 0;
    const firstFrame = i === 0 ? 0 : poseFrame;
    const lastFrame = (anchors[i + 1]?.frameIndex ?? grid.frameCount) - 1;
    const note = book.frameNotes.get(poseFrame);
    const pose = poses.find((p) => p.firstFrame <= poseFrame && poseFrame < p.firstFrame + p.frames);
    return {
      poseNumber: pose?.number ?? i + 1,
      firstFrame,
      lastFrame,
      frames: lastFrame - firstFrame + 1,
      poseFrame,
      takeSec: key?.takeSec ?? takeTimeSec[0] ?? 0,
      name: key?.name ?? '',
      why: key?.reasons.join(', ') ?? '',
      support: supportAt(puppet, poseFrame),
      note: [note?.dialogue, note?.action].filter(Boolean).join(' · '),
    };
  });
}
