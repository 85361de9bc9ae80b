import { getContext, setContext } from 'svelte';
import type { Session } from './session.svelte.ts';

const key = Symbol('session');

/** Hands the session to every component below. */
export function setSession(session: Session): void {
  setContext(key, session);
}

/** The session of the app. @throws Error when asked for outside a component below `App`. */
export function getSession(): Session {
  const session = getContext<Session | undefined>(key);
  if (!session) throw new Error('No session here: this component must stand below App, which sets it.');
  return session;
}
