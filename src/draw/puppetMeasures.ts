import type { PuppetProfile, PuppetSizes } from '../puppet/profile.ts';
import type { PuppetJoint } from '../puppet/puppetMotion.ts';
import type { ChartSize } from './charts.ts';
import { PathPen } from './pathPen.ts';
import { layOutFigure, type ScenePoint } from './puppetFigure.ts';
import { type Mark, pathMark, type Scene, textMark } from './scene.ts';

/** What a length is called on screen, in the order in which a puppet is measured from the top. */
export const sizeWords: Readonly<Record<keyof PuppetSizes, string>> = {
  headMm: 'head, top to chin',
  headWidthMm: 'head, width',
  neckMm: 'chin to shoulders',
  shouldersMm: 'shoulder to shoulder',
  trunkMm: 'shoulders to hips',
  hipsMm: 'hip to hip',
  upperArmMm: 'upper arm',
  forearmMm: 'forearm',
  handMm: 'wrist to knuckles',
  thighMm: 'thigh',
  shankMm: 'shank',
  ankleMm: 'ankle above the sole',
  heelMm: 'ankle back to heel',
  footMm: 'heel to toes',
  armThickMm: 'arm, thickness',
  legThickMm: 'leg, thickness',
  trunkThickMm: 'body, thickness',
};

const label = { size: 11.5, font: 'text', weight: 400 } as const;
const digits = { size: 11.5, font: 'mono', weight: 400 } as const;
/** Arms are held away from the body by this, so that what is measured along them has room. */
const armOutDeg = 24;

/**
 * The puppet from the front, arms a little out, with a line beside it for each length that a profile has: from where to where it is
 * measured. The chosen one is heavy and named. Foot and thicknesses have drawings of their own beside it.
 * @param chosen null = none is chosen.
 */
