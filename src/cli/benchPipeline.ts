import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium } from 'playwright';
import { build, preview } from 'vite';
import type { BatchReading } from './batchJob.ts';
import { digits, textTable } from './benchTable.ts';
import { projectRoot } from './builtApp.ts';
import { chromiumLaunch } from './chromium.ts';
import type { PlainJob, PlainResult } from './plainJob.ts';

/**
 * Reads the same pictures the plain way: seeking a video element, estimating on the main thread. Its page is built apart
 * from the app, so that nothing of it is shipped.
 * @param reading what the pipeline read: the times to seek to, the model and backend to use
 */
export async function readPlainly(videoPath: string, { footage, sightings }: BatchReading): Promise<PlainResult> {
  const outDir = mkdtempSync(join(tmpdir(), 'nudgebook-plain-'));
  const page = { root: join(projectRoot, 'tests/bench'), configFile: join(projectRoot, 'vite.config.ts') };
  try {
    await build({
      ...page,
      logLevel: 'warn',
      build: { outDir, rollupOptions: { input: join(page.root, 'plainWay.html') } },
    });
    const server = await preview({ ...page, logLevel: 'silent', preview: { port: 5840 }, build: { outDir } });
    const browser = await chromium.launch(chromiumLaunch());
    try {
      const tab = await browser.newPage();
      await tab.goto(`${server.resolvedUrls?.local[0]}plainWay.html`);
      await tab.waitForFunction(() => 'plainWay' in window);
      await tab.setInputFiles('input[type=file]', videoPath);
      const job: PlainJob = {
        model: sightings.detector.model,
        backend: sightings.detector.backend,
        stampsSec: Array.from(footage.timesSec, (sec) => sec + footage.firstStampSec),
      };
      return await tab.evaluate(
        (j) => (window as unknown as { plainWay: (job: PlainJob) => Promise<PlainResult> }).plainWay(j),
        job,
      );
    } finally {
      await browser.close();
      await server.close();
    }
  } finally {
    rmSync(outDir, { recursive: true, force: true });
  }
}

/** The two ways side by side, and their ratio. */
export function pipelineReport(name: string, { footage, sightings }: BatchReading, plain: PlainResult): string {
  const pictures = footage.timesSec.length;
  const ours = pictures / sightings.detector.readSeconds;
  const theirs = plain.pictures / plain.seconds;
  const { model, backend } = sightings.detector;
  return [
    `Reading ${name} (${pictures} pictures of ${footage.widthPx}×${footage.heightPx}) with ${model} on ${backend}, model loaded and warm:`,
    '',
    textTable(
      ['way', 'seconds', 'pictures/s'],
      [
        ['the plain way', digits(plain.seconds, 1), digits(theirs)],
        ['ours', digits(sightings.detector.readSeconds, 1), digits(ours)],
      ],
    ),
    '',
    `Ratio: ${digits(ours / theirs)}`,
  ].join('\n');
}
