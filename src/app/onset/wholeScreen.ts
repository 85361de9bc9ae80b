/** Takes the whole screen, where the browser lets a page do so; without, the window serves. */
export async function takeWholeScreen(): Promise<void> {
  // Only just after a key or a click may a page ask: one that was loaded again stays in its window.
  if (!document.fullscreenEnabled || document.fullscreenElement || !navigator.userActivation?.isActive) return;
  try {
    await document.documentElement.requestFullscreen({ navigationUI: 'hide' });
  } catch {
    // The browser's word: the window serves.
  }
}

/** Gives the screen back. */
export async function giveScreenBack(): Promise<void> {
  if (document.fullscreenElement) await document.exitFullscreen().catch(() => undefined);
}

/** The whole screen, or the window again. */
export async function toggleFullScreen(): Promise<void> {
  await (document.fullscreenElement ? giveScreenBack() : takeWholeScreen());
}
