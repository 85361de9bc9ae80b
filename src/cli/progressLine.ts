import type { BatchProgress } from './batchJob.ts';

/** Tells on stderr how far a take has come: one line rewritten on a terminal, a line every tenth in a log. */
export class ProgressLine {
  private lastTenth = -1;
  private isOpen = false;

  constructor(
    private readonly name: string,
    private readonly out: NodeJS.WriteStream = process.stderr,
  ) {}

  /** Shows this state; may be called for every picture. */
  show({ picturesDone, pictureCount, secondsLeft }: BatchProgress): void {
    const left = Number.isFinite(secondsLeft) ? `, about ${Math.ceil(secondsLeft)} s left` : '';
    const line = `${this.name}: ${picturesDone} of ${pictureCount} pictures read${left}`;
    if (this.out.isTTY) {
      this.out.write(`\r\u001b[2K${line}`);
      this.isOpen = true;
      return;
    }
    const tenth = Math.floor((10 * picturesDone) / Math.max(1, pictureCount));
    if (tenth === this.lastTenth) return;
    this.lastTenth = tenth;
    this.out.write(`${line}\n`);
  }

  /** Takes the line off the terminal, so that what is printed next starts clean. */
  close(): void {
    if (this.isOpen) this.out.write('\r\u001b[2K');
    this.isOpen = false;
  }
}
