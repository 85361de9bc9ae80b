/** Endings that the file chooser offers for a take. */
export const takeEndings = 'video/*,.mp4,.mov,.m4v,.webm,.mkv,.avi,.ts,.mts';
/** Endings of stills. */
export const stillEndings = 'image/jpeg,image/png,image/webp';
/** The ending of a book file. */
export const bookEnding = '.nudgebook';

/** Is this a book rather than a take? By its name: the contents are checked on opening. */
export function looksLikeBook(file: File): boolean {
  return file.name.toLowerCase().endsWith(bookEnding);
}
