import type { PictureMark, Scene } from '../../draw/scene.ts';
import { nextTurn } from '../slices.ts';
import type { TakeOnScreen } from '../takeOnScreen.ts';

/** Height of a printed crop, pixels: about 300 dpi at the size of a note's picture. */
const heightPx = 420;

/** The parts of a shot's pictures that a scene asks for, as data addresses by the mark's id. One that cannot be had is missing. */
export async function shotCrops(take: TakeOnScreen, scene: Scene): Promise<ReadonlyMap<string, string>> {
  const { footage, pictures } = take;
  const found = new Map<string, string>();
  for (const mark of scene.marks) {
    if (mark.kind !== 'picture' || !mark.crop) continue;
    const { picture, height } = mark.crop;
    if (picture < 0 || picture >= footage.timesSec.length) continue;
    // As large as the crop needs it, never larger than it is.
    const wholePx = Math.min(footage.heightPx, Math.ceil((heightPx * footage.heightPx) / height));
    const [bitmap] = await pictures.thumbnails([picture], Math.max(1, wholePx));
    if (!bitmap) continue;
    found.set(mark.id, cropOf(bitmap, mark, footage));
    bitmap.close();
    await nextTurn();
  }
  return found;
}

function cropOf(bitmap: ImageBitmap, { crop, width, height }: PictureMark, footage: TakeOnScreen['footage']): string {
  const canvas = document.createElement('canvas');
  canvas.height = heightPx;
  canvas.width = Math.round((heightPx * width) / height);
  const g = canvas.getContext('2d');
  if (!g || !crop) return '';
  // Beyond the picture is paper.
  g.fillStyle = '#fff';
  g.fillRect(0, 0, canvas.width, canvas.height);
  const scale = canvas.height / crop.height;
  g.imageSmoothingQuality = 'high';
  g.drawImage(bitmap, -crop.left * scale, -crop.top * scale, footage.widthPx * scale, footage.heightPx * scale);
  return canvas.toDataURL('image/jpeg', 0.88);
}
