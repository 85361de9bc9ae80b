/** What a file's own bytes say about it, whatever its name claims. */
export interface FileShape {
  /** The kind of file by its first bytes; "unknown" when they match nothing here. */
  readonly kind: FileKind;
  /** True when the container promises more bytes than the file has: copying or recording broke off. */
  readonly cutShort: boolean;
  /** Most edits (parts played one after another) that any track's edit list has; 0 or 1 in an ordinary file. */
  readonly editCount: number;
}

/** Kinds told apart by their first bytes. */
export type FileKind =
  | 'mp4'
  | 'matroska'
  | 'mpeg-ts'
  | 'avi'
  | 'wmv'
  | 'flv'
  | 'mpeg-ps'
  | 'png'
  | 'jpeg'
  | 'gif'
  | 'webp'
  | 'pdf'
  | 'zip'
  | 'text'
  | 'unknown';

/** Looks at a file's beginning and at its outer structure, not at its pictures. @throws what `Blob.arrayBuffer` throws. */
export async function lookAtShape(file: Blob): Promise<FileShape> {
  const head = new Uint8Array(await file.slice(0, 4096).arrayBuffer());
  const kind = kindOf(head);
  if (kind === 'mp4') return { kind, ...(await walkBoxes(file)) };
  if (kind === 'matroska') return { kind, cutShort: matroskaCutShort(head, file.size), editCount: 0 };
  return { kind, cutShort: false, editCount: 0 };
}

/** The kind of file that begins with these bytes. */
export function kindOf(head: Uint8Array): FileKind {
  const at = (offset: number, text: string) =>
    [...text].every((letter, i) => head[offset + i] === letter.charCodeAt(0));
  const bytes = (...values: number[]) => values.every((value, i) => head[i] === value);
  if (['ftyp', 'moov', 'mdat', 'wide', 'free', 'skip', 'styp', 'pnot'].some((box) => at(4, box))) return 'mp4';
  if (bytes(0x1a, 0x45, 0xdf, 0xa3)) return 'matroska';
  if (at(0, 'RIFF') && at(8, 'AVI ')) return 'avi';
  if (at(0, 'RIFF') && at(8, 'WEBP')) return 'webp';
  if (bytes(0x30, 0x26, 0xb2, 0x75)) return 'wmv';
  if (at(0, 'FLV')) return 'flv';
  if (bytes(0, 0, 1, 0xba)) return 'mpeg-ps';
  if (bytes(0x89, 0x50, 0x4e, 0x47)) return 'png';
  if (bytes(0xff, 0xd8, 0xff)) return 'jpeg';
  if (at(0, 'GIF8')) return 'gif';
  if (at(0, '%PDF')) return 'pdf';
  if (bytes(0x50, 0x4b, 3, 4)) return 'zip';
  if (head[0] === 0x47 && head[188] === 0x47) return 'mpeg-ts';
  const printable = head.every((b) => b >= 0x20 || b === 9 || b === 10 || b === 13);
  return head.length > 0 && printable ? 'text' : 'unknown';
}

/** ISO base media boxes (ISO/IEC 14496-12 §4.2): size, four letters, and a 64-bit size where the first says 1. */
async function walkBoxes(file: Blob): Promise<{ cutShort: boolean; editCount: number }> {
  let editCount = 0;
  let offset = 0;
  while (offset + 8 <= file.size) {
    const head = new DataView(await file.slice(offset, offset + 16).arrayBuffer());
    const { size, type } = boxHead(head, 0, file.size - offset);
    if (size < 8) break;
    if (offset + size > file.size) return { cutShort: true, editCount };
    // A moov of more than 64 MB is no index of a rehearsal; leave it unread.
    if (type === 'moov' && size < 64e6) {
      const moov = new DataView(await file.slice(offset, offset + size).arrayBuffer());
      editCount = Math.max(editCount, mostEdits(moov, 8, moov.byteLength));
    }
    offset += size;
  }
  return { cutShort: false, editCount };
}

function mostEdits(view: DataView, from: number, to: number): number {
  let most = 0;
  let offset = from;
  while (offset + 8 <= to) {
    const { size, type } = boxHead(view, offset, to - offset);
    if (size < 8 || offset + size > to) break;
    if (type === 'trak' || type === 'edts') most = Math.max(most, mostEdits(view, offset + 8, offset + size));
    if (type === 'elst') most = Math.max(most, editsIn(view, offset + 8, offset + size));
    offset += size;
  }
  return most;
}

/** Entries of an `elst` box that show something (media time −1 is an empty edit: a wait before the first picture). */
function editsIn(view: DataView, from: number, to: number): number {
  if (from + 8 > to) return 0;
  const wide = view.getUint8(from) === 1;
  const entries = view.getUint32(from + 4);
  const step = wide ? 20 : 12;
  let shown = 0;
  for (let i = 0; i < entries && from + 8 + (i + 1) * step <= to; i++) {
    const at = from + 8 + i * step;
    if (view.getInt32(at + (wide ? 8 : 4)) !== -1) shown++;
  }
  return shown;
}

function boxHead(view: DataView, offset: number, rest: number): { size: number; type: string } {
  const type = String.fromCharCode(...[4, 5, 6, 7].map((i) => view.getUint8(offset + i)));
  let size = view.getUint32(offset);
  if (size === 1 && offset + 16 <= view.byteLength) size = Number(view.getBigUint64(offset + 8));
  if (size === 0) size = rest;
  return { size, type };
}

/** EBML (RFC 8794): the Segment after the head element either says how long it is, or "unknown" (all ones). */
function matroskaCutShort(head: Uint8Array, fileSize: number): boolean {
  const first = readSize(head, 4);
  if (!first) return false;
  const segmentAt = 4 + first.length + first.value;
  if (head[segmentAt] !== 0x18 || head[segmentAt + 1] !== 0x53) return false;
  const segment = readSize(head, segmentAt + 4);
  if (!segment || segment.unknown) return false;
  return segmentAt + 4 + segment.length + segment.value > fileSize;
}

function readSize(bytes: Uint8Array, at: number): { value: number; length: number; unknown: boolean } | null {
  const first = bytes[at];
  if (first === undefined || first === 0) return null;
  const length = Math.clz32(first) - 23;
  let value = first & (0xff >> length);
  let ones = value === 0xff >> length;
  for (let i = 1; i < length; i++) {
    const byte = bytes[at + i];
    if (byte === undefined) return null;
    value = value * 256 + byte;
    ones &&= byte === 0xff;
  }
  return { value, length, unknown: ones };
}
