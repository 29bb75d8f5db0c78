// The recording on the screen: what was read of it, which stretch of time is seen, what is chosen, whose lines are open.
// What was read is kept in memory by its fingerprint: a recording never changes.
import { signal, type Signal } from '@preact/signals';
import { call } from '../api/client';
import type { Captured } from '../api/recording';
import type { Reply } from '../api/replies';
import type { Chosen } from '../draw/lanes';
import type { Span } from '../draw/span';
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
  high: Signal<string>;
  low: Signal<string>;
  /** Number of a stranger to module. */
  who: Signal<Record<string, string>>;
}

export function recordingDraft(job: string): RecordingDraft {
  return {
    which: draft(`${job}:recording:which`, ''),
    on: draft(`${job}:recording:on`, ''),
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

/** Counts up when a recording was added or removed, for lists of them. */
export const recordingsChanged = signal(0);
