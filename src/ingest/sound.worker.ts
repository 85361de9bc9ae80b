import { answerCalls, type CallScope } from './calls.ts';
import type { SoundCalls } from './soundProtocol.ts';
import { readSoundOf } from './soundTake.ts';

answerCalls<SoundCalls>(self as unknown as CallScope, {
  readSound: async (request, job) => {
    let toldAt = 0;
    const sound = await readSoundOf(request, {
      signal: job.signal,
      onShare: (share) => {
        if (share - toldAt < 0.02) return;
        toldAt = share;
        job.progress(share);
      },
    });
    const columns = sound ? [sound.low, sound.high, sound.rms, sound.rise] : [];
    return { reply: sound, transfer: columns.map((column) => column.buffer as ArrayBuffer) };
  },
});
