// The snapshot of one job that the page shows: reply of `board` (docs/formats/replies.md).
import type { Next, Proof, Reply, Status, Suspects } from './replies';

/** One stroke of the pen, as src/report/strokes.h has it. `at`: x, y, x, y ... */
export interface Stroke {
  do: 'path' | 'marker' | 'box' | 'circle' | 'dot' | 'arc' | 'bump' | 'solid' | 'text' | 'turned' | 'end';
  at?: number[];
  weight?: number;
  dashed?: boolean;
  width?: number;
  height?: number;
  radius?: number;
  right?: boolean;
  degrees?: number;
  text?: string;
  size?: number;
  anchor?: 'middle' | 'end';
  bold?: boolean;
  quiet?: boolean;
}

export interface DrawnPoint {
  point: string;
  x: number;
  y: number;
}

export interface DrawnThing {
  kind: 'wire' | 'plug' | 'module' | 'part' | 'splice' | 'stud' | 'frame';
  name: string;
  hint: string;
  suspicion: number;
  x: number;
  y: number;
  width: number;
  height: number;
  traced?: boolean;
  strokes: Stroke[];
  words?: Stroke[];
  points?: DrawnPoint[];
}

export interface Lane {
  name: string;
  detail: string;
  left: number;
  right: number;
}

export interface Drawing {
  width: number;
  height: number;
  lanes: Lane[];
  wires: DrawnThing[];
  boxes: DrawnThing[];
  /** "Not on this drawing", 0 to 1. */
  elsewhere?: number;
}

export interface Plug {
  name: string;
  sides: { name: string; place: string }[];
  rows: string[][];
  inline: boolean;
  backprobe: boolean;
  pluggable: boolean;
  apart: boolean;
  unplug_minutes: number;
  plug_minutes: number;
  caution?: string;
  hazard?: string;
}

export interface Setup {
  name: string;
  undo_name: string;
  done: boolean;
  minutes: number;
  undo_minutes: number;
  leave: boolean;
  caution?: string;
}

export interface KitThings {
  resistors: string[];
  meter: boolean;
  test_lamp: boolean;
  clamp: boolean;
  long_lead: boolean;
  reader: boolean;
  heat_gun: boolean;
  cold_spray: boolean;
  scope: boolean;
  money_per_hour: number;
  fetch_minutes: number;
  road_minutes: number;
}

/** What can be said of this vehicle. */
export interface Choices {
  codes: { name: string; module: string; text: string }[];
  lives: { name: string; module: string; unit: string; low?: number; high?: number }[];
  looks: { name: string; kind: string; lamp: boolean }[];
  modules: { name: string }[];
  buses?: { name: string; reader: boolean }[];
  setups: Setup[];
  plugs: Plug[];
  points: string[];
  kit: KitThings;
  skipped: string[];
}

export interface Board {
  job: Status;
  choices: Choices;
  suspects: Suspects;
  drawing: Drawing;
  proof: Proof | null;
  /** None while it is worked out. */
  next: Next | null;
}

export type BoardPart = keyof Board;

export const quickParts: BoardPart[] = ['job', 'choices', 'suspects', 'drawing', 'proof'];

/** A snapshot from a reply to a question for `parts`; what was not asked for stays as it was. None: something is missing. */
export function readBoard(reply: Reply<Partial<Board>>, before: Board | null, parts: BoardPart[]): Board | null {
  const { job, choices, suspects, drawing, proof, next } = reply.result;
  const whole: Partial<Board> = {
    job: job ?? before?.job,
    choices: choices ?? before?.choices,
    suspects: suspects ?? before?.suspects,
    drawing: drawing ?? before?.drawing,
  };
  if (!whole.job || !whole.choices || !whole.suspects || !whole.drawing) return null;
  return { ...(whole as Board), proof: parts.includes('proof') ? proof ?? null : before?.proof ?? null, next: next ?? null };
}

/** What advice depends on: when two snapshots have the same, so has their advice. */
export function printOf(board: Board): string {
  const entries = board.job.entries.map((entry) => `${entry.n}${entry.struck ? '-' : ''}`).join(' ');
  return JSON.stringify([entries, board.choices.skipped, board.choices.kit, board.job.meter]);
}
