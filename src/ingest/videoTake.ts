import {
  ALL_FORMATS,
  BlobSource,
  EncodedPacketSink,
  Input,
  type InputVideoTrack,
  Logging,
  LogLevel,
  UnsupportedInputFormatError,
} from 'mediabunny';
import type { FootageNote } from '../base/footage.ts';
import { checkDealtClock, DecodingLog, decodeInOrder } from './decode.ts';
import { type FileShape, lookAtShape } from './fileShape.ts';
import { type FrameTable, frameTableOf, pictureStamped } from './frameTable.ts';
import type { OpenOptions, OpenTake } from './openTake.ts';
import { type Picture, PixelWayChooser, pixelsOf, RgbaPicture, VideoPicture } from './picture.ts';
import type { Upright } from './pixels.ts';
import {
  refuseCodec,
  refuseContainer,
  refuseNothingDecoded,
  refuseSoundOnly,
  refuseTooShort,
  refuseUnfinished,
} from './refusals.ts';
import { type FootageBase, promisedFootage, settledFootage } from './settle.ts';

/** Opens one video file. @throws WorldFailure with the reason. */
export async function openVideo(file: File, options: OpenOptions): Promise<OpenTake> {
  // What the library would warn of on the console is told to the animator, in notes and refusals.
  Logging.level = LogLevel.Silent;
  const shape = await lookAtShape(file);
  const input = new Input({ formats: ALL_FORMATS, source: new BlobSource(file) });
  try {
    const track = await pictureTrack(input, shape);
    const isMotionJpeg = await decodableAs(track);
    return await readable(file, input, track, shape, isMotionJpeg, options);
  } catch (error) {
    input.dispose();
    throw error;
  }
}

async function pictureTrack(input: Input, shape: FileShape): Promise<InputVideoTrack> {
  try {
    const track = await input.getPrimaryVideoTrack();
    if (track) return track;
    const tracks = await input.getTracks();
    throw tracks.length === 0 ? refuseUnfinished() : refuseSoundOnly();
  } catch (error) {
    if (error instanceof UnsupportedInputFormatError)
      throw shape.kind === 'mp4' ? refuseUnfinished() : refuseContainer(shape.kind);
    throw error;
  }
}

/** Whether the track is motion JPEG, whose packets are ordinary JPEG files; false when WebCodecs decodes it. @throws WorldFailure otherwise. */
async function decodableAs(track: InputVideoTrack): Promise<boolean> {
  const codec = await track.getCodec();
  const id = await track.getInternalCodecId();
  const name = id instanceof Uint8Array ? new TextDecoder('latin1').decode(id) : id === null ? null : String(id);
  if (codec === null && /^(jpeg|mjpa|mjpb|mjpg|v_mjpeg)$/i.test((name ?? '').trim())) return true;
  if (codec === null || !(await track.canDecode())) throw refuseCodec(codec ?? name);
  return false;
}

async function readable(
  file: File,
  input: Input,
  track: InputVideoTrack,
  shape: FileShape,
  isMotionJpeg: boolean,
  options: OpenOptions,
): Promise<OpenTake> {
  const table = await readTable(track);
  if (table.stampsSec.length < 2) throw refuseTooShort(table.stampsSec.length);
  const turnedDeg = await track.getRotation();
  const upright: Upright = {
    turnedDeg,
    flipped: await track.getFlip(),
    widthPx: await track.getDisplayWidth(),
    heightPx: await track.getDisplayHeight(),
  };
  const base: FootageBase = {
    name: file.name,
    widthPx: upright.widthPx,
    heightPx: upright.heightPx,
    codec: isMotionJpeg ? 'mjpeg' : ((await track.getCodec()) ?? 'unknown'),
    turnedDeg,
    tickSec: 1 / (await track.getTimeResolution()),
    notes: notesOnShape(shape, table),
  };
  const log = new DecodingLog(table.stampsSec.length);
  const chooser = new PixelWayChooser(options.pixelWay ?? null);
  return {
    footage: promisedFootage(base, table),
    pictures: (from = 0) =>
      isMotionJpeg
        ? motionJpegPictures(track, table, log, upright, from)
        : videoPictures(track, table, log, upright, chooser, from),
    settle() {
      if (!log.decoded.includes(1)) throw refuseNothingDecoded();
      checkDealtClock(log);
      return settledFootage(base, table, log);
    },
    trustDecoded: (count) => void log.decoded.fill(1, 0, count),
    placeOfStamp: (sec) => pictureStamped(table.stampsSec, sec, 1e-4),
    pixelWay: () => (isMotionJpeg ? 'canvas' : chooser.chosen),
    close: () => input.dispose(),
  };
}

async function readTable(track: InputVideoTrack): Promise<FrameTable> {
  const stored: { stampSec: number; durationSec: number }[] = [];
  const packets = new EncodedPacketSink(track);
  for await (const packet of packets.packets(undefined, undefined, { metadataOnly: true }))
    stored.push({ stampSec: packet.timestamp, durationSec: packet.duration });
  return frameTableOf(stored);
}

function notesOnShape(shape: FileShape, table: FrameTable): FootageNote[] {
  const last = table.stampsSec.length - 1;
  const notes: FootageNote[] = [];
  if (shape.editCount > 1)
    notes.push({
      code: 'two-edits',
      firstPicture: 0,
      lastPicture: last,
      sentence: `This file is a cut of ${shape.editCount} parts, of which only the first is honoured: pictures that the cut leaves out may show, and times after the first part may be off. Export it as a new file and use that.`,
    });
  if (shape.cutShort)
    notes.push({
      code: 'ends-early',
      firstPicture: last,
      lastPicture: last,
      sentence:
        'The file ends early: copying or recording broke off before its end. Times of the pictures that are there are exact. Copy it from the camera again to get the rest.',
    });
  return notes;
}

async function* videoPictures(
  track: InputVideoTrack,
  table: FrameTable,
  log: DecodingLog,
  upright: Upright,
  chooser: PixelWayChooser,
  from: number,
): AsyncGenerator<Picture, void, undefined> {
  for await (const { index, sample } of decodeInOrder(track, table, log, from))
    yield new VideoPicture(index, sample, upright, chooser);
}

async function* motionJpegPictures(
  track: InputVideoTrack,
  table: FrameTable,
  log: DecodingLog,
  upright: Upright,
  from: number,
): AsyncGenerator<Picture, void, undefined> {
  const packets = new EncodedPacketSink(track);
  const start = await packets.getPacket(table.stampsSec[from] ?? 0);
  for await (const packet of packets.packets(start ?? undefined)) {
    const index = pictureStamped(table.stampsSec, packet.timestamp, 1e-4);
    if (index < from) continue;
    try {
      const bitmap = await createImageBitmap(new Blob([packet.data.slice()], { type: 'image/jpeg' }));
      log.decoded[index] = 1;
      const size = Math.max(bitmap.width, bitmap.height);
      yield new RgbaPicture(index, pixelsOf(bitmap, size), upright);
    } catch {
      log.damagedFrom[index] = 1;
    }
  }
}
