import '@fontsource/atkinson-hyperlegible-next/300.css';
import '@fontsource/atkinson-hyperlegible-next/400.css';
import '@fontsource/atkinson-hyperlegible-next/600.css';
import '@fontsource/atkinson-hyperlegible-next/700.css';
import '@fontsource/atkinson-hyperlegible-mono/400.css';
import '@fontsource/atkinson-hyperlegible-mono/600.css';
import '@fontsource/atkinson-hyperlegible-mono/700.css';
import { families } from '../draw/tokens.ts';

const weights = { text: [300, 400, 600, 700], mono: [400, 600, 700] } as const;

/**
 * Settles when every font of the app is there, or cannot be had: a font that is
 * fetched where it is first needed moves what stands beside its letters when it comes, and a canvas paints with another one.
 */
export async function fontsReady(): Promise<void> {
  const faces = (['text', 'mono'] as const).flatMap((font) =>
    weights[font].map((weight) => `${weight} 20px ${families[font]}`),
  );
  await Promise.allSettled(faces.map((face) => document.fonts.load(face)));
}
