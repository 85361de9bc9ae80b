import { compareShot } from '../../src/compare/compareShot.ts';
import type { Finding } from '../../src/compare/finding.ts';
import type { RegistrationChoice } from '../../src/compare/registration.ts';
import type { PlannedShot } from '../../src/compare/shot.ts';
import { type Fault, type MadeFault, namesOf } from './madeFaults.ts';
import { madeShot, type Seeing } from './madeShots.ts';

/** How many made faults were found by name, and what was told besides. */
export interface Tally {
  readonly made: Record<string, number>;
  readonly found: Record<string, number>;
  readonly missed: string[];
  readonly wrong: string[];
  frames: number;
}

/** An empty tally. */
export function newTally(): Tally {
  return { made: {}, found: {}, missed: [], wrong: [], frames: 0 };
}

/** Does a finding name the fault, at its frame or one beside it? */
export function isNamed(finding: Finding, { fault, firstFrame, lastFrame }: MadeFault): boolean {
  const first = finding.kind === 'keyTiming' ? finding.atFrame : finding.firstFrame;
  const last = finding.kind === 'keyTiming' ? finding.atFrame : finding.firstFrame + finding.frames - 1;
  const isAtFrame =
    fault === 'holdDrift'
      ? first <= lastFrame + 1 && last >= firstFrame - 1
      : fault === 'footSlide'
        ? first <= lastFrame + 1 && last >= firstFrame - 1 && last - first <= 12
        : finding.atFrame >= firstFrame - 1 && finding.atFrame <= lastFrame + 1;
  return namesOf[fault].includes(finding.kind) && isAtFrame;
}

/** Compares one made shot and counts. */
export function tallyShot(
  tally: Tally,
  name: string,
  plan: PlannedShot,
  fault: Fault | null,
  seeing: Seeing,
  choice?: RegistrationChoice,
): void {
  const { shot, made } = madeShot(plan, fault, seeing);
  if (fault && !made) return;
  const { findings } = compareShot(plan, shot, choice)!;
  const last = shot.exposures.at(-1)!;
  tallyFindings(
    tally,
    `${name} seed ${seeing.seed} noise ${seeing.noisePx}`,
    made ? [made] : [],
    findings,
    last.firstFrame + last.frames,
  );
}

/** Counts what was told of a shot of so many frames in which some things were wrong, or none. */
export function tallyFindings(
  tally: Tally,
  name: string,
  made: readonly MadeFault[],
  findings: readonly Finding[],
  frames: number,
): void {
  tally.frames += frames;
  const told = new Set<Finding>();
  const words = made.map(
    ({ fault, what, firstFrame, lastFrame }) => `${fault} (${what}) at ${firstFrame}..${lastFrame}`,
  );
  for (const [k, fault] of made.entries()) {
    tally.made[fault.fault] = (tally.made[fault.fault] ?? 0) + 1;
    const finding = findings.find((f) => !told.has(f) && isNamed(f, fault));
    if (finding) {
      told.add(finding);
      tally.found[fault.fault] = (tally.found[fault.fault] ?? 0) + 1;
    } else tally.missed.push(`${name} ${words[k]}`);
  }
  for (const f of findings)
    if (!told.has(f))
      tally.wrong.push(
        `${name} ${words.join(', ') || 'clean'}: [${f.kind} ${f.size.toFixed(1)} ± ${f.sd.toFixed(2)} ${f.unit}, frames ${f.firstFrame}+${f.frames}] ${f.sentence}`,
      );
}
