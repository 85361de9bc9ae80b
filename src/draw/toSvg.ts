import { short } from './pathPen.ts';
import type { Mark, PictureMark, Scene } from './scene.ts';
import { families, type Theme } from './tokens.ts';

/** How a scene becomes SVG. */
export interface SvgOptions {
  readonly theme: Theme;
  /** Address of the picture for a slot (a data: or blob: URL), or null to leave the slot empty. */
  readonly pictureHref?: (slot: PictureMark) => string | null;
}

/** The scene as an SVG document of its own, sized in the scene's unit. All text is escaped. */
export function toSvg(scene: Scene, options: SvgOptions): string {
  const { theme } = options;
  const [w, h] = [short(scene.width), short(scene.height)];
  const lines = [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${w}${scene.unit}" height="${h}${scene.unit}" viewBox="0 0 ${w} ${h}" role="img">`,
    `<title>${escapeXml(scene.title)}</title>`,
    `<desc>${escapeXml(scene.summary)}</desc>`,
  ];
  if (scene.ground) lines.push(`<rect width="${w}" height="${h}" fill="${theme[scene.ground]}"/>`);
  for (const mark of scene.marks) lines.push(svgOf(mark, options));
  return `${lines.join('\n')}\n</svg>\n`;
}

function svgOf(mark: Mark, { theme, pictureHref }: SvgOptions): string {
  const id = ` data-id="${escapeXml(mark.id)}"`;
  const label = mark.label ? `<title>${escapeXml(mark.label)}</title>` : '';
  switch (mark.kind) {
    case 'path': {
      const paint = [`fill="${mark.fill ? theme[mark.fill] : 'none'}"`];
      if (mark.stroke)
        paint.push(
          `stroke="${theme[mark.stroke]}" stroke-width="${short(mark.strokeWidth)}" stroke-linecap="round" stroke-linejoin="round"`,
        );
      if (mark.dash.length > 0) paint.push(`stroke-dasharray="${mark.dash.map(short).join(' ')}"`);
      if (mark.opacity !== 1) paint.push(`opacity="${short(mark.opacity)}"`);
      return `<path${id} d="${mark.d}" ${paint.join(' ')}${label ? `>${label}</path>` : '/>'}`;
    }
    case 'text': {
      const anchor = mark.anchor === 'start' ? '' : ` text-anchor="${mark.anchor}"`;
      const weight = mark.weight === 400 ? '' : ` font-weight="${mark.weight}"`;
      return `<text${id} x="${short(mark.x)}" y="${short(mark.y)}" font-family="${families[mark.font]}" font-size="${short(mark.size)}"${weight}${anchor} fill="${theme[mark.colour]}">${label}${escapeXml(mark.text)}</text>`;
    }
    case 'picture': {
      const href = pictureHref?.(mark) ?? null;
      if (href === null) return '';
      return `<image${id} x="${short(mark.x)}" y="${short(mark.y)}" width="${short(mark.width)}" height="${short(mark.height)}" preserveAspectRatio="xMidYMid meet" href="${escapeXml(href)}">${label}</image>`;
    }
  }
}

/** Text that is safe between tags and in attributes; control characters, which XML forbids, are dropped. */
export function escapeXml(text: string): string {
  return (
    text
      // biome-ignore lint/suspicious/noControlCharactersInRegex: these are the ones that XML 1.0 forbids
      .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, '')
      .replaceAll('&', '&amp;')
      .replaceAll('<', '&lt;')
      .replaceAll('>', '&gt;')
      .replaceAll('"', '&quot;')
  );
}
