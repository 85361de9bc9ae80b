import { type Browser, chromium, type Page } from 'playwright';
import {
  type BatchJob,
  type BatchPlan,
  type BatchProgress,
  type BatchReading,
  type BatchReply,
  batchHook,
  progressHook,
} from './batchJob.ts';
import { type AppServer, ensureBuild, serveBuiltApp } from './builtApp.ts';
import { chromiumLaunch } from './chromium.ts';

/** First port tried by the command line; the next free one is taken, so several calls may run at once. */
const batchPort = 5830;

/** A finished plan with its printed sheet. */
export interface PlannedTake {
  readonly plan: BatchPlan;
  readonly sheetPdf: Uint8Array;
}

/** One headless Chromium with the built app's batch page, which plans takes one after another. Close it when done. */
export class BatchBrowser {
  private page: Page | null = null;
  private onProgress: (progress: BatchProgress) => void = () => {};

  private constructor(
    private readonly server: AppServer,
    private readonly browser: Browser,
  ) {}

  /** Builds the app if needed, serves it on a free loopback port, starts Chromium. @throws Error with a next step. */
  static async open(say: (line: string) => void): Promise<BatchBrowser> {
    const launch = chromiumLaunch(stayHome);
    ensureBuild(say);
    const server = await serveBuiltApp(batchPort);
    try {
      const browser = await chromium.launch(launch);
      return new BatchBrowser(server, browser);
    } catch (error) {
      await server.close();
      throw error;
    }
  }

  /** Plans one take. What goes wrong with it comes back as a sentence; the browser stays good for the next one. */
  async plan(
    files: readonly string[],
    job: BatchJob,
    onProgress: (progress: BatchProgress) => void,
  ): Promise<BatchReply<PlannedTake>> {
    return this.ask<BatchPlan, PlannedTake>('plan', files, job, onProgress, async (page, plan) => ({
      plan,
      sheetPdf: await page.pdf({ preferCSSPageSize: true, printBackground: true }),
    }));
  }

  /** Only reads one take, for measuring. */
  async read(
    files: readonly string[],
    job: BatchJob,
    onProgress: (progress: BatchProgress) => void,
  ): Promise<BatchReply<BatchReading>> {
    return this.ask<BatchReading, BatchReading>('read', files, job, onProgress, async (_, reading) => reading);
  }

  /** Calls one of the batch page's functions on the files and finishes its reply while the page still shows it. */
  private async ask<T, U>(
    call: string,
    files: readonly string[],
    job: BatchJob,
    onProgress: (progress: BatchProgress) => void,
    finish: (page: Page, value: T) => Promise<U>,
  ): Promise<BatchReply<U>> {
    this.onProgress = onProgress;
    try {
      const page = await this.openPage();
      const crashed = new Promise<never>((_, reject) =>
        page.once('crash', () => reject(new Error('the browser ran out of memory or crashed on this take'))),
      );
      crashed.catch(() => {});
      await page.setInputFiles('input[type=file]', [...files]);
      const reply = await Promise.race([
        page.evaluate(
          ([hook, name, j]) =>
            (window as unknown as Record<string, Record<string, (job: unknown) => Promise<unknown>>>)[hook]![name]!(j),
          [batchHook, call, job] as const,
        ) as Promise<BatchReply<T>>,
        crashed,
      ]);
      return reply.ok ? { ok: true, value: await Promise.race([finish(page, reply.value), crashed]) } : reply;
    } catch (error) {
      // A page in an unknown state is not used again.
      await this.page?.close().catch(() => {});
      this.page = null;
      return { ok: false, sentence: `${firstLine(error)}. Try this take again by itself, or a shorter part of it.` };
    }
  }

  private async openPage(): Promise<Page> {
    if (this.page) return this.page;
    const page = await this.browser.newPage();
    await page.exposeFunction(progressHook, (progress: BatchProgress) => this.onProgress(progress));
    await page.goto(`${this.server.url}batch.html`);
    await page.waitForFunction((hook) => hook in window, batchHook);
    this.page = page;
    return page;
  }

  /** Ends the browser and the server. */
  async close(): Promise<void> {
    await this.browser.close();
    await this.server.close();
  }
}

/** No name but loopback's resolves: whatever a page may try, nothing leaves this machine. */
const stayHome = ['--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1'];

function firstLine(error: unknown): string {
  const text = error instanceof Error ? error.message : String(error);
  return text.split('\n')[0]!.replace(/\.$/, '');
}
