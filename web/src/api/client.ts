// One request to the program: POST /api/<operation>, arguments in, reply out. Never throws: what went wrong on the way
// is a diagnostic like any other, so that views show one kind of error.
import type { OperationName } from './generated';
import type { Diagnostic, Reply } from './replies';

export type Arguments = Record<string, unknown>;

/** An operation of the table. */
export type Operation = OperationName;

/** Requests under way; the views show that something is going on. */
export type Watcher = (delta: 1 | -1) => void;
let watcher: Watcher = () => undefined;
export function watchRequests(one: Watcher): void {
  watcher = one;
}

/** Does the program answer? `silent`: no. `stranger`: it does, but does not know this browser (any more). */
export type Line = 'up' | 'silent' | 'stranger';
let lineWatcher: (line: Line) => void = () => undefined;
export function watchLine(one: (line: Line) => void): void {
  lineWatcher = one;
}

/** Nothing is wrong with what was asked; it did not arrive. */
export function isLineTrouble(list: Diagnostic[]): boolean {
  return list.some((one) => one.code === 'page.unreachable' || one.code === 'page.not-paired');
}

function lost(code: string, message: string, hint: string): Diagnostic {
  return { severity: 'error', code, message, hint };
}

function failed<Result>(diagnostic: Diagnostic): Reply<Result> {
  return { ok: false, exit_code: 4, result: {} as Result, diagnostics: [diagnostic] };
}

export async function call<Result>(operation: Operation, args: Arguments = {}, signal?: AbortSignal): Promise<Reply<Result>> {
  watcher(1);
  try {
    const response = await fetch(`/api/${operation}`, {
      method: 'POST',
      headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify(args),
      credentials: 'same-origin',
      cache: 'no-store',
      signal: signal ?? null,
    });
    const reply = await read<Result>(response);
    lineWatcher(reply.diagnostics[0]?.code === 'page.not-paired' ? 'stranger' : 'up');
    return reply;
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError')
      return failed(lost('page.stopped', 'stopped', 'ask again'));
    lineWatcher('silent');
    return failed(lost('page.unreachable', 'The program does not answer.', 'Is it still running? What you typed is kept here.'));
  } finally {
    watcher(-1);
  }
}

/** Whoever works on that job by that name, here or for another screen, may stop. */
export async function stopWork(job: string, operation: Operation): Promise<void> {
  try {
    await fetch('/api/cancel', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ job, operation }), credentials: 'same-origin' });
  } catch {
    // the line is down: told by what is asked next
  }
}

async function read<Result>(response: Response): Promise<Reply<Result>> {
  if (response.status === 401)
    return failed(lost('page.not-paired', 'This screen is not let in.', 'Open the address that the program prints, or scan its code again.'));
  const text = await response.text();
  try {
    const reply = JSON.parse(text) as Reply<Result>;
    if (typeof reply.ok === 'boolean') return { ...reply, diagnostics: reply.diagnostics ?? [] };
  } catch {
    // not a reply: told below
  }
  return failed(lost('page.bad-reply', `${response.status} ${text.slice(0, 200)}`.trim(), 'Try again.'));
}
