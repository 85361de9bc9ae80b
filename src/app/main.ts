import './styles.css';
import { mount } from 'svelte';
import App from './App.svelte';
import { fontsReady } from './fonts.ts';
import { onSetBook } from './onset/keptAtOnce.ts';
import { Session } from './session.svelte.ts';
import { applyTheme, showTheme, storedTheme } from './theme.ts';

declare global {
  interface Window {
    /** For tests and for the pictures of the README: settles when nothing is being opened, read or kept. */
    whenIdle?: () => Promise<void>;
  }
}

// A page that comes back in the middle of shooting is never bright, not for a moment.
if (onSetBook()) showTheme('set');
else applyTheme(storedTheme());
const session = new Session();
// Whoever comes back in the middle of shooting sees every number where it stays.
await fontsReady();
window.whenIdle = () => session.whenIdle();
mount(App, { target: document.getElementById('app')!, props: { session } });
void session.opening.begin();
