import { describe, expect, it } from 'vitest';
import type { Joint } from '../../src/base/joints.ts';
import type { Off } from '../../src/compare/deviations.ts';
import type { Finding } from '../../src/compare/finding.ts';
import { turnAt, withTurns } from '../../src/compare/turns.ts';

type Places = Partial<Record<Joint, readonly [number, number]>>;

/** Three exposures of one pose; in the middle one joints are elsewhere. */
function offsOf(planned: Places, middle: Places, sd = 0.2): ReadonlyMap<Joint, Off> {
  return new Map(
    Object.entries(planned).map(([joint, [x, y]]): [Joint, Off] => {
      const [u, v] = middle[joint as Joint] ?? [x, y];
      return [
        joint as Joint,
        {
          planX: Float64Array.of(x, x, x),
          planY: Float64Array.of(y, y, y),
          x: Float64Array.of(0, u - x, 0),
          y: Float64Array.of(0, v - y, 0),
          sd: new Float64Array(3).fill(sd),
          quick: new Float64Array(3),
          stepSd: null,
        },
      ];
    }),
  );
}
const turned = (deg: number, long: number): readonly [number, number] => [
  long * Math.cos((deg * Math.PI) / 180),
  long * Math.sin((deg * Math.PI) / 180),
];
/** A right arm that hangs (y down) and is bent at the elbow by a right angle, to the right in the picture. */
const arm: Places = { rightHip: [0, 100], rightShoulder: [0, 0], rightElbow: [0, 40], rightWrist: [40, 40] };
const exposures = [0, 2, 4].map((firstFrame) => ({ firstFrame, frames: 2 }));
const finding: Finding = {
  kind: 'offPose',
  joint: 'rightWrist',
  also: [],
  firstFrame: 2,
  frames: 2,
  atFrame: 2,
  size: 6.3,
  unit: 'mm',
  sd: 0.2,
  weight: 4,
  sentence: 'The right wrist is 6.3 mm too low at frames 3 to 4.',
};

