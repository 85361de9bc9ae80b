import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { chromium } from 'playwright';

/** Chromium's own sandbox is used wherever it can be: root cannot. Playwright goes without unless told. */
export const chromiumSandbox = process.getuid?.() !== 0;

/** Flags for an offline, headless run that neither phones home nor needs a GPU. */
export const chromiumFlags: readonly string[] = [
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

const systemPaths = [
  '/usr/bin/chromium',
  '/usr/bin/chromium-browser',
  '/usr/bin/google-chrome',
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
  'C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe',
];

/** A Chromium that is on this machine: $CHROMIUM first, then Playwright's own, then the usual places. Null when there is none. */
export function findChromium(): string | null {
  const named = process.env.CHROMIUM;
  if (named) return named;
  const own = chromium.executablePath();
  if (own && existsSync(own)) return own;
  return systemPaths.find((path) => existsSync(path)) ?? null;
}

/**
 * A Chromium, installed from Debian's packages when there is none and we may (Debian as root).
 * @throws Error whose message tells what to install where we may not.
 */
export function ensureChromium(): string {
  const found = findChromium();
  if (found) return found;
  const mayInstall = process.getuid?.() === 0 && spawnSync('which', ['apt-get']).status === 0;
  if (mayInstall) {
    console.log('No Chromium here: installing the one of this system (apt-get install chromium) …');
    const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
    execFileSync('apt-get', ['update', '-q'], { stdio: ['ignore', 'ignore', 'inherit'], env });
    execFileSync('apt-get', ['install', '-y', '-q', '--no-install-recommends', 'chromium'], {
      stdio: ['ignore', 'ignore', 'inherit'],
      env,
    });
    const installed = findChromium();
    if (installed) return installed;
  }
  throw new Error(
    'No Chromium was found. Install it (Debian or Ubuntu: sudo apt-get install chromium; elsewhere: npx playwright install chromium), or set CHROMIUM to its path, and start again.',
  );
}

/** How every script here starts a Chromium of its own, through Playwright. @throws as `ensureChromium`. */
export function chromiumLaunch(moreFlags: readonly string[] = []) {
  return { executablePath: ensureChromium(), args: [...chromiumFlags, ...moreFlags], chromiumSandbox };
}
