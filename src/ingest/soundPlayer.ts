import { ALL_FORMATS, AudioBufferSink, BlobSource, Input, Logging, LogLevel } from 'mediabunny';

/** A stretch of a take's sound, and when it is to be heard. */
export interface SoundStretch {
  /** Take seconds. */
  readonly fromSec: number;
  readonly untilSec: number;
  /**
   * When `fromSec` is to leave the loudspeaker, on the clock of `performance.now()`; may lie in the past. Null = as soon as it can, and
   * then whole: a step to a frame waits for nothing.
   */
  readonly atMs: number | null;
  /** As a share of real time; the pitch goes along, as on tape. */
  readonly speed: number;
}

/** Decoding begins this much before what is wanted: codecs need a run-up (Opus 80 ms, RFC 7845 §4.6). */
const runUpSec = 0.08;
/** Sound is laid out this far ahead, seconds: enough for a busy page, little to throw away. */
const aheadSec = 0.8;
/** The first piece of a stretch that waits for nothing is laid this far ahead, so that the next is there in time, seconds. */
const soonSec = 0.02;
/** Fades at both ends of a stretch, so that it does not click. */
const fadeSec = 0.003;

/**
 * Plays a take's sound in time with its pictures. The clock is the page's: sound that is late is skipped into, never the other way
 * round. Decodes as it plays, so memory is bounded on any take.
 */
export class SoundPlayer {
  readonly #firstStampSec: number;
  readonly #input: Input;
  #sink: Promise<AudioBufferSink | null>;
  #context: AudioContext | null = null;
  #gain: GainNode | null = null;
  #turn = 0;

  /** @param firstStampSec the file's own time stamp of picture 0. */
  constructor(file: File, firstStampSec: number) {
    Logging.level = LogLevel.Silent;
    this.#firstStampSec = firstStampSec;
    this.#input = new Input({ formats: ALL_FORMATS, source: new BlobSource(file) });
    this.#sink = this.#input
      .getPrimaryAudioTrack()
      .then(async (track) => (track && (await track.canDecode()) ? new AudioBufferSink(track) : null))
      .catch(() => null);
  }

  /** Plays a stretch; what played before ends. Browsers stay silent until the page was clicked or a key was pressed. */
  async play(stretch: SoundStretch): Promise<void> {
    this.stop();
    const turn = this.#turn;
    const sink = await this.#sink;
    if (!sink || turn !== this.#turn) return;
    this.#context ??= new AudioContext({ latencyHint: 'interactive' });
    const context = this.#context;
    if (context.state !== 'running') await context.resume();
    if (turn !== this.#turn) return;
    const gain = context.createGain();
    gain.connect(context.destination);
    this.#gain = gain;
    const { speed, untilSec, atMs } = stretch;
    const lateSec = atMs === null ? 0 : Math.max(0, ((performance.now() - atMs) / 1000) * speed);
    const fromSec = stretch.fromSec + lateSec;
    /** When `stretch.fromSec` is to be heard, on the context's clock; NaN until the first piece is there to set it. */
    let originSec = atMs === null ? Number.NaN : contextSecAt(context, atMs);
    const heardAt = (takeSec: number) => originSec + (takeSec - stretch.fromSec) / speed;
    const fade = () => {
      const [begins, ends] = [Math.max(0, heardAt(fromSec)), Math.max(0, heardAt(untilSec))];
      gain.gain.setValueAtTime(0, begins);
      gain.gain.linearRampToValueAtTime(1, begins + fadeSec);
      gain.gain.setValueAtTime(1, Math.max(begins + fadeSec, ends - fadeSec));
      gain.gain.linearRampToValueAtTime(0, ends);
    };
    if (atMs !== null) fade();
    /** Where the last piece ended; pieces that follow on are joined without a gap, whatever their rounded stamps say. */
    let joinedSec = Number.NaN;
    const first = this.#firstStampSec;
    try {
      for await (const { buffer, timestamp } of sink.buffers(fromSec + first - runUpSec, untilSec + first)) {
        if (turn !== this.#turn) return;
        const stamped = timestamp - first;
        const pieceSec = Math.abs(stamped - joinedSec) < 0.01 ? joinedSec : stamped;
        joinedSec = pieceSec + buffer.duration;
        if (joinedSec <= fromSec) continue;
        if (Number.isNaN(originSec)) {
          originSec = context.currentTime + soonSec;
          fade();
        }
        const when = heardAt(pieceSec);
        const skipSec = Math.max(0, (context.currentTime - when) * speed, fromSec - pieceSec);
        if (skipSec >= buffer.duration) continue;
        const node = context.createBufferSource();
        node.buffer = buffer;
        node.playbackRate.value = speed;
        node.connect(gain);
        node.start(when + skipSec / speed, skipSec);
        await ahead(context, when);
      }
    } catch {
      // Damaged sound is silent: the soundtrack's reading has told why, and pictures go on.
    }
  }

  /** Silence. */
  stop(): void {
    this.#turn++;
    const gain = this.#gain;
    this.#gain = null;
    if (!gain || !this.#context) return;
    const now = this.#context.currentTime;
    gain.gain.cancelScheduledValues(now);
    gain.gain.setTargetAtTime(0, now, fadeSec);
    setTimeout(() => gain.disconnect(), 50);
  }

  /** Lets go of the file and of the loudspeaker. */
  close(): void {
    this.stop();
    this.#input.dispose();
    void this.#context?.close();
  }
}

/** Waits until what is laid out ends less than `aheadSec` from now. */
async function ahead(context: AudioContext, untilSec: number): Promise<void> {
  const tooEarlySec = untilSec - context.currentTime - aheadSec;
  if (tooEarlySec > 0) await new Promise((resolve) => setTimeout(resolve, 1000 * tooEarlySec));
}

/** The context's time of what leaves the loudspeaker at a moment of `performance.now()`. */
export function contextSecAt(context: AudioContext, atMs: number): number {
  const { contextTime, performanceTime } = context.getOutputTimestamp();
  if (contextTime && performanceTime) return contextTime + (atMs - performanceTime) / 1000;
  // Just started, or a browser that does not say: the time now, less the way to the loudspeaker.
  return context.currentTime + (atMs - performance.now()) / 1000 - (context.outputLatency || context.baseLatency || 0);
}