export function layOutMeasures(
  profile: PuppetProfile,
  chosen: keyof PuppetSizes | 'tail' | null,
  { width, height }: ChartSize,
): Scene {
  const { sizes: s } = profile;
  const tall = s.headMm + s.neckMm + s.trunkMm + s.thighMm + s.shankMm + s.ankleMm;
  const arm = s.upperArmMm + s.forearmMm + s.handMm;
  const wide = s.shouldersMm + 2 * arm * Math.sin((armOutDeg * Math.PI) / 180) + s.armThickMm;
  const foot = s.footMm * 1.2;
  const perMm = Math.min((height - 52) / tall, (width - 96) / (Math.max(wide, s.headWidthMm) + foot + 0.2 * tall));
  const middle = 84 + (Math.max(wide, s.headWidthMm) / 2) * perMm;
  const floor = 32 + tall * perMm;
  const at = (xMm: number, yMm: number): ScenePoint => [middle + xMm * perMm, floor - yMm * perMm];

  const places = new Map<PuppetJoint, ScenePoint>();
  const hipY = s.ankleMm + s.shankMm + s.thighMm;
  const neckY = hipY + s.trunkMm;
  const [out, down] = [Math.sin((armOutDeg * Math.PI) / 180), Math.cos((armOutDeg * Math.PI) / 180)];
  places.set('pelvis', at(0, hipY)).set('neck', at(0, neckY));
  places.set('leftEar', at(s.headWidthMm / 2, neckY + s.neckMm + s.headMm / 2));
  places.set('rightEar', at(-s.headWidthMm / 2, neckY + s.neckMm + s.headMm / 2));
  for (const [side, sign] of [
    ['left', 1],
    ['right', -1],
  ] as const) {
    // Somebody who faces us has the left side on our right.
    const along = (mm: number) => at(sign * (s.shouldersMm / 2 + out * mm), neckY - down * mm);
    places.set(`${side}Shoulder`, along(0)).set(`${side}Elbow`, along(s.upperArmMm));
    places.set(`${side}Wrist`, along(s.upperArmMm + s.forearmMm)).set(`${side}Hand`, along(arm));
    places.set(`${side}Hip`, at((sign * s.hipsMm) / 2, hipY));
    places.set(`${side}Knee`, at((sign * s.hipsMm) / 2, s.ankleMm + s.shankMm));
    places.set(`${side}Ankle`, at((sign * s.hipsMm) / 2, s.ankleMm));
  }
  profile.tail?.piecesMm.reduce((reached, mm, k) => {
    places.set(`tail${k + 1}`, at(-0.35 * (reached + mm), hipY - 0.94 * (reached + mm) * 0.6));
    return reached + mm;
  }, 0);

  const marks: Mark[] = layOutFigure(profile, places, {
    perMm,
    id: 'puppet',
    fill: 'tint',
    stroke: 'faint',
    strokeWidth: 1,
  });
  marks.push(
    pathMark('floor', new PathPen().line(6, floor, width - 6, floor).toString(), { stroke: 'heavy', strokeWidth: 1.2 }),
  );

  const measure = (name: keyof PuppetSizes | 'tail', a: ScenePoint, b: ScenePoint, mm: number) => {
    const isChosen = name === chosen;
    const long = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
    const [nx, ny] = [(-(b[1] - a[1]) / long) * 4, ((b[0] - a[0]) / long) * 4];
    const pen = new PathPen().line(...a, ...b);
    for (const [x, y] of [a, b]) pen.line(x - nx, y - ny, x + nx, y + ny);
    const words = name === 'tail' ? 'tail' : sizeWords[name];
    marks.push(
      pathMark(`size-${name}`, pen.toString(), {
        stroke: isChosen ? 'mark' : 'quiet',
        strokeWidth: isChosen ? 3 : 1,
        role: 'measure',
        label: `${words}: ${said(mm, profile.unit)}`,
      }),
    );
  };
  const [side, far] = [middle - (Math.max(wide, s.headWidthMm) / 2) * perMm - 14, middle];
  const stack: readonly (readonly [keyof PuppetSizes, number])[] = [
    ['ankleMm', 0],
    ['shankMm', s.ankleMm],
    ['thighMm', s.ankleMm + s.shankMm],
    ['trunkMm', hipY],
    ['neckMm', neckY],
    ['headMm', neckY + s.neckMm],
  ];
  for (const [name, from] of stack)
    measure(name, [side, floor - from * perMm], [side, floor - (from + s[name]) * perMm], s[name]);
  measure(
    'headWidthMm',
    at(-s.headWidthMm / 2, tall + 6 / perMm),
    at(s.headWidthMm / 2, tall + 6 / perMm),
    s.headWidthMm,
  );
  measure('shouldersMm', at(-s.shouldersMm / 2, neckY), at(s.shouldersMm / 2, neckY), s.shouldersMm);
  measure('hipsMm', at(-s.hipsMm / 2, hipY), at(s.hipsMm / 2, hipY), s.hipsMm);
  // Along the arm, a little outside of it.
  const beside = (mm: number): ScenePoint => {
    const [x, y] = at(s.shouldersMm / 2 + out * mm, neckY - down * mm);
    const off = (s.armThickMm / 2) * perMm + 9;
    return [x + off * down, y - off * out];
  };
  measure('upperArmMm', beside(0), beside(s.upperArmMm), s.upperArmMm);
  measure('forearmMm', beside(s.upperArmMm), beside(s.upperArmMm + s.forearmMm), s.forearmMm);
  measure('handMm', beside(s.upperArmMm + s.forearmMm), beside(arm), s.handMm);
  const mid = s.upperArmMm + s.forearmMm / 2;
  const armAt = (sideways: number): ScenePoint => {
    const [x, y] = at(-(s.shouldersMm / 2 + out * mid), neckY - down * mid);
    return [x - sideways * down * perMm, y - sideways * out * perMm];
  };
  measure('armThickMm', armAt(-s.armThickMm / 2), armAt(s.armThickMm / 2), s.armThickMm);
  const thighY = s.ankleMm + s.shankMm + s.thighMm / 2;
  const legX = s.hipsMm / 2;
  measure('legThickMm', at(legX - s.legThickMm / 2, thighY), at(legX + s.legThickMm / 2, thighY), s.legThickMm);
  const waistY = hipY + 0.4 * s.trunkMm;
  measure('trunkThickMm', at(-s.trunkThickMm / 2, waistY), at(s.trunkThickMm / 2, waistY), s.trunkThickMm);
  if (profile.tail)
    measure('tail', places.get('pelvis')!, places.get(`tail${profile.tail.piecesMm.length}`)!, tailMm(profile));

  marks.push(...footDrawing(profile, perMm, width - foot * perMm - 20, floor, measure));
  marks.push(
    textMark('height', side - 6, floor - (tall / 2) * perMm, said(tall, profile.unit), {
      ...digits,
      anchor: 'end',
      colour: 'ink',
      weight: 700,
    }),
  );
  if (chosen) {
    const words = chosen === 'tail' ? 'tail, all pieces' : sizeWords[chosen];
    marks.push(textMark('chosen', far, 13, words, { ...label, anchor: 'middle', weight: 700, colour: 'mark' }));
  }
  const summary = `From where to where each length is measured; ${said(tall, profile.unit)} high.`;
  return { unit: 'px', width, height, title: `The puppet “${profile.name}”`, summary, ground: null, marks };
}

/** A foot from its inner side: heel left, toes right. */
function footDrawing(
  { sizes: s }: PuppetProfile,
  perMm: number,
  left: number,
  floor: number,
  measure: (name: keyof PuppetSizes, a: ScenePoint, b: ScenePoint, mm: number) => void,
): Mark[] {
  const heel: ScenePoint = [left, floor];
  const toe: ScenePoint = [left + s.footMm * perMm, floor];
  const ankle: ScenePoint = [left + s.heelMm * perMm, floor - s.ankleMm * perMm];
  const shin: ScenePoint = [ankle[0], ankle[1] - 0.35 * s.shankMm * perMm];
  const look = { fill: 'tint', stroke: 'faint' } as const;
  const marks = [
    pathMark('foot-shank', new PathPen().capsule(...ankle, ...shin, (s.legThickMm / 2) * perMm).toString(), look),
    pathMark('foot-sole', new PathPen().polygon([ankle, heel, toe]).toString(), look),
  ];
  measure('footMm', [heel[0], floor + 9], [toe[0], floor + 9], s.footMm);
  measure('heelMm', [heel[0], ankle[1]], ankle, s.heelMm);
  return marks;
}

/** All pieces of the tail together, millimetres; 0 without one. */
export function tailMm({ tail }: PuppetProfile): number {
  return tail?.piecesMm.reduce((sum, mm) => sum + mm, 0) ?? 0;
}

/** A length as it is read from a ruler: tenths of a millimetre, hundredths of an inch. */
export function said(mm: number, unit: PuppetProfile['unit']): string {
  return unit === 'mm' ? `${Math.round(mm * 10) / 10} mm` : `${(mm / 25.4).toFixed(2)} in`;
}
