import { notablyLarger, type PictureScale } from '../../compare/jointScale.ts';
import type { RulerFault } from '../../compare/ruler.ts';
import type { PuppetProfile } from '../../puppet/profile.ts';
import { mmPerInch } from '../puppet/puppetActions.ts';

/** "0.412 mm to a pixel". */
export function perPixelWords(mmPerPx: number, unit: PuppetProfile['unit']): string {
  return unit === 'mm' ? `${mmPerPx.toFixed(3)} mm to a pixel` : `${(mmPerPx / mmPerInch).toFixed(4)} in to a pixel`;
}

/** What is wrong with a ruler, and what to do about it. */
export const rulerFaultWords: Readonly<Record<RulerFault, string>> = {
  short:
    'Its ends lie too near to each other: the size would err by more than 5 %. Pull them apart, or take a longer length. Until then the joints give the size.',
  noLength: 'A length above 0 is needed.',
};

/** No puppet is built so much otherwise than its profile. */
const doubtfulShare = 0.15;

/** What a ruler gives, how sure it is, and what the joints say of it; null = they were not asked. */
export function rulerWords(ruler: PictureScale, byJoints: PictureScale | null, unit: PuppetProfile['unit']): string {
  const gives = `It gives ${perPixelWords(ruler.mmPerPx, unit)}, ± ${(100 * ruler.sdShare).toFixed(1)} %.`;
  if (!byJoints) return gives;
  const larger = notablyLarger(ruler, byJoints);
  if (larger === null) return `${gives} The joints say the same.`;
  const share = `${Math.abs(100 * larger).toFixed(1)} % ${larger > 0 ? 'more' : 'less'}`;
  const why =
    larger > 0
      ? 'the puppet is larger than its profile says, or the ruler lies further from the camera than the puppet'
      : 'the puppet is smaller than its profile says, or the ruler lies nearer to the camera than the puppet';
  const doubt = Math.abs(larger) > doubtfulShare ? ' Is its length right?' : '';
  return `${gives} That is ${share} than by the joints: ${why}.${doubt}`;
}
