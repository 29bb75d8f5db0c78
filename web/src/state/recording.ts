// The recording on the screen: what was read of it, which stretch of time is seen, what is chosen, whose lines are open.
// What was read is kept in memory by its fingerprint: a recording never changes.
import { signal, type Signal } from '@preact/signals';
import { call } from '../api/client';
import type { Captured, Kept } from '../api/recording';
import type { Reply } from '../api/replies';
import type { Chosen } from '../draw/lanes';
import type { Span } from '../draw/span';
import { fileIn } from '../lib/lines';
import { draft } from './drafts';

const read = new Map<string, Signal<Reply<Captured> | null>>();

/** What it tells; null while it is read. */
export function capturedOf(recording: string): Signal<Reply<Captured> | null> {
  let known = read.get(recording);
  if (!known) {
    read.set(recording, (known = signal<Reply<Captured> | null>(null)));
    readAgain(recording);
  }
  return known;
}

/** Once more, when it failed. */
export function readAgain(recording: string): void {
  const one = read.get(recording);
  if (!one) return;
  one.value = null;
  void call<Captured>('capture', { file: recording, slots: true }).then((reply) => (one.value = reply));
}

export interface RecordingDraft {
  /** `recording:...`; empty: the newest. */
  which: Signal<string>;
  on: Signal<string>;
  /** Of a recording of several buses: which of its channels. */
  channel: Signal<string>;
  high: Signal<string>;
  low: Signal<string>;
  /** Number of a stranger to module. */
  who: Signal<Record<string, string>>;
}

export function recordingDraft(job: string): RecordingDraft {
  return {
    which: draft(`${job}:recording:which`, ''),
    on: draft(`${job}:recording:on`, ''),
    channel: draft(`${job}:recording:channel`, ''),
    high: draft(`${job}:recording:high`, ''),
    low: draft(`${job}:recording:low`, ''),
    who: draft<Record<string, string>>(`${job}:recording:who`, noneTold),
  };
}
const noneTold: Record<string, string> = {};

/** What is seen of it, null: all; and what is chosen. Kept over a reload. */
export function lookOf(job: string, recording: string): { span: Signal<Span | null>; chosen: Signal<Chosen | null> } {
  return { span: draft<Span | null>(`${job}:recording:span:${recording}`, null), chosen: draft<Chosen | null>(`${job}:recording:chosen:${recording}`, null) };
}

/** Lines of a recording that are open as they stand; none: closed. */
export const framesShown = signal<{ recording: string; lines: string } | null>(null);

export function showFrames(recording: string, lines: string): void {
  framesShown.value = { recording, lines };
}

// Recordings of jobs, as last read.
const lists = new Map<string, Signal<Reply<{ recordings: Kept[] }> | null>>();

/** The recordings that a job has; null while they are asked for. */
export function keptOf(job: string): Signal<Reply<{ recordings: Kept[] }> | null> {
  let known = lists.get(job);
  if (!known) {
    lists.set(job, (known = signal<Reply<{ recordings: Kept[] }> | null>(null)));
    void readKept(job);
  }
  return known;
}

/** Anew, where somebody has asked before: one came or went, here or on another screen. */
export async function readKept(job: string): Promise<void> {
  const one = lists.get(job);
  if (!one) return;
  const reply = await call<{ recordings: Kept[] }>('jobs', { do: 'recordings', what: job.replace(/^book:/, '') });
  const same = reply.ok && one.peek()?.ok && JSON.stringify(reply.result) === JSON.stringify(one.peek()?.result);
  if (!same && (reply.ok || !one.peek()?.ok)) one.value = reply;
}

/** The recording an entry was made of, if the job still has it. */
export function recordingOf(job: string, entry: { what: string; shows: string }): string | undefined {
  const file = fileIn(entry.what, entry.shows);
  if (file === undefined) return undefined;
  const reply = keptOf(job).value;
  return reply?.ok ? reply.result.recordings.find((one) => one.name === file)?.recording : undefined;
}
