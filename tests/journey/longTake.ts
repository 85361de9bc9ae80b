import type { DetectedJoint } from '../../src/base/joints.ts';
import { detectedJoints } from '../../src/base/joints.ts';
import { minimumJerk } from '../../src/timing/ease.ts';
import { cell, type Sightings } from '../../src/track/sighting.ts';
import { evenTimes, gaussian, type MadeMovement, makeSightings, seeded, standing } from '../make.ts';

/** From pose to pose: a move of 0.8 s, a rest of 0.7 s, and so on; each joint has poses of its own. */
function posing(x: number, y: number, reachPx: number, seed: number): MadeMovement {
  const random = seeded(seed);
  const poses = Array.from(
    { length: 80 },
    () => [x + reachPx * (random() - 0.5), y + reachPx * (random() - 0.5)] as const,
  );
  return (sec) => {
    const i = Math.max(0, Math.min(poses.length - 2, Math.floor(sec / 1.5)));
    const time = Math.min(1, (sec - 1.5 * i) / 0.8);
    const u = minimumJerk(time);
    const perSec = (30 * time ** 2 * (1 - time) ** 2) / 0.8;
    const [a, b] = [poses[i]!, poses[i + 1]!];
    const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
    return { x: a[0] + u * dx, y: a[1] + u * dy, vx: perSec * dx, vy: perSec * dy };
  };
}

/** A made take of somebody acting for so long, 30 pictures a second, every joint seen and followed from picture to picture. */
export function longTake(seconds: number): Sightings {
  const timesSec = evenTimes(seconds * 30, 30);
  const joints: Partial<Record<DetectedJoint, MadeMovement>> = {};
  const reach: Partial<Record<DetectedJoint, number>> = {
    leftWrist: 160,
    rightWrist: 160,
    leftElbow: 70,
    rightElbow: 70,
    nose: 30,
  };
  Object.entries(standing).forEach(([name, [ox, oy]], i) => {
    const joint = name as DetectedJoint;
    joints[joint] = posing(480 + ox, 280 + oy, reach[joint] ?? 6, i + 1);
  });
  const seen = makeSightings({ timesSec, noisePx: 1.5, joints });
  const draw = gaussian(seeded(7));
  const of: Partial<Record<DetectedJoint, DetectedJoint>> = {
    mouth: 'nose',
    leftHand: 'leftWrist',
    rightHand: 'rightWrist',
    leftHeel: 'leftAnkle',
    rightHeel: 'rightAnkle',
    leftToe: 'leftAnkle',
    rightToe: 'rightAnkle',
  };
  detectedJoints.forEach((joint, j) => {
    const from = of[joint];
    const moves = joints[from ?? joint]!;
    for (let i = 0; i < timesSec.length; i++) {
      const at = moves(timesSec[i]!);
      const next = moves(timesSec[Math.min(i + 1, timesSec.length - 1)]!);
      if (from) {
        seen.xPx[cell(i, j)] = at.x + 10 + 1.5 * draw();
        seen.yPx[cell(i, j)] = at.y + 12 + 1.5 * draw();
        seen.confidence[cell(i, j)] = 0.7;
      }
      seen.onwardXPx[cell(i, j)] = next.x - at.x + 0.05 * draw();
      seen.onwardYPx[cell(i, j)] = next.y - at.y + 0.05 * draw();
      seen.onwardSdPx[cell(i, j)] = 0.1;
    }
  });
  return seen;
}
