import { type FrameRate, frameStartSec } from '../../base/frameRate.ts';
import { contextSecAt } from '../../ingest/soundPlayer.ts';
import type { Click } from '../../plan/rehearsal.ts';
import type { PlayRun } from '../playhead.svelte.ts';

/** A click lasts so long, seconds, and is so loud: short and soft, for a quiet room. */
const clickSec = 0.035;
const loudness = { pose: 0.5, other: 0.16 } as const;
/** Hertz: a fifth apart, so that the two are told from one another without a thought. */
const pitch = { pose: 1320, other: 880 } as const;

/** Clicks in step with the playhead. Everything is laid out ahead on the sound's own clock: a busy page does not limp. */
export class Metronome {
  #context: AudioContext | null = null;
  #gain: GainNode | null = null;

  /** Lays out the clicks of one pass; those of the pass before are silent from now on. */
  async play(run: PlayRun, clicks: readonly Click[], rate: FrameRate): Promise<void> {
    this.stop();
    this.#context ??= new AudioContext({ latencyHint: 'interactive' });
    const context = this.#context;
    const gain = context.createGain();
    this.#gain = gain;
    gain.connect(context.destination);
    if (context.state !== 'running') await context.resume();
    if (this.#gain !== gain) return;
    const startSec = contextSecAt(context, run.startMs);
    for (const { frame, isPose } of clicks) {
      if (frame < run.fromFrame || frame > run.toFrame) continue;
      const atSec = startSec + frameStartSec(rate, frame - run.fromFrame) / run.speed;
      // What is past is past, but the first click of a pass is heard though the page was late.
      if (atSec < context.currentTime - clickSec && frame > run.fromFrame) continue;
      click(context, gain, Math.max(context.currentTime, atSec), isPose ? 'pose' : 'other');
    }
  }

  /** Silence. */
  stop(): void {
    this.#gain?.disconnect();
    this.#gain = null;
  }

  /** Lets go of the loudspeaker. */
  close(): void {
    this.stop();
    void this.#context?.close();
    this.#context = null;
  }
}

function click(context: AudioContext, to: AudioNode, atSec: number, kind: 'pose' | 'other'): void {
  const tone = context.createOscillator();
  const swell = context.createGain();
  tone.frequency.value = pitch[kind];
  swell.gain.setValueAtTime(loudness[kind], atSec);
  swell.gain.exponentialRampToValueAtTime(0.001, atSec + clickSec);
  tone.connect(swell).connect(to);
  tone.start(atSec);
  tone.stop(atSec + clickSec);
}
