// The job on the screen: the newest snapshot, what is being asked, what went wrong. Replies that come late are dropped.
import { batch, computed, signal } from '@preact/signals';
import { call, isLineTrouble, type Arguments, type Operation } from '../api/client';
import { printOf, quickParts, readBoard, type Board } from '../api/board';
import { listen, type Listening } from '../api/events';
import type { Diagnostic } from '../api/replies';
import { dropDrafts } from './drafts';
import { comebacks, tryLine } from './line';
import { readKept } from './recording';

export const jobName = signal<string | null>(null);
export const board = signal<Board | null>(null);
/** The next test is being worked out. */
export const thinking = signal(false);
export const problems = signal<Diagnostic[]>([]);
/** How far the long work is, 0 to 1; none: not told. */
export const progress = signal<number | null>(null);
/** Minutes that are left; none: no limit. */
export const within = signal<number | null>(null);

export const leftBehind = computed(() => board.value?.job.left_behind ?? []);
export const isClosed = computed(() => board.value?.job.closed_at !== undefined);

let asked = 0;
let acting = 0;
let heardMeanwhile = false;
let stopAsking: AbortController | null = null;
let listening: Listening | null = null;

export function openJob(name: string): void {
  if (jobName.peek() === name) return;
  leaveJob();
  jobName.value = name;
  hear(name);
  void load();
}

function hear(name: string): void {
  listening?.stop();
  listening = listen(name, {
    changed: () => {
      void lookAgain();
      void readKept(name);
    },
    progress: (share) => (progress.value = share),
    broke: () => void tryLine(),
  });
}

/** The program is back: heard anew, for it may be another process, and read anew, for a reply may have been lost. */
export function startJob(): void {
  comebacks.subscribe((count) => {
    const job = jobName.peek();
    if (count === 0 || job === null) return;
    hear(job);
    void load();
    void readKept(job);
  });
}

export function leaveJob(): void {
  listening?.stop();
  listening = null;
  stopAsking?.abort();
  ++asked;
  batch(() => {
    jobName.value = null;
    board.value = null;
    problems.value = [];
    within.value = null;
    thinking.value = false;
  });
}

/** Reads the snapshot anew: first all that is quick, then the next test. */
export async function load(): Promise<void> {
  const job = jobName.peek();
  if (job === null) return;
  const mine = ++asked;
  stopAsking?.abort();
  stopAsking = new AbortController();
  const stop = stopAsking.signal;
  const isMine = () => mine === asked && jobName.peek() === job;
  thinking.value = true;
  if (await ask({ job, part: quickParts }, stop, isMine)) {
    const limit = within.peek();
    await ask(limit === null ? { job, part: ['next'] } : { job, part: ['next'], within: limit }, stop, isMine);
  }
  if (isMine()) {
    thinking.value = false;
    progress.value = null;
    if (heardMeanwhile) {
      heardMeanwhile = false;
      void lookAgain();
    }
  }
}

async function ask(args: Arguments, stop: AbortSignal, isMine: () => boolean): Promise<boolean> {
  const reply = await call<Partial<Board>>('board', args, stop);
  if (!isMine()) return false;
  if (!reply.ok) {
    // While the line is down what is known stays as it is; the line's own words say the rest.
    if (reply.diagnostics[0]?.code !== 'page.stopped' && !isLineTrouble(reply.diagnostics)) problems.value = reply.diagnostics;
    return false;
  }
  batch(() => {
    board.value = merged(readBoard(reply, board.peek()), board.peek(), reply.result.next === undefined);
  });
  return true;
}

/** Something was written: by this screen, which reads anew by itself, or by another. Reads only if it differs. */
async function lookAgain(): Promise<void> {
  const job = jobName.peek();
  const before = board.peek();
  if (job === null || acting > 0 || before === null) return;
  if (thinking.peek()) {
    heardMeanwhile = true;
    return;
  }
  const reply = await call<Partial<Board>>('board', { job, part: ['job', 'choices'] });
  if (!reply.ok || jobName.peek() !== job || acting > 0) return;
  const print = (one: Partial<Board>) => JSON.stringify([{ ...one.job, asked: null }, one.choices?.kit, one.choices?.skipped]);
  if (print(reply.result) !== print(board.peek() ?? before)) await load();
}

/** A quick snapshot keeps the advice of the one before while nothing happened between them. */
function merged(now: Board | null, before: Board | null, quick: boolean): Board | null {
  if (now && quick && before && before.job.job === now.job.job && printOf(before) === printOf(now))
    return { ...now, next: before.next };
  return now;
}

export interface Act {
  operation: Operation;
  args: Arguments;
}

export function didAct(what: string): Act {
  return { operation: 'did', args: { what } };
}

export function sawAct(what: string, shows: string): Act {
  return { operation: 'saw', args: { what, shows } };
}

/** Does something to the job. True when it was done; else the problems say why and nothing typed is lost. */
export async function act(operation: Operation, args: Arguments = {}): Promise<boolean> {
  return actAll([{ operation, args }]);
}

/** Several in a row, stopping at the first that is refused. What is done already is no reason to stop. */
export async function actAll(acts: Act[]): Promise<boolean> {
  const job = jobName.peek();
  if (job === null) return false;
  ++acting;
  const told = await runAll(job, acts);
  --acting;
  problems.value = isLineTrouble(told.list) ? [] : told.list.filter((one) => !told.done || one.severity === 'warning');
  if (told.done || told.some) await load();
  return told.done;
}

async function runAll(job: string, acts: Act[]): Promise<{ done: boolean; some: boolean; list: Diagnostic[] }> {
  let list: Diagnostic[] = [];
  let some = false;
  for (const one of acts) {
    const reply = await call<Record<string, unknown>>(one.operation, { job, ...one.args });
    list = reply.diagnostics;
    if (!reply.ok && list[0]?.code !== 'did.already') return { done: false, some, list };
    some = some || reply.ok;
  }
  return { done: true, some, list };
}

/** Answers a test: its steps first, each an entry of its own, then the reading. */
export async function answer(what: string, shows: string, steps: string[]): Promise<boolean> {
  const job = jobName.peek() ?? '';
  const done = await actAll([
    ...steps.map(didAct), sawAct(what, shows),
  ]);
  if (done) dropDrafts(`${job}:reading`);
  return done;
}
