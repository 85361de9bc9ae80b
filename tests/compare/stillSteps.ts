import type { PictureStep } from '../../src/compare/cameraEvents.ts';
import { measurePictureSteps, type PuppetBox } from '../../src/compare/pictureSteps.ts';
import { shotMotion } from '../../src/compare/shotMotion.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import type { Sightings } from '../../src/track/sighting.ts';

/** What the app takes for the puppet around its joints: share of its height in the picture. */
const bodyShare = 0.15;

/** How each still differs from the one before as a whole, measured as the app does: small pictures, the puppet left out. */
export function stepsOfStills(
  stills: readonly { readonly luma: Float32Array; readonly lumaWidthPx: number }[],
  sightings: Sightings,
  smallHeightPx: number,
): PictureStep[] {
  const motion = shotMotion(fitTracks(sightings, []), [], sightings.timesSec);
  const scale = sightings.heightPx / smallHeightPx;
  const boxAt = (i: number): PuppetBox | null => {
    const at = [...(motion?.paths.values() ?? [])]
      .map(({ xPx, yPx }) => [xPx[i]!, yPx[i]!] as const)
      .filter(([x, y]) => Number.isFinite(x + y));
    if (at.length < 2) return null;
    const [xs, ys] = [at.map(([x]) => x), at.map(([, y]) => y)];
    const around = bodyShare * (Math.max(...ys) - Math.min(...ys));
    return {
      leftPx: (Math.min(...xs) - around) / scale,
      topPx: (Math.min(...ys) - around) / scale,
      rightPx: (Math.max(...xs) + around) / scale,
      bottomPx: (Math.max(...ys) + around) / scale,
    };
  };
  return measurePictureSteps(
    stills.map(({ luma, lumaWidthPx }, i) => ({
      luma,
      widthPx: lumaWidthPx,
      heightPx: smallHeightPx,
      puppet: boxAt(i),
    })),
    scale,
  );
}