describe('the turn by which a joint is off', () => {
  it('is that of the elbow for a wrist, and says which way, in any direction of the picture', () => {
    for (const mirror of [1, -1])
      for (const deg of [9, -9]) {
        const at = ([x, y]: readonly [number, number]) => [mirror * x, y] as const;
        const planned = Object.fromEntries(Object.entries(arm).map(([j, p]) => [j, at(p)])) as Places;
        // From the elbow, 0° is to the right; turned clockwise (down) it opens.
        const [x, y] = turned(deg, 40);
        const turn = turnAt(offsOf(planned, { rightWrist: at([x, 40 + y]) }), 'rightWrist', 1)!;
        expect(turn.name).toBe('right elbow');
        expect(turn.deg).toBeCloseTo(deg, 6);
        expect(turn.way).toBe(deg > 0 ? 'too far open' : 'too far closed');
        // Each piece is 40 mm long, each of its ends sure to 0.2 mm.
        expect(turn.sdDeg).toBeCloseTo((((0.2 * Math.SQRT2) / 40) * Math.SQRT2 * 180) / Math.PI, 2);
      }
  });

  it('is that of the shoulder where all of the arm is turned, and of the trunk and the head towards a side', () => {
    const [ex, ey] = turned(90 - 6, 40);
    const off: Places = { rightElbow: [ex, ey], rightWrist: [ex + turned(-6, 40)[0], ey + turned(-6, 40)[1]] };
    const arms = turnAt(offsOf(arm, off), 'rightWrist', 1)!;
    expect(arms).toMatchObject({ name: 'right shoulder', way: 'too far open' });
    expect(arms.deg).toBeCloseTo(6, 6);
    // Of two that turn, the one that takes the hand further.
    const both = turned(-6 + 12, 40);
    const most = turnAt(offsOf(arm, { ...off, rightWrist: [ex + both[0], ey + both[1]] }), 'rightWrist', 1)!;
    expect(most).toMatchObject({ name: 'right elbow', way: 'too far open' });
    const trunk: Places = { pelvis: [0, 0], neck: [0, -60], nose: [10, -80] };
    const lean = turnAt(offsOf(trunk, { neck: turned(-85, 60) }), 'neck', 1)!;
    expect(lean).toMatchObject({ name: 'trunk', way: 'too far to the right' });
    expect(lean.deg).toBeCloseTo(5, 6);
    const nod = turnAt(offsOf(trunk, { nose: [-2, -82] }), 'nose', 1)!;
    expect(nod).toMatchObject({ name: 'head', way: 'too far to the left' });
  });

  it('is not told where it is not sure, too small, or seen from its end', () => {
    const at = (deg: number): Places => ({ rightWrist: [turned(deg, 40)[0], 40 + turned(deg, 40)[1]] });
    expect(turnAt(offsOf(arm, at(9), 3), 'rightWrist', 1)).toBeNull();
    expect(turnAt(offsOf(arm, at(1.9), 0.01), 'rightWrist', 1)).toBeNull();
    expect(turnAt(offsOf(arm, at(2.1), 0.01), 'rightWrist', 1)).not.toBeNull();
    const offs = new Map(offsOf(arm, at(9), 0.01));
    const wrist = offs.get('rightWrist')!;
    // In the other exposures the forearm is seen four times as long: here it points at the lens.
    offs.set('rightWrist', { ...wrist, planX: Float64Array.of(160, 40, 160) });
    expect(turnAt(offs, 'rightWrist', 1)).toBeNull();
  });

  it('goes through straight where a joint is bent the other way, and closes one that was planned straight', () => {
    const straight = (x: number): Places => ({ ...arm, rightWrist: [x, 80] });
    const bent = (Math.atan(10 / 40) * 180) / Math.PI;
    const other = turnAt(offsOf(straight(10), { rightWrist: [-10, 80] }, 0.05), 'rightWrist', 1)!;
    expect(other.way).toBe('bent the other way');
    expect(other.deg).toBeCloseTo(-2 * bent, 6);
    const closed = turnAt(offsOf(straight(2), { rightWrist: [-10, 80] }, 0.05), 'rightWrist', 1)!;
    expect(closed.way).toBe('too far closed');
    expect(closed.deg).toBeCloseTo((Math.atan(2 / 40) * 180) / Math.PI - bent, 6);
  });

  it('is against its neighbours for a pop', () => {
    const offs = new Map(offsOf(arm, {}));
    const wrist = offs.get('rightWrist')!;
    const [[ax, ay], [bx, by]] = [turned(5, 40), turned(14, 40)];
    offs.set('rightWrist', { ...wrist, x: Float64Array.of(ax - 40, bx - 40, ax - 40), y: Float64Array.of(ay, by, ay) });
    expect(turnAt(offs, 'rightWrist', 1)!.deg).toBeCloseTo(14, 6);
    expect(turnAt(offs, 'rightWrist', 1, [0, 2])!.deg).toBeCloseTo(9, 6);
    expect(turnAt(offs, 'rightWrist', 0, [-1, 1])).toBeNull();
  });

  it('is from where it begins to where it ends for what wanders', () => {
    const offs = new Map(offsOf(arm, {}));
    const wrist = offs.get('rightWrist')!;
    // Off by 3° from the beginning on, and by 8 more at the end; in between somewhere else.
    const ways = [3, 40, 11].map((deg) => turned(deg, 40));
    const column = (k: 0 | 1, planned: number) => Float64Array.from(ways, (way) => way[k] - planned);
    offs.set('rightWrist', { ...wrist, x: column(0, 40), y: column(1, 0) });
    const sentence = 'The right wrist drifts 5.6 mm over frames 1 to 6, though the pose is held: it ends too low.';
    const drift = { ...finding, kind: 'holdDrift', firstFrame: 0, frames: 6, atFrame: 2, size: 5.6, sentence } as const;
    const [usual] = withTurns([drift], offs, exposures, 'similarity');
    expect(usual!.sentence).toBe(sentence.replace('low.', 'low (elbow 8° too far open).'));
    const [angles] = withTurns([drift], offs, exposures, 'none');
    expect(angles!.sentence).toMatch(
      /^The right elbow ends 8° too far open: as against the hips, the right wrist drifts/,
    );
    expect([angles!.size, angles!.unit]).toEqual([expect.closeTo(8, 6), '°']);
    // From the second exposure on it goes back.
    const later = withTurns([{ ...drift, firstFrame: 3, frames: 3 }], offs, exposures, 'none')[0]!;
    expect(later.turn!.deg).toBeCloseTo(-29, 6);
    const [slide] = withTurns([{ ...drift, kind: 'footSlide' }], offs, exposures, 'none');
    expect(slide!.turn!.deg).toBeCloseTo(8, 6);
  });

  it('stands behind the millimetres in the sentence, and before them where bodies hang on their own hips', () => {
    const offs = offsOf(arm, { rightWrist: [turned(9, 40)[0], 40 + turned(9, 40)[1]] });
    const [usual] = withTurns([finding], offs, exposures, 'similarity');
    expect(usual!.sentence).toBe('The right wrist is 6.3 mm too low at frames 3 to 4 (elbow 9° too far open).');
    expect(usual).toMatchObject({ size: 6.3, unit: 'mm' });
    const [angles] = withTurns([finding], offs, exposures, 'none');
    expect(angles!.sentence).toBe(
      'The right elbow is 9° too far open: as against the hips, the right wrist is 6.3 mm too low at frames 3 to 4.',
    );
    expect(angles!.unit).toBe('°');
    expect(angles!.size).toBeCloseTo(9, 6);
    const slide = { ...finding, kind: 'footSlide' } as const;
    expect(withTurns([slide], offs, exposures, 'similarity')).toEqual([slide]);
  });
});
