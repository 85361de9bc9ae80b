import type { PictureStep } from '../../src/compare/cameraEvents.ts';
import { measurePictureSteps, puppetBox } from '../../src/compare/pictureSteps.ts';
import { shotMotion } from '../../src/compare/shotMotion.ts';
import { fitTracks } from '../../src/track/fitTracks.ts';
import type { Sightings } from '../../src/track/sighting.ts';

/** How each still differs from the one before as a whole, measured as the app does: small pictures, the puppet left out. */
export function stepsOfStills(
  stills: readonly { readonly luma: Float32Array; readonly lumaWidthPx: number }[],
  sightings: Sightings,
  smallHeightPx: number,
): PictureStep[] {
  const motion = shotMotion(fitTracks(sightings, []), [], sightings.timesSec);
  const scale = sightings.heightPx / smallHeightPx;
  return measurePictureSteps(
    stills.map(({ luma, lumaWidthPx }, i) => ({
      luma,
      widthPx: lumaWidthPx,
      heightPx: smallHeightPx,
      puppet: motion && puppetBox(motion, i, scale),
    })),
    scale,
  );
}
