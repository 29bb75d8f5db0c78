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
    return await read<Result>(response);
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError')
      return failed(lost('page.stopped', 'stopped', 'ask again'));
    return failed(lost('page.unreachable', 'The program does not answer.', 'Is it still running? What you typed is kept here.'));
  } finally {
    watcher(-1);
  }
}

async function read<Result>(response: Response): Promise<Reply<Result>> {
  const text = await response.text();
  try {
    const reply = JSON.parse(text) as Reply<Result>;
    if (typeof reply.ok === 'boolean') return { ...reply, diagnostics: reply.diagnostics ?? [] };
  } catch {
    // not a reply: told below
  }
  if (response.status === 401 || response.status === 403)
    return failed(lost('page.not-paired', 'This screen is not let in.', 'Scan the code on the other screen again, or open the page on the machine itself.'));
  return failed(lost('page.bad-reply', `The program answered ${response.status}: ${text.slice(0, 200)}`, 'Try again.'));
}
