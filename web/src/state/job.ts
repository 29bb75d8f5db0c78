// The job on the screen: the newest snapshot, what is being asked, what went wrong. Replies that come late are dropped.
import { batch, computed, signal } from '@preact/signals';
import { call, isLineTrouble, stopWork, type Arguments, type Operation } from '../api/client';
import { printOf, quickParts, readBoard, type Board, type BoardPart } from '../api/board';
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
/** What is being entered, or was and is now thought about: shown at once, however long the program thinks. */
export const taking = signal<Taking | null>(null);
/** How far the long work is, 0 to 1; none: not told. */
export const progress = signal<number | null>(null);
/** Minutes that are left; none: no limit. */
export const within = signal<number | null>(null);

export interface Act {
  operation: Operation;
  args: Arguments;
}

export interface Taking {
  acts: Act[];
  /** It is in the book. */
  done: boolean;
}

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
    taking.value = null;
  });
}

/**
 * Reads the snapshot anew: first all that is quick, then the next test. After an act the entries alone are asked for
 * beside it: on a whole vehicle even the suspects may take the program a while.
 */
export async function load(afterAct = false): Promise<void> {
  const job = jobName.peek();
  if (job === null) return;
  const mine = ++asked;
  stopAsking?.abort();
  stopAsking = new AbortController();
  const stop = stopAsking.signal;
  const isMine = () => mine === asked && jobName.peek() === job;
  thinking.value = true;
  let whole = false;
  if (afterAct && board.peek()) void ask({ job, part: ['job'] }, stop, () => isMine() && !whole);
  whole = await ask({ job, part: quickParts }, stop, isMine);
  if (isMine()) taking.value = null;
  if (whole) {
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
    const code = reply.diagnostics[0]?.code;
    if (code === 'run.cancelled') askLater(isMine);
    else if (code !== 'page.stopped' && !isLineTrouble(reply.diagnostics)) problems.value = reply.diagnostics;
    return false;
  }
  batch(() => {
    const now = readBoard(reply, board.peek(), args.part as BoardPart[]);
    if (now) board.value = merged(now, board.peek(), reply.result.next === undefined);
  });
  return true;
}

const stoppedPause = 1500; // ms

/** Stopped for what another screen enters: that will be heard of. Should it have been refused, it is asked again. */
function askLater(isMine: () => boolean): void {
  setTimeout(() => {
    if (isMine() && !thinking.peek() && acting === 0) void load();
  }, stoppedPause);
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
  if (print(reply.result) !== print(board.peek() ?? before)) await load(true);
}

/** A quick snapshot keeps the advice of the one before while nothing happened between them. */
function merged(now: Board, before: Board | null, quick: boolean): Board {
  if (quick && before && before.job.job === now.job.job && printOf(before) === printOf(now))
    return { ...now, next: before.next };
  return now;
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

/**
 * Several in a row, stopping at the first that is refused. What is done already is no reason to stop. `entered`: they are
 * in the book; what follows from them may take longer.
 */
export async function actAll(acts: Act[], entered?: () => void): Promise<boolean> {
  const job = jobName.peek();
  if (job === null) return false;
  ++acting;
  taking.value = { acts, done: false };
  // What is being worked out is out of date, and would hold up what is entered now: the next test of a whole vehicle may
  // take minutes.
  const wasThinking = thinking.peek();
  stopAsking?.abort();
  ++asked;
  const [told] = await Promise.all([runAll(job, acts), wasThinking ? stopWork(job, 'board') : undefined]);
  --acting;
  if (told.done) entered?.();
  if (jobName.peek() !== job) return told.done;
  batch(() => {
    taking.value = told.done ? { acts, done: true } : null;
    problems.value = isLineTrouble(told.list) ? [] : told.list.filter((one) => !told.done || one.severity === 'warning');
  });
  if (told.done || told.some || wasThinking) await load(told.done || told.some);
  return told.done;
}

/** Their reply would wait for how the suspects stand then; the snapshot after it has that. */
const briefly: Operation[] = ['saw', 'undo', 'witness'];

async function runAll(job: string, acts: Act[]): Promise<{ done: boolean; some: boolean; list: Diagnostic[] }> {
  let list: Diagnostic[] = [];
  let some = false;
  for (const one of acts) {
    const reply = await call<Record<string, unknown>>(one.operation, { job, ...one.args, ...(briefly.includes(one.operation) ? { brief: true } : {}) });
    list = reply.diagnostics;
    if (!reply.ok && list[0]?.code !== 'did.already') return { done: false, some, list };
    some = some || reply.ok;
  }
  return { done: true, some, list };
}

/** Answers a test: its steps first, each an entry of its own, then the reading. */
export async function answer(what: string, shows: string, steps: string[]): Promise<boolean> {
  const job = jobName.peek() ?? '';
  return actAll([...steps.map(didAct), sawAct(what, shows)], () => dropDrafts(`${job}:reading`));
}
