import { EncodedPacketSink, type InputVideoTrack, type VideoSample, VideoSampleSink } from 'mediabunny';
import { type FrameTable, pictureStamped } from './frameTable.ts';
import { refuseTimes } from './refusals.ts';

/** Stamps that differ by less than this are one: decoders round to microseconds, containers to their own step. */
const sameStampSec = 5e-5;
/** How many pictures are looked at to decide which of two clocks to believe. */
const clockTrial = 90;

/** What decoding taught about a take. */
export class DecodingLog {
  /** Shape [picture]: 1 where the table's picture came out of the decoder. */
  readonly decoded: Uint8Array;
  /** Shape [picture]: 1 where the decoder reported damage from that picture on, up to the next one decoded. */
  readonly damagedFrom: Uint8Array;
  /** Which clock is believed; null while both agree. */
  clock: 'decoder' | 'table' | null = null;

  constructor(pictures: number) {
    this.decoded = new Uint8Array(pictures);
    this.damagedFrom = new Uint8Array(pictures);
  }
}

/** A decoded picture and its place in the frame table. The receiver closes the sample. */
export interface Decoded {
  readonly index: number;
  readonly sample: VideoSample;
}

/**
 * Decodes a track's pictures in the order in which they are seen, from table place `from` on. After damage it goes on at
 * the next key picture; the log tells what was lost. A picture never comes twice and never under another's number.
 * @throws WorldFailure `times-unreliable`; whatever reading the file throws.
 */
export async function* decodeInOrder(
  track: InputVideoTrack,
  table: FrameTable,
  log: DecodingLog,
  from = 0,
): AsyncGenerator<Decoded, void, undefined> {
  const sink = new VideoSampleSink(track);
  const packets = new EncodedPacketSink(track);
  const stamps = table.stampsSec;
  let last = from - 1;
  let startSec = stamps[from] ?? 0;
  for (;;) {
    try {
      for await (const sample of sink.samples(startSec)) {
        const index = await placeOf(track, sample, table, log);
        if (index <= last) {
          sample.close();
          continue;
        }
        last = index;
        log.decoded[index] = 1;
        yield { index, sample };
      }
      return;
    } catch (error) {
      if (!isDamage(error)) throw error;
    }
    // The sink drops the good pictures that were waiting when the damage was met: fetch them again without a pause.
    const rescued = await picturesBeforeDamage(track, table, log, startSec, last);
    for (const { index, sample } of rescued) {
      last = index;
      log.decoded[index] = 1;
      yield { index, sample };
    }
    if (last + 1 < stamps.length) log.damagedFrom[last + 1] = 1;
    const reached = Math.max(startSec, last >= 0 ? stamps[last]! : Number.NEGATIVE_INFINITY);
    const packet = await packets.getPacket(reached);
    const key = packet && (await packets.getNextKeyPacket(packet, { verifyKeyPackets: true }));
    if (!key) return;
    startSec = key.timestamp;
  }
}

async function picturesBeforeDamage(
  track: InputVideoTrack,
  table: FrameTable,
  log: DecodingLog,
  startSec: number,
  last: number,
): Promise<Decoded[]> {
  const found: Decoded[] = [];
  const resumeSec = last >= 0 ? Math.max(startSec, table.stampsSec[last]!) : startSec;
  try {
    for await (const sample of new VideoSampleSink(track).samples(resumeSec)) {
      const index = await placeOf(track, sample, table, log);
      const behind = found.length > 0 ? found[found.length - 1]!.index : last;
      if (index > behind) found.push({ index, sample });
      else sample.close();
    }
  } catch (error) {
    if (!isDamage(error)) throw error;
  }
  return found;
}

/**
 * The table place of a decoded picture; −1 when it is none of the take's. Two clocks tell: the library's (stamps dealt
 * out in order) and the decoder's own (the stamp that went in with the packet). They differ in two kinds of file. Where a
 * packet yields no picture the dealt ones run early from there on; where the file stores decoding times as showing times
 * the decoder's jump back and forth. So at the first difference we look ahead: a decoder clock that only rises is right.
 */
async function placeOf(
  track: InputVideoTrack,
  sample: VideoSample,
  table: FrameTable,
  log: DecodingLog,
): Promise<number> {
  const dealt = pictureStamped(table.stampsSec, sample.timestamp, sameStampSec);
  const own = pictureStamped(table.stampsSec, ownStampSec(sample), sameStampSec);
  if (log.clock === null && dealt !== own) log.clock = await clockToBelieve(track, sample.timestamp);
  return log.clock === 'decoder' ? own : dealt;
}

function ownStampSec(sample: VideoSample): number {
  const source = sample.toCanvasImageSource();
  return source instanceof VideoFrame ? source.timestamp / 1e6 : sample.timestamp;
}

async function clockToBelieve(track: InputVideoTrack, fromSec: number): Promise<'decoder' | 'table'> {
  let seen = 0;
  let before = Number.NEGATIVE_INFINITY;
  let rises = true;
  try {
    for await (const sample of new VideoSampleSink(track).samples(fromSec)) {
      const own = ownStampSec(sample);
      sample.close();
      if (own <= before) rises = false;
      before = own;
      if (!rises || ++seen >= clockTrial) break;
    }
  } catch (error) {
    if (!isDamage(error)) throw error;
  }
  return rises ? 'decoder' : 'table';
}

/**
 * The check that the table's clock needs: dealing stamps out in order is only right when no picture is missing between.
 * @throws WorldFailure `times-unreliable`.
 */
export function checkDealtClock(log: DecodingLog): void {
  if (log.clock !== 'table') return;
  const lastDecoded = log.decoded.lastIndexOf(1);
  const holes = log.decoded.subarray(0, lastDecoded + 1).includes(0);
  if (holes) throw refuseTimes();
}

function isDamage(error: unknown): boolean {
  const name = error instanceof Error || error instanceof DOMException ? error.name : '';
  return name === 'EncodingError' || name === 'DataError' || name === 'OperationError' || name === 'InvalidStateError';
}
