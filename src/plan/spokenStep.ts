import type { StepCard, StepMove } from './onSet.ts';

/** More than this is not remembered while both hands are on the puppet. */
const mostSpoken = 3;

/** What is spoken when an exposure comes up: its number, what to move, what it stands on where that changes, what to prepare. */
export function spokenStep(card: StepCard): string {
  const sentences = [`Exposure ${card.exposure + 1}.`];
  if (card.isHeld) sentences.push('Touch nothing. Shoot again.');
  else if (card.exposure === 0) sentences.push('The first pose.');
  else {
    if (card.pose.key)
      sentences.push(`${card.pose.key.kind === 'key' ? 'Key' : 'Breakdown'}, pose ${card.pose.number}.`);
    sentences.push(...card.moves.slice(0, mostSpoken).map(spokenMove));
    if (card.moves.length === 0) sentences.push('Hardly anything moves.');
  }
  if (card.stoodBefore) sentences.push(`Now ${card.standing}.`);
  sentences.push(...card.hands.filter((h) => !h.endsWith('keeps its place')).map((h) => `${capital(h)}.`));
  if (card.toPrepare?.inExposures === 1) sentences.push(`The next exposure needs a ${card.toPrepare.support}.`);
  return sentences.join(' ');
}

function spokenMove({ words, mm, hour, turn, outOfPlane, guessed }: StepMove): string {
  const way = `${capital(words)}, ${mm} ${mm === 1 ? 'millimetre' : 'millimetres'} to ${hour} o'clock`;
  const hinge = turn
    ? `, ${turn.words} ${turn.opens ? 'opens' : 'closes'} ${turn.deg} ${turn.deg === 1 ? 'degree' : 'degrees'}`
    : '';
  const doubt = guessed ? ', guessed' : outOfPlane ? ', also in depth' : '';
  return `${way}${hinge}${doubt}.`;
}

function capital(words: string): string {
  return words.charAt(0).toUpperCase() + words.slice(1);
}
