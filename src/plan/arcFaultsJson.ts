import type { Part } from '../base/joints.ts';
import type { ArcFaultKind } from '../timing/arcFault.ts';
import { arcFaults } from '../timing/arcFaults.ts';
import { partWordsWith } from '../timing/chains.ts';
import type { Plan } from './plan.ts';

/** A fault of an arc in `plan.json`: see `ArcFault`. Faults are listed worst first. */
export interface ArcFaultJson {
  kind: ArcFaultKind;
  /** A joint, or `prop:…` for a marked point. */
  part: Part;
  /** From 0. */
  firstFrame: number;
  frames: number;
  /** The frame where it is seen best, from 0. */
  atFrame: number;
  /** Puppet millimetres; null where nothing tells how large things are. */
  sizeMm: number | null;
  sdMm: number | null;
  /** For people: counts frames from 1, as on screen and paper. */
  sentence: string;
  why: string;
}

/** The faults of a shot's exposed poses. */
export function arcFaultsJson({ timing, book }: Pick<Plan, 'timing' | 'book'>): ArcFaultJson[] {
  const said = (mm: number) => (Number.isFinite(mm) ? Math.round(mm * 1e4) / 1e4 : null);
  return arcFaults(timing, 'exposures', partWordsWith(book.props)).map((f) => ({
    kind: f.kind,
    part: f.part,
    firstFrame: f.firstFrame,
    frames: f.frames,
    atFrame: f.atFrame,
    sizeMm: said(f.sizeMm),
    sdMm: said(f.sdMm),
    sentence: f.sentence,
    why: f.why,
  }));
}
