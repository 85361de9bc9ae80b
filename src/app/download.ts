import { bookEnding } from './fileKinds.ts';
import type { Session } from './session.svelte.ts';

/** Hands bytes or text to the browser as a download. */
export function download(name: string, content: Uint8Array | Blob | string, type: string): void {
  const url = URL.createObjectURL(new Blob([content as BlobPart], { type }));
  const link = document.createElement('a');
  link.href = url;
  link.download = name;
  link.click();
  // The browser has taken the blob over by the next turn of the event loop; a minute is ample on a slow disk.
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

/** The shot's name as a file name: what file systems refuse is replaced. */
export function fileName(shotName: string): string {
  return shotName.replace(/[^\p{L}\p{N} ._-]+/gu, '-').trim() || 'shot';
}

/** Saves the book as a `.nudgebook` file. */
export function saveBook(session: Session): void {
  download(`${fileName(session.book.shotName)}${bookEnding}`, session.packed(), 'application/zip');
  session.say('Book saved to a file');
}
