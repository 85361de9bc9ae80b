import keeperUrl from '../../fixtures/takes/keeper.mp4?url';

/** The demo take, from our own origin. @throws when it cannot be fetched. */
export async function readDemoFile(): Promise<File> {
  const response = await fetch(keeperUrl);
  if (!response.ok) throw new Error(`demo take: ${response.status}`);
  return new File([await response.blob()], 'keeper.mp4', { type: 'video/mp4' });
}
