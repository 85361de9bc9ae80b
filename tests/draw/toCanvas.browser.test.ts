import { expect, it } from 'vitest';
import { printedPages } from '../../src/draw/printedPages.ts';
import type { Scene } from '../../src/draw/scene.ts';
import { toCanvas } from '../../src/draw/toCanvas.ts';
import { themes } from '../../src/draw/tokens.ts';
import { toSvg } from '../../src/draw/toSvg.ts';
import { madePlan } from '../plan/madeTiming.ts';

const pxPerUnit = 4;

function canvasFor(scene: Scene): CanvasRenderingContext2D {
  const canvas = document.createElement('canvas');
  canvas.width = Math.round(scene.width * pxPerUnit);
  canvas.height = Math.round(scene.height * pxPerUnit);
  return canvas.getContext('2d', { willReadFrequently: true })!;
}

it('paints every line where SVG paints it', async () => {
  const page = printedPages(madePlan(), { paper: 'A4' })[1]!;
  // Only the lines: text is drawn by two different engines and compared as SVG text elsewhere.
  const scene: Scene = { ...page, marks: page.marks.filter((m) => m.kind === 'path') };
  const painted = canvasFor(scene);
  toCanvas(scene, painted, { theme: themes.paper, pxPerUnit });

  const drawn = canvasFor(scene);
  const image = new Image();
  const svg = toSvg({ ...scene, unit: 'px' }, { theme: themes.paper });
  image.src = `data:image/svg+xml,${encodeURIComponent(svg)}`;
  await image.decode();
  drawn.drawImage(image, 0, 0, drawn.canvas.width, drawn.canvas.height);

  const { width, height } = painted.canvas;
  const a = painted.getImageData(0, 0, width, height).data;
  const b = drawn.getImageData(0, 0, width, height).data;
  let [dark, different] = [0, 0];
  for (let i = 0; i < a.length; i += 4) {
    if (a[i]! < 128) dark++;
    if (Math.abs(a[i]! - b[i]!) > 64) different++;
  }
  expect(dark).toBeGreaterThan(5000);
  expect(different / dark).toBeLessThan(0.02);
});

it('fits a picture into its slot, whole and centred', () => {
  const picture = document.createElement('canvas');
  picture.width = picture.height = 10;
  const ink = picture.getContext('2d')!;
  ink.fillStyle = '#00ff00';
  ink.fillRect(0, 0, 10, 10);
  const slot = {
    kind: 'picture',
    id: 's',
    role: '',
    label: '',
    x: 2,
    y: 2,
    width: 20,
    height: 10,
    takeSec: 0,
  } as const;
  const scene: Scene = { unit: 'px', width: 24, height: 14, title: '', summary: '', ground: 'sheet', marks: [slot] };
  const ctx = canvasFor(scene);
  toCanvas(scene, ctx, { theme: themes.paper, pxPerUnit, picture: () => ({ image: picture, width: 10, height: 10 }) });
  const at = (x: number, y: number) => [...ctx.getImageData(x * pxPerUnit, y * pxPerUnit, 1, 1).data.slice(0, 3)];
  expect([at(4, 7), at(12, 7), at(20, 7)]).toEqual([
    [255, 255, 255],
    [0, 255, 0],
    [255, 255, 255],
  ]);
});
