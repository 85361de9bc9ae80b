import type { Timing } from './timing.ts';

/** What lengths are told in: the puppet's millimetres, or the picture's pixels where nothing tells how large things are. */
export interface SizeUnit {
  readonly name: 'mm' | 'px';
  /** So many for a picture pixel. */
  readonly perPx: number;
}

/** The unit of a shot's lengths. */
export function sizeUnitOf({ mmPerPx }: Pick<Timing, 'mmPerPx'>): SizeUnit {
  return Number.isFinite(mmPerPx) ? { name: 'mm', perPx: mmPerPx } : { name: 'px', perPx: 1 };
}

/** A length in the shot's unit: one decimal, whole from 10 on. @param px picture pixels. */
export function sizeWords(px: number, timing: Pick<Timing, 'mmPerPx'>): string {
  const { name, perPx } = sizeUnitOf(timing);
  const size = px * perPx;
  return `${size < 9.95 ? size.toFixed(1) : size.toFixed(0)} ${name}`;
}
