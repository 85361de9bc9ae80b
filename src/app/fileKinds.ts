/** Endings that the file chooser offers for a take. */
export const takeEndings = 'video/*,.mp4,.mov,.m4v,.webm,.mkv,.avi,.ts,.mts';
/** Endings of stills. */
export const stillEndings = 'image/jpeg,image/png,image/webp';
/** The ending of a book file. */
export const bookEnding = '.nudgebook';

/** Are these the same picture or video, as far as a file tells without being read? One that was written anew is another. */
export function isSameFile(a: File, b: File): boolean {
  return a.name === b.name && a.size === b.size && a.lastModified === b.lastModified;
}

/** Is this a book rather than a take? By its name: the contents are checked on opening. */
export function looksLikeBook(file: File): boolean {
  return file.name.toLowerCase().endsWith(bookEnding);
}
