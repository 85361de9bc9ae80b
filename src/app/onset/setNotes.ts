import { clipText, wrapText } from '../../draw/fitText.ts';
import { measureBundled } from '../../draw/measure.ts';
import type { TextStyle } from '../../draw/scene.ts';
import type { StepCard } from '../../plan/onSet.ts';
import { runWords } from '../../plan/shotFacts.ts';

/** One line of what is to be known beside the moves. */
export interface NoteLine {
  readonly kind: 'ahead' | 'care' | 'changed' | 'contact' | 'later' | 'note';
  readonly words: string;
  /** How large its letters are, as a share of the usual: under 1 only for cautions that would find no room otherwise. */
  readonly scale: number;
}

/** What stands in the room for notes, which is the same in every exposure. */
export interface FittedNotes {
  readonly lines: readonly NoteLine[];
  /** How many notes are cut or are not there: the list of all notes has them. */
  readonly more: number;
}

/** As many lines of the usual letters as have room. */
export const noteLines = 4;
/** Room at the right of each line of care for "and 2 more", in em: cautions are never cut by it. */
const moreWidth = 5;
/** Cautions get smaller before anything of them would be hidden. */
const scales = [1, 0.8, 0.65, 0.5, 0.4, 0.3] as const;
const faces = {
  plain: { size: 1, font: 'text', weight: 400 },
  bold: { size: 1, font: 'text', weight: 700 },
} as const;

/**
 * The notes of an exposure in lines that fit. Every caution for now is told in full; then come, as far as there is room, the key ahead, a
 * change of what the puppet stands on, what to prepare, what it goes on standing on, and what was written beside the frames.
 * @param widthEm of the room, in em of the usual letters.
 */
export function fitNotes(card: StepCard, widthEm: number): FittedNotes {
  const care = careLines(card, widthEm);
  let left = noteLines - Math.ceil(care.lines.length * care.scale - 1e-9);
  const found = new Map<NoteLine['kind'], readonly string[]>();
  let more = 0;
  for (const [kind, words, most] of wishes(card)) {
    const face = faceOf(kind);
    const whole = wrapText(words, widthEm, 99, face, measureBundled);
    const lines = Math.min(whole.length, most, left);
    if (whole.length > lines) more++;
    if (lines === 0) continue;
    found.set(kind, wrapText(words, widthEm, lines, face, measureBundled));
    left -= lines;
  }
  const of = (kind: NoteLine['kind']) => (found.get(kind) ?? []).map((words): NoteLine => ({ kind, words, scale: 1 }));
  const lines = [
    ...of('ahead'),
    ...care.lines.map((words): NoteLine => ({ kind: 'care', words, scale: care.scale })),
    ...[...of('changed'), ...of('contact'), ...of('later'), ...of('note')],
  ];
  // "and 2 more" stands behind the last line.
  const last = lines.at(-1);
  if (more === 0 || !last || last.kind === 'care') return { lines, more };
  const face = faceOf(last.kind);
  const words = clipText(last.words, widthEm - moreWidth, face, measureBundled);
  return { lines: [...lines.slice(0, -1), { ...last, words }], more };
}

/** "Pose 12" is bold before the key's name: the whole line is measured so. */
function faceOf(kind: NoteLine['kind']): TextStyle {
  return kind === 'changed' || kind === 'ahead' ? faces.bold : faces.plain;
}

/** Each with how many lines it may take. */
function wishes(card: StepCard): (readonly [NoteLine['kind'], string, number])[] {
  const { ahead, toPrepare, note } = card;
  const contacts = contactWords(card);
  const isChanged = card.stoodBefore !== '';
  return [
    ...(ahead ? [['ahead', `Pose ${ahead.poseNumber} ${ahead.name}`, 1] as const] : []),
    ...(contacts && isChanged ? [['changed', contacts, 2] as const] : []),
    ...(toPrepare
      ? [['later', `${toPrepare.support} in ${toPrepare.inExposures}, frames ${runWords(toPrepare)}`, 1] as const]
      : []),
    ...(contacts && !isChanged ? [['contact', contacts, 2] as const] : []),
    ...(note ? [['note', note, noteLines] as const] : []),
  ];
}

/** What feet and hands do, and what the feet did before where that changes; "" = nothing was seen. */
export function contactWords({ standing, stoodBefore, hands }: StepCard): string {
  return [standing && stoodBefore ? `now ${standing}, before: ${stoodBefore}` : standing, ...hands]
    .filter(Boolean)
    .join('; ');
}

function careLines({ prepared }: StepCard, widthEm: number): { lines: readonly string[]; scale: number } {
  if (prepared.length === 0) return { lines: [], scale: 1 };
  const words = `! ${prepared.map((p) => `${p.support}, frames ${runWords(p)}`).join('; ')}`;
  const wrapped = (scale: number) =>
    wrapText(words, (widthEm - moreWidth) / scale, Number.POSITIVE_INFINITY, faces.bold, measureBundled);
  // The key ahead keeps its line.
  const scale = scales.find((s) => wrapped(s).length * s <= noteLines - 1) ?? scales.at(-1)!;
  return { lines: wrapped(scale), scale };
}
