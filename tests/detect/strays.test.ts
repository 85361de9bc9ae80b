import { expect, it } from 'vitest';
import type { SeenPose } from '../../src/detect/crop.ts';
import type { Crowd, Person } from '../../src/detect/performer.ts';
import { strayOf } from '../../src/detect/strays.ts';
import type { Region } from '../../src/ingest/pixels.ts';

const boxAt = (x: number): Region => ({ x: x - 50, y: 100, width: 100, height: 300 });

/** Joints spread over a box, all believed so much. */
function poseIn(box: Region, confidence = 0.8): SeenPose {
  return {
    xPx: Float32Array.from({ length: 17 }, (_, j) => box.x + (j % 2) * box.width),
    yPx: Float32Array.from({ length: 17 }, (_, j) => box.y + (j / 16) * box.height),
    confidence: new Float32Array(17).fill(confidence),
  };
}

function crowdOf(...xs: number[]): Crowd {
  return { picture: 0, timeSec: 1, people: xs.map((x): Person => ({ box: boxAt(x), score: 0.6, colour: null })) };
}

const stray = (pose: SeenPose, expected: Region | null, crowd: Crowd | null, chosen = 0) =>
  strayOf(pose, 1, expected, crowd, chosen, 640, 480);

it('a pose where the performer is expected is theirs', () => {
  expect(stray(poseIn(boxAt(300)), boxAt(300), crowdOf(300))).toBeNull();
  expect(stray(poseIn(boxAt(320)), boxAt(300), null)).toBeNull();
});

it('a pose far from there is somebody else’s, and so is one that another person fits clearly better', () => {
  expect(stray(poseIn(boxAt(500)), boxAt(300), crowdOf(300))).toBe('somebody-else');
  expect(stray(poseIn(boxAt(400)), boxAt(300), crowdOf(300, 400))).toBe('somebody-else');
  expect(stray(poseIn(boxAt(340)), boxAt(300), crowdOf(300, 400))).toBeNull();
  // What was seen half a second away says nothing of this picture.
  expect(stray(poseIn(boxAt(400)), boxAt(300), { ...crowdOf(300, 400), timeSec: 1.5 })).toBeNull();
});

it('where the performer is not expected, others and ghosts are nobody, a sure pose is kept', () => {
  expect(stray(poseIn(boxAt(300)), null, crowdOf(300), -1)).toBe('nobody-there');
  expect(stray(poseIn(boxAt(300), 0.27), null, crowdOf(), -1)).toBe('nobody-there');
  expect(stray(poseIn(boxAt(300), 0.5), null, crowdOf(), -1)).toBeNull();
});

it('a pose that cannot be followed is lost where the performer must be', () => {
  expect(stray(poseIn(boxAt(300), 0.1), boxAt(300), crowdOf(300))).toBe('lost');
});
