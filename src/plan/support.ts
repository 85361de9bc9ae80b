import type { PuppetMotion } from '../puppet/puppetMotion.ts';

const onWords = { foot: 'foot', heel: 'heel', toe: 'toes' } as const;

/** What the puppet stands on in a frame, in a few words: "both feet", "left foot, right toes", "in the air", "foot slides"; "" where no foot was seen. */
export function supportAt({ planted, unplanted, feetSeen }: PuppetMotion, frame: number): string {
  if (!feetSeen) return '';
  const now = planted.filter((p) => frame >= p.firstFrame && frame < p.firstFrame + p.frames);
  const [left, right] = [now.find((p) => p.side === 'left'), now.find((p) => p.side === 'right')];
  if (left && right && left.on === 'foot' && right.on === 'foot') return 'both feet';
  const words = [left && `left ${onWords[left.on]}`, right && `right ${onWords[right.on]}`].filter(Boolean);
  if (words.length > 0) return words.join(', ');
  const run = unplanted.find((u) => frame >= u.firstFrame && frame < u.firstFrame + u.frames);
  return run?.how === 'air' ? inTheAir : slides;
}

const inTheAir = 'in the air';
const slides = 'foot slides';

/** `supportAt` as a phrase of its own: "stands on both feet", "in the air"; "" stays "". */
export function supportPhrase(support: string): string {
  return support === '' || support === inTheAir || support === slides ? support : `stands on ${support}`;
}

/** The same for each frame, only where it changes; "" in between. Shape [frame]. */
export function supportChanges(puppet: PuppetMotion, frameCount: number): string[] {
  let last = '';
  return Array.from({ length: frameCount }, (_, k) => {
    const now = supportAt(puppet, k);
    if (now === last) return '';
    last = now;
    return now;
  });
}
