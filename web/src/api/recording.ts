// Recordings of a bus, kept with the job: sent to the program, read by `capture`, put into the job by `witness`.
import type { Diagnostic, Reply } from './replies';

/** The program takes no more (docs/serve.md). */
export const mostBytes = 64 * 1024 * 1024;

export interface Kept {
  /** `recording:` and the SHA-256 of its bytes. */
  recording: string;
  name: string;
  bytes: number;
  at: string;
}

/** A place in the recording. */
export interface Mark {
  at_s: number;
  line: number;
}

/** Who sends: a source address of 29-bit identifiers, or an 11-bit identifier. */
export interface SenderKey {
  channel: string;
  address?: number;
  id?: number;
}

export interface Heard extends SenderKey {
  suggests?: string;
  frames: number;
  first: Mark;
  last: Mark;
  fastest_ms?: number;
  quiet_after_ms?: number;
  messages: { id: number; pgn?: number; name?: string; frames: number; last: Mark; median_ms?: number; comes: string; stopped?: boolean }[];
  /** Frames in each slot. */
  slots?: number[];
}

export interface Quiet extends SenderKey {
  seconds: number;
  before: Mark;
  after: Mark;
  to_the_end?: boolean;
  claimed?: boolean;
}

export interface SilentEvent {
  begins: Mark;
  quiet: Quiet[];
  heard: SenderKey[];
  too_slow_to_tell: SenderKey[];
  ended_together: boolean;
  whole_bus: boolean;
  volts_before?: Volts;
  volts_least?: Volts;
}

export interface Volts extends Mark {
  volts: number;
}

export interface Group {
  senders: SenderKey[];
  times: number;
  shortest_s: number;
  longest_s: number;
  events: SilentEvent[];
}

export interface SeenCode extends SenderKey {
  list: string;
  pgn: number;
  spn: number;
  fmi: number;
  times: number;
  at_the_end: boolean;
  first: Mark;
  last: Mark;
}

export interface Load {
  channel: string;
  bit_rate: number;
  guessed: boolean;
  mean: number;
  peak: number;
  peak_at: Mark;
  slot_s: number;
  slots: number[];
  least_volts?: (number | null)[];
  errors?: number[];
}

/** What stands out; `text` in English. */
export interface Remark {
  kind: string;
  text: string;
  lines: number[];
}

/** Reply of `capture` with `slots` (docs/formats/replies.md), as far as the page reads it. */
export interface Captured {
  recording: {
    format: string;
    times: string;
    lines: number;
    damaged: number;
    first_damage: { line: number }[];
    truncated: boolean;
    duration_s: number;
    channels: string[];
    clock_set: { line: number; by_s: number }[];
  };
  frames: number;
  stands_out: Remark[];
  heard_late: (SenderKey & Mark & { claimed: boolean })[];
  addresses: { claimed_by_several: (SenderKey & { names: string[]; contested: boolean })[]; cannot_claim: { name: string; first: Mark }[] };
  requests: { channel: string; from: number; to: number; pgn: number; unanswered: number; not_answered_by: number[]; first_unanswered?: Mark }[];
  long_messages: { channel: string; from: number; to: number; pgn: number; begun: number; complete: number; aborted: number; first_failed?: Mark }[];
  errors: { frames: number; classes: Record<string, number>; bursts: { first: Mark }[]; more_bursts: number };
  senders: Heard[];
  silences: Group[];
  codes: SeenCode[];
  load: Load[];
}

export interface Frame {
  line: number;
  at_s: number;
  channel: string;
  kind: 'data' | 'remote' | 'error';
  id: number;
  extended: boolean;
  data: string;
  name?: string;
  says?: string[];
}

/** Reply of `witness`: what is or would be entered, and who is who. */
export interface Witnessed {
  saw: string;
  shows: string;
  entry?: number;
  who?: (SenderKey & { module?: string })[];
  recorded: {
    bus: string;
    heard: string[];
    never: string[];
    quiet: { together: string[]; seen: string; remark: string }[];
    answered: { listener: string; speaker: string; answers: boolean; remark: string }[];
    codes: { code: string; seen: string }[];
    file?: string;
  };
}

export const keyOf = (one: SenderKey): string => `${one.channel} ${one.address !== undefined ? `a${one.address}` : `i${one.id}`}`;

export interface Sending {
  done: Promise<Reply<Kept>>;
  stop(): void;
}

function failed(code: string, message: string, hint: string): Reply<Kept> {
  const one: Diagnostic = { severity: 'error', code, message, hint };
  return { ok: false, exit_code: 4, result: {} as Kept, diagnostics: [one] };
}

/** Sends a file; `share` is told how much of it has gone, 0 to 1. */
export function sendRecording(job: string, file: File, share: (of: number) => void): Sending {
  const request = new XMLHttpRequest();
  const done = new Promise<Reply<Kept>>((told) => {
    request.upload.onprogress = (event) => share(event.total > 0 ? event.loaded / event.total : 0);
    request.onload = () => told(readReply(request));
    request.onerror = () => told(failed('page.unreachable', 'The program does not answer.', ''));
    request.onabort = () => told(failed('page.stopped', 'stopped', ''));
  });
  request.open('POST', `/recording?job=${encodeURIComponent(job)}&name=${encodeURIComponent(file.name)}`);
  request.setRequestHeader('Content-Type', 'application/octet-stream');
  request.send(file);
  return { done, stop: () => request.abort() };
}

function readReply(request: XMLHttpRequest): Reply<Kept> {
  if (request.status === 401) return failed('page.not-paired', 'This screen is not let in.', '');
  try {
    return JSON.parse(request.responseText) as Reply<Kept>;
  } catch {
    return failed('page.bad-reply', String(request.status), 'Try again.');
  }
}
