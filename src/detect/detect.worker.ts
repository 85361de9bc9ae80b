import { answerCalls, type CallScope } from '../ingest/calls.ts';
import { openTake } from '../ingest/openTake.ts';
import { WorldFailure } from '../ingest/worldFailure.ts';
import { loadDetector } from './loadDetector.ts';
import type { DetectCalls } from './protocol.ts';
import { type Detector, readTake } from './readTake.ts';

// One detector is kept between takes; asking for another one releases it.
let loaded: { readonly key: string; readonly detector: Promise<Detector> } | null = null;

function detectorFor(key: string, load: () => Promise<Detector>): Promise<Detector> {
  if (loaded?.key === key) return loaded.detector;
  const before = loaded?.detector;
  const detector = (async () => {
    const old = await before?.catch(() => null);
    old?.model.dispose();
    old?.finder?.dispose();
    return load();
  })();
  loaded = { key, detector };
  // A load that failed may be tried again.
  detector.catch(() => {
    if (loaded?.detector === detector) loaded = null;
  });
  return detector;
}

answerCalls<DetectCalls>(self as unknown as CallScope, {
  async read(request, job) {
    const key = `${request.model} ${request.backend ?? 'any'}`;
    const opened = await openTake(request.source, {
      stillsRate: request.stillsRate,
      ...(request.pixelWay === null ? {} : { pixelWay: request.pixelWay }),
    });
    if (!opened.ok) throw new WorldFailure(opened.failure.code, opened.failure.sentence);
    const take = opened.value;
    try {
      job.progress({ kind: 'footage', footage: take.footage });
      await job.goOn();
      const detector = await detectorFor(key, () => loadDetector(request.model, request.backend));
      job.progress({ kind: 'detector', detector: detector.choice });
      return { reply: await readTake(take, detector, request.countPeopleEverySec, job) };
    } finally {
      take.close();
    }
  },
});
