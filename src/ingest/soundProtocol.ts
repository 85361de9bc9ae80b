import type { Soundtrack } from '../base/sound.ts';
import type { SoundRequest } from './soundTake.ts';

/** The worker's calls: name → [request, reply, progress (share read, 0..1)]. */
export type SoundCalls = {
  readonly readSound: readonly [SoundRequest, Soundtrack | null, number];
};
