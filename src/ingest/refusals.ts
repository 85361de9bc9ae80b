import type { FileKind } from './fileShape.ts';
import { WorldFailure } from './worldFailure.ts';

const toMp4 = 'Convert it to MP4 with H.264 video (any video editor or converter can) and choose that file';

/** Why a file whose container cannot be opened is refused. */
export function refuseContainer(kind: FileKind): WorldFailure {
  const containers: Partial<Record<FileKind, string>> = {
    avi: 'an AVI file',
    wmv: 'a Windows Media file',
    flv: 'a Flash video',
    'mpeg-ps': 'an MPEG program stream',
  };
  const container = containers[kind];
  if (container)
    return new WorldFailure('codec-unsupported', `This is ${container}, which browsers cannot open. ${toMp4}.`);
  if (kind === 'png' || kind === 'jpeg' || kind === 'webp')
    return new WorldFailure(
      'not-a-video',
      `This file holds a single ${kind.toUpperCase()} picture, not a video. To use pictures as a take, choose all of its numbered stills together.`,
    );
  const others: Partial<Record<FileKind, string>> = {
    text: 'text',
    pdf: 'a PDF document',
    zip: 'a ZIP archive',
    gif: 'a GIF picture',
  };
  const inside = others[kind];
  return new WorldFailure(
    'not-a-video',
    inside
      ? `This file holds ${inside}, not a video, whatever its name says. Choose the video file itself (MP4, MOV, WebM or MKV).`
      : `This file is not a video that can be recognised. If it should be one, copy it from the camera again; otherwise: ${toMp4.charAt(0).toLowerCase()}${toMp4.slice(1)}.`,
  );
}

/** A container that holds no tracks: the recorder wrote pictures but never the index that tells where they are. */
export function refuseUnfinished(): WorldFailure {
  return new WorldFailure(
    'unfinished-recording',
    'This recording was never finished: the file has no index of its pictures (the camera or app stopped before saving it). Copy it from the camera again; if it is the same there, a video repair tool may rescue it, else film again.',
  );
}

/** A file with sound but no picture. */
export function refuseSoundOnly(): WorldFailure {
  return new WorldFailure(
    'no-video-track',
    'This file holds sound only, no picture. Choose the video file of the take; the sound is not needed.',
  );
}

/**
 * A codec that this browser does not decode.
 * @param codec what the container calls it: "hevc", "avc", "apcn", "V_MPEG4/…"; null when it says nothing.
 */
export function refuseCodec(codec: string | null): WorldFailure {
  const id = (codec ?? '').trim();
  const lower = id.toLowerCase();
  if (lower === 'hevc' || lower.startsWith('hvc1') || lower.startsWith('hev1'))
    return new WorldFailure(
      'codec-unsupported',
      'This video is HEVC (H.265), which this browser cannot decode. Safari, or Chrome and Edge on a computer whose graphics chip decodes HEVC, can; or set the phone to film "Most compatible" (H.264), or export the take as MP4 (H.264).',
    );
  if (/^ap(cn|ch|cs|co|4h|4x)$/.test(lower) || lower === 'prores')
    return new WorldFailure(
      'codec-unsupported',
      'This video is ProRes, an editing format that browsers cannot decode. Export the take as MP4 (H.264) at the same frame rate and choose that file.',
    );
  const names: Record<string, string> = { avc: 'H.264', av1: 'AV1', vp8: 'VP8', vp9: 'VP9', mp4v: 'MPEG-4 part 2' };
  const name = names[lower];
  if (name)
    return new WorldFailure(
      'codec-unsupported',
      `This video is ${name} in a form that this browser cannot decode. Try another browser (Chrome, Edge or Safari), or export the take as MP4 (plain H.264, 8 bit, 4:2:0).`,
    );
  const called = id === '' ? 'a codec that its file does not name' : `in a codec that browsers do not know ("${id}")`;
  return new WorldFailure('codec-unsupported', `This video is ${called}. ${toMp4}.`);
}

/** An empty file. */
export function refuseEmpty(): WorldFailure {
  return new WorldFailure('file-empty', 'This file is empty (0 bytes). Copy it from the camera again.');
}

/** Not enough pictures to tell of movement. */
export function refuseTooShort(pictures: number): WorldFailure {
  return new WorldFailure(
    'take-too-short',
    `This take has ${pictures === 1 ? 'only one picture' : 'no pictures'}: movement needs at least two. Choose a longer take.`,
  );
}

/** Pictures that the container lists but none of which decodes. */
export function refuseNothingDecoded(): WorldFailure {
  return new WorldFailure(
    'nothing-decoded',
    'Not one picture of this video could be decoded: the file is damaged from its beginning. Copy it from the camera again.',
  );
}

/** The decoder's times and the container's contradict each other. */
export function refuseTimes(): WorldFailure {
  return new WorldFailure(
    'times-unreliable',
    `The times in this file contradict its pictures, so frame numbers could be wrong. ${toMp4}.`,
  );
}
