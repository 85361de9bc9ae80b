import type { Failure, Outcome } from '../base/failure.ts';
import { failureOf } from './worldFailure.ts';

/** What a worker can be asked: name → [request, reply, progress]. */
export type CallMap = Record<string, readonly [request: unknown, reply: unknown, progress: unknown]>;

/** Page → worker. */
type Asked =
  | { readonly kind: 'call'; readonly id: number; readonly name: string; readonly request: unknown }
  | { readonly kind: 'cancel' | 'pause' | 'resume'; readonly id: number };

/** Worker → page. */
type Told =
  | { readonly kind: 'progress'; readonly id: number; readonly progress: unknown }
  | { readonly kind: 'done'; readonly id: number; readonly outcome: Outcome<unknown> };

/** What a handler in the worker is given beside its request. */
export interface Job<Progress> {
  /** Aborted when the page cancels. */
  readonly signal: AbortSignal;
  /** Sends progress; buffers in `transfer` change hands. */
  progress(progress: Progress, transfer?: Transferable[]): void;
  /** Settles at once, or when the page resumes. Rejects with an AbortError when it cancels. */
  goOn(): Promise<void>;
}

/** The worker's side: one handler per call. A thrown error crosses as a failure (see `failureOf`). */
export type Handlers<Calls extends CallMap> = {
  readonly [Name in keyof Calls]: (
    request: Calls[Name][0],
    job: Job<Calls[Name][2]>,
  ) => Promise<{ readonly reply: Calls[Name][1]; readonly transfer?: Transferable[] }>;
};

/** A worker's global scope, as far as answering calls needs it. */
export interface CallScope {
  onmessage: ((event: MessageEvent) => void) | null;
  postMessage(message: unknown, options?: StructuredSerializeOptions): void;
}

/** Answers calls in a worker. Calls run side by side; a handler that must not overlap queues by itself. */
export function answerCalls<Calls extends CallMap>(scope: CallScope, handlers: Handlers<Calls>): void {
  const running = new Map<number, RunningJob>();
  scope.onmessage = (event: MessageEvent) => {
    const asked = event.data as Asked;
    if (asked.kind === 'call') {
      const job = new RunningJob((progress, transfer) => {
        const told: Told = { kind: 'progress', id: asked.id, progress };
        scope.postMessage(told, { transfer: transfer ?? [] });
      });
      running.set(asked.id, job);
      answer(scope, handlers, asked.id, asked.name, asked.request, job).finally(() => running.delete(asked.id));
      return;
    }
    const job = running.get(asked.id);
    if (asked.kind === 'cancel') job?.cancel();
    else if (asked.kind === 'pause') job?.pause();
    else job?.resume();
  };
}

async function answer<Calls extends CallMap>(
  scope: CallScope,
  handlers: Handlers<Calls>,
  id: number,
  name: string,
  request: unknown,
  job: RunningJob,
): Promise<void> {
  let told: Told;
  let transfer: Transferable[] = [];
  try {
    const done = await handlers[name as keyof Calls](request as Calls[keyof Calls][0], job);
    told = { kind: 'done', id, outcome: { ok: true, value: done.reply } };
    transfer = done.transfer ?? [];
  } catch (error) {
    told = { kind: 'done', id, outcome: { ok: false, failure: failureOf(error) } };
  }
  scope.postMessage(told, { transfer });
}

class RunningJob implements Job<unknown> {
  readonly #controller = new AbortController();
  readonly #send: (progress: unknown, transfer?: Transferable[]) => void;
  #waiting: (() => void)[] = [];
  #paused = false;

  constructor(send: (progress: unknown, transfer?: Transferable[]) => void) {
    this.#send = send;
  }

  get signal(): AbortSignal {
    return this.#controller.signal;
  }

  progress(progress: unknown, transfer?: Transferable[]): void {
    this.#send(progress, transfer);
  }

