import { describe, expect, it } from 'vitest';
import { cocoJoints } from '../../src/base/joints.ts';
import {
  cropAround,
  cropOfBox,
  followCrop,
  isFollowable,
  regionOf,
  type SeenPose,
  wholeCrop,
} from '../../src/detect/crop.ts';

/** A standing figure 100 px high, its head at (x, y), believed to `confidence`. */
function standing(x: number, y: number, confidence = 0.8): SeenPose {
  const down = [0, -2, -2, 0, 0, 20, 20, 35, 35, 48, 48, 50, 50, 75, 75, 100, 100];
  const aside = [0, 2, -2, 4, -4, 12, -12, 15, -15, 16, -16, 8, -8, 8, -8, 8, -8];
  return {
    xPx: Float32Array.from(aside, (a) => x + a),
    yPx: Float32Array.from(down, (d) => y + d),
    confidence: new Float32Array(cocoJoints.length).fill(confidence),
  };
}

describe('crops', () => {
  it('begin with the whole picture in a square', () => {
    expect(regionOf(wholeCrop(1920, 1080))).toEqual({ x: 0, y: -420, width: 1920, height: 1920 });
  });

  it('hold all believed joints with a margin', () => {
    const crop = cropAround(standing(300, 200));
    const region = regionOf(crop!);
    expect(region.x).toBeLessThan(300 - 16);
    expect(region.x + region.width).toBeGreaterThan(300 + 16);
    expect(region.y).toBeLessThan(198);
    expect(region.y + region.height).toBeGreaterThan(300);
  });

  it('leave joints out that are not believed', () => {
    const pose = standing(300, 200);
    // An elbow, which is not the outermost joint of this figure.
    pose.yPx[7] = 5000;
    pose.confidence[7] = 0.05;
    expect(cropAround(pose)).toEqual(cropAround(standing(300, 200)));
    expect(cropAround(standing(0, 0, 0.1))).toBeNull();
  });

  it('leave a crouching actor room to stand up: at least three torsos', () => {
    const pose = standing(300, 200);
    for (const j of [13, 14, 15, 16]) pose.yPx[j] = 255;
    // The torso runs from 220 to 250.
    expect(cropAround(pose)!.side).toBeGreaterThanOrEqual(90);
  });

  it('do not shake with the detector, but follow a leap', () => {
    const last = cropAround(standing(300, 200))!;
    const shaken = followCrop(last, { ...last, centreX: last.centreX + 4 });
    expect(shaken.centreX - last.centreX).toBeCloseTo(1);
    const leapt = followCrop(last, { ...last, centreX: last.centreX + 60 });
    expect(leapt.centreX - last.centreX).toBeGreaterThan(40);
  });

  it('come to rest on the wanted square', () => {
    const wanted = cropAround(standing(300, 200))!;
    let crop = wholeCrop(1920, 1080);
    for (let i = 0; i < 60; i++) crop = followCrop(crop, wanted);
    expect(crop.centreX).toBeCloseTo(wanted.centreX, 1);
    expect(crop.side).toBeCloseTo(wanted.side, 1);
  });

  it('reach beyond the box of a person found', () => {
    expect(cropOfBox({ x: 10, y: 20, width: 50, height: 100 })).toEqual({ centreX: 35, centreY: 70, side: 130 });
  });
});

describe('isFollowable', () => {
  it('needs a torso or most of the body, inside the picture', () => {
    expect(isFollowable(standing(300, 200), 640, 480)).toBe(true);
    expect(isFollowable(standing(300, 200, 0.1), 640, 480)).toBe(false);
    expect(isFollowable(standing(900, 200), 640, 480)).toBe(false);
    const legs = standing(300, 200, 0.1);
    for (const j of [13, 14, 15, 16]) legs.confidence[j] = 0.9;
    expect(isFollowable(legs, 640, 480)).toBe(false);
  });
});
