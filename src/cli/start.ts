import { parseArgs } from 'node:util';
import { ensureBuild, serveBuiltApp } from './builtApp.ts';

/** Always the same, because a browser keeps saved shots by address. No meaning in the number; unassigned at IANA. */
const usualPort = 5824;

/** Builds when needed, serves, says where, and goes on until stopped (Ctrl-C). */
async function start(): Promise<void> {
  const { values } = parseArgs({
    options: { port: { type: 'string' }, host: { type: 'string' }, 'only-this-port': { type: 'boolean' } },
  });
  const wished = Number(values.port ?? usualPort);
  if (!Number.isInteger(wished) || wished < 1 || wished > 65535)
    throw new Error(`--port takes a whole number from 1 to 65535, not “${values.port}”.`);
  ensureBuild((line) => console.log(line));
  const server = await serveBuiltApp(wished, { host: values.host, strictPort: values['only-this-port'] });
  console.log(`Nudgebook is at ${server.url} (open it in Chrome, Edge or Chromium; stop it here with Ctrl-C)`);
  if (server.port !== wished)
    console.log(
      `Port ${wished} is taken, perhaps by a Nudgebook that is still running: shots kept by the browser there are not seen here.`,
    );
}

start().catch((error: unknown) => {
  console.error(error instanceof Error ? error.message : String(error));
  process.exit(1);
});