  async goOn(): Promise<void> {
    while (this.#paused && !this.signal.aborted)
      await new Promise<void>((resolve) => {
        this.#waiting.push(resolve);
      });
    this.signal.throwIfAborted();
  }

  pause(): void {
    this.#paused = true;
  }

  resume(): void {
    this.#paused = false;
    this.#wake();
  }

  cancel(): void {
    this.#controller.abort();
    this.#wake();
  }

  #wake(): void {
    const waiting = this.#waiting;
    this.#waiting = [];
    for (const resolve of waiting) resolve();
  }
}

/** Pauses and resumes long work: hand it over with the work, call it from a button. */
export class PauseSwitch {
  #paused = false;
  readonly #listeners = new Set<(paused: boolean) => void>();

  get paused(): boolean {
    return this.#paused;
  }

  pause(): void {
    this.#set(true);
  }

  resume(): void {
    this.#set(false);
  }

  /** Hears of every change; the returned function ends that. */
  listen(listener: (paused: boolean) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  #set(paused: boolean): void {
    if (paused === this.#paused) return;
    this.#paused = paused;
    for (const listener of this.#listeners) listener(paused);
  }
}

/** What may accompany a call. */
export interface CallHooks<Progress> {
  readonly onProgress?: ((progress: Progress) => void) | undefined;
  readonly signal?: AbortSignal | undefined;
  readonly pause?: PauseSwitch | undefined;
}

/** The page's side: asks a worker and hands back outcomes. A worker that dies fails every open call. */
export class WorkerCalls<Calls extends CallMap> {
  readonly #worker: Worker;
  readonly #open = new Map<number, { progress: (p: unknown) => void; done: (o: Outcome<unknown>) => void }>();
  #next = 0;

  constructor(worker: Worker) {
    this.#worker = worker;
    worker.onmessage = (event: MessageEvent) => this.#hear(event.data as Told);
    worker.onerror = (event) => {
      event.preventDefault();
      this.#failAll({
        code: 'unexpected',
        sentence: `The part of Nudgebook that reads videos stopped (${event.message || 'it could not be loaded'}). Reload the page and try again.`,
      });
    };
  }

  /** Asks. Settles with the reply or a failure, never rejects; code `cancelled` after `signal` aborted or `close`. */
  call<Name extends keyof Calls & string>(
    name: Name,
    request: Calls[Name][0],
    hooks: CallHooks<Calls[Name][2]> = {},
  ): Promise<Outcome<Calls[Name][1]>> {
    const id = this.#next++;
    const { signal, pause, onProgress } = hooks;
    return new Promise((resolve) => {
      const cancel = () => this.#post({ kind: 'cancel', id });
      const silence = pause?.listen((paused) => this.#post({ kind: paused ? 'pause' : 'resume', id }));
      this.#open.set(id, {
        progress: (progress) => onProgress?.(progress as Calls[Name][2]),
        done: (outcome) => {
          signal?.removeEventListener('abort', cancel);
          silence?.();
          resolve(outcome as Outcome<Calls[Name][1]>);
        },
      });
      this.#post({ kind: 'call', id, name, request });
      if (pause?.paused) this.#post({ kind: 'pause', id });
      if (signal?.aborted) cancel();
      else signal?.addEventListener('abort', cancel, { once: true });
    });
  }

  /** Ends the worker; open calls settle as cancelled. */
  close(): void {
    this.#worker.terminate();
    this.#failAll({ code: 'cancelled', sentence: 'Reading was stopped. Start it again when you like.' });
  }

  #post(asked: Asked): void {
    this.#worker.postMessage(asked);
  }

  #hear(told: Told): void {
    const open = this.#open.get(told.id);
    if (!open) return;
    if (told.kind === 'progress') open.progress(told.progress);
    else {
      this.#open.delete(told.id);
      open.done(told.outcome);
    }
  }

  #failAll(failure: Failure): void {
    const open = [...this.#open.values()];
    this.#open.clear();
    for (const { done } of open) done({ ok: false, failure });
  }
}
