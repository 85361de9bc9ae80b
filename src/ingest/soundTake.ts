import { ALL_FORMATS, AudioSampleSink, BlobSource, Input, type InputAudioTrack, Logging, LogLevel } from 'mediabunny';
import type { Soundtrack } from '../base/sound.ts';
import { SoundEnvelope } from './soundEnvelope.ts';
import { WorldFailure } from './worldFailure.ts';

/** What is read of a take's sound. */
export interface SoundRequest {
  readonly file: File;
  /** The file's own time stamp of picture 0: the take's clock begins there. */
  readonly firstStampSec: number;
  /** Sound after this take time is left out. */
  readonly endSec: number;
}

/** What may accompany the reading of sound. */
export interface SoundHooks {
  readonly signal?: AbortSignal | undefined;
  /** Hears which share of the sound is read, 0..1. */
  readonly onShare?: ((share: number) => void) | undefined;
}

/**
 * Reads the take's sound down to a `Soundtrack`, in memory that grows with the result only. Null when the file has no sound.
 * Stamps are the file's own: an edit list is honoured, and what the encoder needed to run up (below 0) is left out.
 * @throws WorldFailure `sound-unreadable`, what reading a file throws, or the signal's reason.
 */
export async function readSoundOf(request: SoundRequest, hooks: SoundHooks = {}): Promise<Soundtrack | null> {
  Logging.level = LogLevel.Silent;
  const input = new Input({ formats: ALL_FORMATS, source: new BlobSource(request.file) });
  try {
    const track = await input.getPrimaryAudioTrack();
    return track ? await boilDown(track, request, hooks) : null;
  } finally {
    input.dispose();
  }
}

async function boilDown(
  track: InputAudioTrack,
  { firstStampSec, endSec }: SoundRequest,
  { signal, onShare }: SoundHooks,
): Promise<Soundtrack | null> {
  const codec = await track.getCodec();
  if (codec === null || typeof AudioDecoder === 'undefined' || !(await track.canDecode())) throw refuse(codec);
  let envelope: SoundEnvelope | null = null;
  let rate = 0;
  try {
    // From the very first packet: a decoder that begins at 0 lacks the run-up before it and fades in.
    for await (const sample of new AudioSampleSink(track).samples(undefined, firstStampSec + endSec)) {
      try {
        signal?.throwIfAborted();
        // A decoder may find another rate than the container says (HE-AAC has half of it written).
        if (sample.sampleRate !== rate) {
          if (envelope) break;
          rate = sample.sampleRate;
          envelope = new SoundEnvelope(rate);
        }
        // Negative stamps: run-up of the encoder, or cut away by the edit list.
        const skip = Math.min(sample.numberOfFrames, Math.max(0, Math.round(-sample.timestamp * rate)));
        const room = Math.round((firstStampSec + endSec - sample.timestamp) * rate);
        const mono = monoOf(sample).subarray(skip, Math.max(skip, room));
        envelope!.push(mono, sample.timestamp + skip / rate - firstStampSec);
        onShare?.(Math.min(1, (sample.timestamp - firstStampSec) / endSec));
      } finally {
        sample.close();
      }
    }
  } catch (error) {
    if (signal?.aborted || error instanceof WorldFailure) throw error;
    // What came before the damage is still right: keep it, as with pictures.
    if (!envelope || !(envelope.untilSec > 0)) throw refuse(codec);
  }
  return envelope?.finish({ codec, channels: await track.getNumberOfChannels() }) ?? null;
}

/** The mean of all channels. */
function monoOf(sample: {
  readonly numberOfChannels: number;
  readonly numberOfFrames: number;
  copyTo(into: Float32Array<ArrayBuffer>, options: { planeIndex: number; format: 'f32-planar' }): void;
}): Float32Array {
  const { numberOfChannels, numberOfFrames } = sample;
  const mono = new Float32Array(numberOfFrames);
  const one = numberOfChannels > 1 ? new Float32Array(numberOfFrames) : mono;
  for (let channel = 0; channel < numberOfChannels; channel++) {
    sample.copyTo(one, { planeIndex: channel, format: 'f32-planar' });
    if (numberOfChannels > 1) for (let i = 0; i < numberOfFrames; i++) mono[i]! += one[i]! / numberOfChannels;
  }
  return mono;
}

function refuse(codec: string | null): WorldFailure {
  const what = codec ? `The sound of this take (${codec.toUpperCase()})` : 'The sound of this take';
  return new WorldFailure(
    'sound-unreadable',
    `${what} cannot be decoded in this browser. Pictures and plan are not touched by it. To see and hear the sound, export the take with AAC or Opus sound, or use a browser of 2024 or later.`,
  );
}
