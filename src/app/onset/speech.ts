/**
 * Says a sentence aloud with a voice of this machine's own: others send the words to a service. What was being said is cut short.
 * @returns false where this machine has no English voice.
 */
export async function speak(sentence: string): Promise<boolean> {
  hush();
  const voice = await ownVoice();
  if (!voice) return false;
  const words = new SpeechSynthesisUtterance(sentence);
  words.voice = voice;
  words.lang = voice.lang;
  speechSynthesis.speak(words);
  return true;
}

/** Silence. */
export function hush(): void {
  globalThis.speechSynthesis?.cancel();
}

/** An English voice that speaks without a network, British before others; null = there is none. */
export async function ownVoice(): Promise<SpeechSynthesisVoice | null> {
  if (!globalThis.speechSynthesis) return null;
  const voices = (await loadedVoices()).filter((v) => v.localService && v.lang.toLowerCase().startsWith('en'));
  return voices.find((v) => v.lang === 'en-GB') ?? voices[0] ?? null;
}

/** Browsers look for voices when they are first asked, and say when they have found some. */
const voicesWithinMs = 1500;

function loadedVoices(): Promise<SpeechSynthesisVoice[]> {
  const now = speechSynthesis.getVoices();
  if (now.length > 0) return Promise.resolve(now);
  return new Promise((resolve) => {
    const done = () => resolve(speechSynthesis.getVoices());
    speechSynthesis.addEventListener('voiceschanged', done, { once: true });
    setTimeout(done, voicesWithinMs);
  });
}
