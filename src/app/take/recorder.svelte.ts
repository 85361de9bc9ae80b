import { type Failure, failed } from '../../base/failure.ts';

/** Seconds to walk from the keyboard to the mark. */
const countdownSec = 5;

/**
 * Films the rehearsal with this machine's camera. The camera's own irregular picture times are kept by the browser's
 * recorder, so the take is opened as variable rate like any other.
 */
export class Recorder {
  stream = $state.raw<MediaStream | null>(null);
  /** Seconds until it begins; null when it is not counting. */
  countdown = $state<number | null>(null);
  recording = $state(false);
  /** Whole seconds recorded so far. */
  elapsedSec = $state(0);
  #recorder: MediaRecorder | null = null;
  #timer = 0;

  /** Asks for the camera. Returns what went wrong, or null. Sound is taken too when there is a microphone. */
  async open(): Promise<Failure | null> {
    const video = { width: { ideal: 1920 }, height: { ideal: 1080 }, frameRate: { ideal: 60 } };
    try {
      try {
        this.stream = await navigator.mediaDevices.getUserMedia({ video, audio: true });
      } catch {
        this.stream = await navigator.mediaDevices.getUserMedia({ video });
      }
      return null;
    } catch {
      return failed(
        'file-unreadable',
        'No camera could be opened. Allow the camera in the browser’s address bar or plug one in, or film with a phone and drop the video here.',
      ).failure;
    }
  }

  /** Counts down, then records until `stop`. Settles with the finished take. */
  async record(): Promise<File> {
    for (let left = countdownSec; left > 0; left--) {
      this.countdown = left;
      await new Promise((resolve) => {
        this.#timer = window.setTimeout(resolve, 1000);
      });
    }
    this.countdown = null;
    const stream = this.stream;
    if (!stream) throw new DOMException('The camera was closed', 'AbortError');
    const type = ['video/mp4;codecs=avc1.640028', 'video/webm;codecs=vp9', 'video/webm'].find((t) =>
      MediaRecorder.isTypeSupported(t),
    );
    const recorder = new MediaRecorder(stream, { ...(type ? { mimeType: type } : {}), videoBitsPerSecond: 12_000_000 });
    this.#recorder = recorder;
    const parts: Blob[] = [];
    // A piece comes every second, and counts it.
    this.elapsedSec = 0;
    recorder.ondataavailable = (event) => {
      parts.push(event.data);
      this.elapsedSec++;
    };
    const done = new Promise<File>((resolve, reject) => {
      recorder.onerror = () => reject(new DOMException('The recorder stopped', 'EncodingError'));
      recorder.onstop = () => {
        const ending = recorder.mimeType.includes('mp4') ? 'mp4' : 'webm';
        const stamp = new Date().toISOString().slice(0, 16).replace(/[T:]/g, '-');
        resolve(new File(parts, `take ${stamp}.${ending}`, { type: recorder.mimeType }));
      };
    });
    // A piece a second, so that a crash of the encoder late in a take does not lose all of it.
    recorder.start(1000);
    this.recording = true;
    return done;
  }

  /** Ends the recording; `record` then settles. */
  stop(): void {
    this.#recorder?.stop();
    this.recording = false;
  }

  /** Lets go of the camera. */
  close(): void {
    clearTimeout(this.#timer);
    this.countdown = null;
    if (this.recording) this.stop();
    for (const track of this.stream?.getTracks() ?? []) track.stop();
    this.stream = null;
  }
}
