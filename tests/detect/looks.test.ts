import { describe, expect, it } from 'vitest';
import { type DetectedJoint, detectedJoints } from '../../src/base/joints.ts';
import type { SeenRow } from '../../src/detect/crop.ts';
import { completed, type Look, see, seeFinely, together, unseenRow } from '../../src/detect/looks.ts';
import { emptyEstimate, estimateStep, type PoseModel } from '../../src/detect/poseModel.ts';
import type { Picture } from '../../src/ingest/picture.ts';

const at = (joint: DetectedJoint) => detectedJoints.indexOf(joint);

function rowWith(places: Partial<Record<DetectedJoint, readonly [number, number, number, number?]>>): SeenRow {
  const row = unseenRow();
  for (const [joint, [x, y, confidence, depth]] of Object.entries(places)) {
    const j = at(joint as DetectedJoint);
    row.xPx[j] = x;
    row.yPx[j] = y;
    row.confidence[j] = confidence;
    row.depthPx[j] = depth ?? Number.NaN;
  }
  return row;
}

/** A picture with one bright spot; samples as a camera would, nearest pixel. */
function spotPicture(spotX: number, spotY: number): Picture {
  return {
    index: 0,
    async sample({ x, y, width, height }, w, h, out) {
      out.fill(0);
      const column = Math.floor(((spotX - x) / width) * w);
      const row = Math.floor(((spotY - y) / height) * h);
      if (column >= 0 && row >= 0 && column < w && row < h) out[4 * (row * w + column)] = 255;
    },
    sampleLuma: async () => {},
    close() {},
  };
}

/** Calls the spot a left wrist when it lies in the left half of what it is shown, a right one else. */
const spotModel: PoseModel = {
  name: 'spot',
  inputSide: 64,
  async estimate(rgba) {
    const spot = rgba.indexOf(255) / 4;
    const estimate = emptyEstimate();
    const x = ((spot % 64) + 0.5) / 64;
    const joint = x < 0.5 ? 'leftWrist' : 'rightWrist';
    estimate.set([x, (Math.floor(spot / 64) + 0.5) / 64, 0.8, 0.25], estimateStep * at(joint));
    return estimate;
  },
  dispose() {},
};

describe('a look', () => {
  const crop = { centreX: 200, centreY: 100, side: 128 };

  it('tells places in pixels of the picture, depth in its scale', async () => {
    const row = await see(spotPicture(170, 90), spotModel, crop);
    expect(row.xPx[at('leftWrist')]).toBeCloseTo(171, 0);
    expect(row.yPx[at('leftWrist')]).toBeCloseTo(91, 0);
    expect(row.depthPx[at('leftWrist')]).toBeCloseTo(32);
    expect(row.xPx[at('nose')]).toBeNaN();
    expect(row.confidence[at('nose')]).toBe(0);
  });

  it('in the mirror finds the same spot, and turns sides back', async () => {
    const mirrored: Look = { mirrored: true, scale: 1 };
    // In the mirror the spot stands in the right half: the model calls it right, which is the left of the picture.
    const row = await see(spotPicture(170, 90), spotModel, crop, mirrored);
    expect(row.xPx[at('leftWrist')]).toBeCloseTo(171, 0);
    expect(row.confidence[at('rightWrist')]).toBe(0);
  });

  it('several give their mean', async () => {
    const looks: Look[] = [
      { mirrored: false, scale: 1 },
      { mirrored: true, scale: 1.5 },
    ];
    const one = await see(spotPicture(170, 90), spotModel, crop, looks[1]);
    const all = await seeFinely(spotPicture(170, 90), { main: spotModel, further: null }, crop, looks);
    expect(all.xPx[at('leftWrist')]).toBeCloseTo((171 + one.xPx[at('leftWrist')]!) / 2, 1);
  });
});

describe('looks that do not agree', () => {
  it('are averaged when near, and the surer taken, half believed, when far apart', () => {
    const first = rowWith({ leftKnee: [100, 100, 0.6], leftAnkle: [100, 200, 0.6] });
    const second = rowWith({ leftKnee: [104, 100, 0.8], leftAnkle: [150, 200, 0.8] });
    const both = together(first, 1, second, 20);
    expect(both.xPx[at('leftKnee')]).toBeCloseTo(102);
    expect(both.confidence[at('leftKnee')]).toBeCloseTo(0.7);
    expect(both.xPx[at('leftAnkle')]).toBeCloseTo(150);
    expect(both.confidence[at('leftAnkle')]).toBeCloseTo(0.4);
  });
});

describe('what only the further model knows', () => {
  const main = rowWith({ leftWrist: [100, 100, 0.9], rightWrist: [300, 100, 0.5] });

  it('is laid to the main model’s wrist, and believed no more than that', () => {
    const row = completed(
      main,
      rowWith({
        leftWrist: [110, 100, 1, 5],
        rightWrist: [310, 100, 1, 6],
        leftHand: [112, 130, 0.8, 7],
        rightHand: [312, 130, 0.8, 8],
      }),
    );
    expect(row.xPx[at('leftHand')]).toBeCloseTo(102);
    expect(row.yPx[at('leftHand')]).toBeCloseTo(130);
    expect(row.confidence[at('leftHand')]).toBeCloseTo(0.8);
    expect(row.confidence[at('rightHand')]).toBeCloseTo(0.5);
    expect(row.xPx[at('leftWrist')]).toBe(100);
    expect(row.depthPx[at('leftWrist')]).toBe(5);
  });

  it('changes sides with its wrist where the two models call them differently', () => {
    const row = completed(
      main,
      rowWith({
        leftWrist: [300, 100, 1, 5],
        rightWrist: [100, 100, 1, 6],
        leftHand: [302, 130, 0.8, 7],
        rightHand: [102, 130, 0.8, 8],
      }),
    );
    expect(row.xPx[at('leftHand')]).toBeCloseTo(102);
    expect(row.depthPx[at('leftWrist')]).toBe(6);
  });
});
