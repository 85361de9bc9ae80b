import { spawnSync } from 'node:child_process';
import { existsSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { preview } from 'vite';

/** The top folder of Nudgebook. */
export const projectRoot = fileURLToPath(new URL('../..', import.meta.url));

const dist = join(projectRoot, 'dist');

/** Everything a build is made of. */
const buildInputs = ['src', 'fixtures/takes', 'vite.config.ts', 'package-lock.json'];

/** The last change to a file, or to anything in a folder (folders count too, so that a deleted file is noticed), ms since 1970. */
function newestChange(path: string): number {
  if (!existsSync(path)) return 0;
  const own = statSync(path).mtimeMs;
  if (!statSync(path).isDirectory()) return own;
  const inside = readdirSync(path, { recursive: true, withFileTypes: true });
  return inside.reduce((newest, entry) => Math.max(newest, statSync(join(entry.parentPath, entry.name)).mtimeMs), own);
}

/** Is there a finished build that is newer than everything it was made of? */
export function isBuildFresh(): boolean {
  const built = join(dist, 'batch.html');
  if (!existsSync(built) || !existsSync(join(dist, 'index.html'))) return false;
  const builtAt = statSync(built).mtimeMs;
  return buildInputs.every((input) => newestChange(join(projectRoot, input)) <= builtAt);
}

/**
 * Builds the app when it was never built or has changed since; otherwise does nothing.
 * @throws Error with the builder's own words when the build fails.
 */
export function ensureBuild(say: (line: string) => void): void {
  if (isBuildFresh()) return;
  say('Building the app (once, and again after a change) …');
  const vite = join(projectRoot, 'node_modules/vite/bin/vite.js');
  // The environment may come from a test runner, whose settings would give a development build.
  const { VITEST: _test, VITEST_WORKER_ID: _worker, ...env } = process.env;
  const run = spawnSync(process.execPath, [vite, 'build', '--logLevel', 'warn'], {
    cwd: projectRoot,
    env: { ...env, NODE_ENV: 'production' },
    encoding: 'utf8',
  });
  if (run.status !== 0) throw new Error(`The app could not be built.\n${run.stdout ?? ''}${run.stderr ?? ''}`);
}

/** A server of the built app. */
export interface AppServer {
  /** Where it is, ending in a slash: "http://127.0.0.1:5824/". */
  readonly url: string;
  /** The port it got, which differs from the one wished for when that was taken. */
  readonly port: number;
  close(): Promise<void>;
}

/** Where and how strictly to serve. */
export interface ServeOptions {
  /** Address to listen at; only this machine without it. */
  readonly host?: string | undefined;
  /** Fail when the port is in use, rather than take the next free one. */
  readonly strictPort?: boolean | undefined;
}

/**
 * Serves the build in `dist` under the content security policy (see `contentSecurityPolicy.ts`).
 * @param port the port wished for; the next free one is taken instead when it is in use, unless `strictPort`
 */
export async function serveBuiltApp(port: number, options: ServeOptions = {}): Promise<AppServer> {
  const host = options.host ?? '127.0.0.1';
  const server = await preview({
    root: join(projectRoot, 'src/app'),
    configFile: join(projectRoot, 'vite.config.ts'),
    // A missing file is answered by 404, not by the start page: a model must never be read from HTML.
    appType: 'mpa',
    logLevel: 'silent',
    preview: { port, host, strictPort: options.strictPort ?? false },
  });
  const address = server.httpServer.address();
  const got = typeof address === 'object' && address ? address.port : port;
  return { url: `http://${host === '0.0.0.0' ? '127.0.0.1' : host}:${got}/`, port: got, close: () => server.close() };
}
