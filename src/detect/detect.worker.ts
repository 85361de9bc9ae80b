import { answerCalls, type CallScope } from '../ingest/calls.ts';
import { type OpenTake, openTake } from '../ingest/openTake.ts';
import { WorldFailure } from '../ingest/worldFailure.ts';
import { followPoints, type KeptLegs } from './followPoints.ts';
import { loadFine, loadQuick } from './loadDetector.ts';
import { followPicture } from './pictureSteps.ts';
import type { DetectCalls, SourceRequest } from './protocol.ts';
import { refineTake } from './refineTake.ts';
import { scanTake } from './scanTake.ts';

const keptLegs: KeptLegs = new Map();

// Models are kept between calls, by what they are and what they run on. A load that failed may be tried again.
const loaded = new Map<string, Promise<unknown>>();

function kept<T>(key: string, load: () => Promise<T>): Promise<T> {
  const before = loaded.get(key) as Promise<T> | undefined;
  if (before) return before;
  const loading = load();
  loaded.set(key, loading);
  loading.catch(() => loaded.delete(key));
  return loading;
}

async function withTake<T>(request: SourceRequest, work: (take: OpenTake) => Promise<T>): Promise<T> {
  const opened = await openTake(request.source, {
    stillsRate: request.stillsRate,
    ...(request.pixelWay === null ? {} : { pixelWay: request.pixelWay }),
  });
  if (!opened.ok) throw new WorldFailure(opened.failure.code, opened.failure.sentence);
  try {
    return await work(opened.value);
  } finally {
    opened.value.close();
  }
}

answerCalls<DetectCalls>(self as unknown as CallScope, {
  scan: (request, job) =>
    withTake(request, async (take) => {
      job.progress({ kind: 'footage', footage: take.footage });
      await job.goOn();
      const { backend } = request;
      const detector = await kept(`quick on ${backend ?? 'any'}`, () => loadQuick(backend));
      job.progress({ kind: 'detector', detector: detector.choice });
      return { reply: await scanTake(take, detector, request, job) };
    }),
  refine: (request, job) =>
    withTake(request, async (take) => {
      const { main, further, backend } = request;
      const key = `${main} ${further} on ${backend ?? 'any'}`;
      const models = await kept(key, () => loadFine(main, further, backend));
      job.progress({ kind: 'detector', detector: models.choice });
      await refineTake(take, models, request, job);
      return { reply: { detector: models.choice } };
    }),
  follow: (request, job) =>
    withTake(request, async (take) => {
      await followPicture(take, request, job);
      return { reply: null };
    }),
  followPoints: (request, job) =>
    withTake(request, async (take) => {
      await followPoints(take, request, job, keptLegs);
      return { reply: null };
    }),
});
