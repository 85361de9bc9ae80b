import { existsSync, readFileSync } from 'node:fs';

/** How many tests went which way. */
export interface Tally {
  readonly passed: number;
  readonly failed: number;
  readonly skipped: number;
}

/** No test at all. */
export const nothing: Tally = { passed: 0, failed: 0, skipped: 0 };

/** Two tallies together. */
export function add(a: Tally, b: Tally): Tally {
  return { passed: a.passed + b.passed, failed: a.failed + b.failed, skipped: a.skipped + b.skipped };
}

/** "12 passed, 1 failed", with ", 2 skipped" when there are any. */
export function tallyLine({ passed, failed, skipped }: Tally): string {
  return `${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`;
}

/**
 * A step's final tally: a step that ended badly without a failed test to show for it (it crashed, or an error escaped
 * all tests), and a step in which nothing ran, count as one failure more. A green line must mean that tests ran.
 */
export function settle(counted: Tally, exitCode: number | null): Tally {
  const isSilentlyBad = counted.failed === 0 && (exitCode !== 0 || counted.passed === 0);
  return isSilentlyBad ? add(counted, { ...nothing, failed: 1 }) : counted;
}

/** The parts of vitest's JSON report that are counted. */
interface VitestReport {
  readonly testResults: readonly {
    readonly status: string;
    readonly assertionResults: readonly { readonly status: string }[];
  }[];
}

/** Counts vitest's JSON report; a file that failed without a failed test in it (it could not be loaded) is one failure. */
export function countVitest(report: VitestReport): Tally {
  return report.testResults
    .map(({ status, assertionResults }) => {
      const many = (wanted: (s: string) => boolean) => assertionResults.filter((a) => wanted(a.status)).length;
      const passed = many((s) => s === 'passed');
      const failed = many((s) => s === 'failed');
      const skipped = assertionResults.length - passed - failed;
      return { passed, failed: failed === 0 && status === 'failed' ? 1 : failed, skipped };
    })
    .reduce(add, nothing);
}

/** The parts of Playwright's JSON report that are counted. */
interface PlaywrightReport {
  readonly stats: {
    readonly expected: number;
    readonly unexpected: number;
    readonly flaky: number;
    readonly skipped: number;
  };
  readonly errors: readonly unknown[];
}

/** Counts Playwright's JSON report; a test that passed only when tried again has failed; so has every error outside tests. */
export function countPlaywright({ stats, errors }: PlaywrightReport): Tally {
  return { passed: stats.expected, failed: stats.unexpected + stats.flaky + errors.length, skipped: stats.skipped };
}

/** Reads a report file; a missing one (the runner crashed before writing it) counts nothing. */
export function readTally<R>(file: string, count: (report: R) => Tally): Tally {
  return existsSync(file) ? count(JSON.parse(readFileSync(file, 'utf8')) as R) : nothing;
}
