// What the program answers: docs/formats/replies.md, as far as the page reads it. Fields may be added there.

export interface Diagnostic {
  severity: 'error' | 'warning' | 'note';
  code: string;
  message: string;
  hint?: string;
  file?: string;
  line?: number;
  column?: number;
}

export interface Reply<Result> {
  ok: boolean;
  exit_code: number;
  result: Result;
  diagnostics: Diagnostic[];
}

export interface Configuration {
  made: string[];
  unplugged: string[];
  fitted: { kind: 'resistor' | 'lead'; ohm: number; a: string; b: string }[];
  swapped: string[];
}

export interface Point {
  point: string;
  connector?: string;
  cavity?: string;
  side?: string;
  /** on a stud or a bare terminal: the wire whose lug it is */
  lug_of?: string;
  place?: string;
}

export interface Test {
  what: string;
  instrument: string;
  red?: Point;
  black?: Point;
  wire?: string;
  code?: string;
  live?: string;
  module?: string;
  part?: string;
  connector?: string;
  unit?: string;
  results?: string[];
  configuration: Configuration;
}

export interface Prediction {
  settled: boolean;
  chances?: Record<string, number>;
  over_range?: number;
  value?: number | null;
  low?: number | null;
  high?: number | null;
}

export interface ActToUndo {
  act: string;
  undo: string;
  minutes: number;
  caution: string;
}

export interface Step {
  act: string;
  minutes: number;
  caution: string;
}

export interface NamedChance {
  name: string;
  probability: number;
}

export interface Outcome {
  name: string;
  chance: number;
  over_range?: boolean;
  category?: number;
  word?: string;
  low?: number;
  high?: number;
  middle?: number;
  suspects: NamedChance[];
}

export interface Meter {
  name: string;
  [key: string]: unknown;
}

export interface Next {
  kind: 'test' | 'repair' | 'prove' | 'leave' | 'nothing';
  test?: Test;
  steps?: Step[];
  cautions?: string[];
  minutes?: number;
  undo_minutes?: number;
  long_lead?: boolean;
  meter?: Meter;
  outcomes?: Outcome[];
  repair?: string;
  repairs?: string[];
  probability?: number;
  part_money?: number;
  wrong_part_chance?: number;
  parts?: string[];
  read_before?: string;
  return_minutes?: number;
  expected_minutes?: number;
  lower_bound_minutes?: number;
  gap?: number | null;
  exact?: boolean;
  tests_considered?: number;
  alternatives?: { what: string; expected_minutes: number }[];
  why_not?: WhyNot;
  within_minutes?: number; // nothing fits into so many
  best?: string; // with more of them
}

export interface WhyNot {
  what: string;
  refused?: string;
  taken: boolean;
  skipped: boolean;
  weighed: boolean;
  state?: string;
  bits?: number;
  minutes?: number;
  better?: number;
  of?: number;
}

export interface Reason {
  entry: number;
  what: string;
  seen: string;
  predicts: string;
  factor: number;
}

export interface SuspectGroup {
  repair: string;
  probability: number;
  also?: string[];
  suspects: { name: string; probability: number; description: string; blows?: string[]; reasons?: Reason[] }[];
}

export interface CodeStanding {
  code: string;
  module: string;
  seen: string;
  is: 'explained' | 'not-explained' | 'missing' | 'absent' | 'other';
  verdict: string;
  other_reason?: number;
}

export interface Suspects {
  groups: SuspectGroup[];
  codes?: CodeStanding[];
  other_codes?: { module: string; code: string; seen: string; chance?: number; entry?: number }[];
  unexplained: number[];
  worth_repeating: number[];
  alike?: string[][];
}

export interface Entry {
  n: number;
  at: string;
  verb: 'saw' | 'did' | 'note';
  what: string;
  shows: string;
  minutes: number;
  struck: boolean;
}

export interface Status {
  job: string;
  loom: string;
  complaint: string;
  vehicle?: string;
  customer?: string;
  closed_at?: string;
  meter?: string;
  configuration: Configuration;
  entries: Entry[];
  minutes: number;
  left_behind: ActToUndo[];
  asked?: string;
}

export interface ProofRow {
  what: string;
  configuration: Configuration;
  before: string;
  after: string;
  predicted: Prediction;
  fits: boolean;
  symptom: boolean;
}

export interface Proof {
  repaired: boolean;
  complete: boolean;
  look_again: boolean;
  contradicted: boolean;
  fixed: number;
  rows: ProofRow[];
  left_behind: ActToUndo[];
}

export interface PlanNode {
  kind: 'test' | 'repair' | 'end' | 'cut';
  act?: string;
  first: string[];
  cautions: string[];
  part_money?: number;
  chance: number;
  minutes_before: number;
  minutes: number;
  expected_minutes: number;
  branches: { seen: string; chance: number; node: number; then_likely?: string }[];
}

export interface Plan {
  nodes: PlanNode[];
  expected_minutes: number;
  median_minutes: number;
  minutes_of_95: number;
  lower_bound_minutes: number;
  exact: boolean;
  cut_chance: number;
}

export interface Kit {
  resistors: string[];
  clamp: boolean;
  test_lamp: boolean;
  long_lead: boolean;
  reader: boolean;
  heat_gun: boolean;
  cold_spray: boolean;
  scope: boolean;
  money_per_hour: number;
  fetch_minutes: number;
  road_minutes: number;
  meter: string;
}

export interface Question {
  name: string;
  asks: string;
  list: boolean;
  required: boolean;
  fallback?: string;
  only_with?: string;
  example?: string;
  kind?: 'text' | 'list' | 'number' | 'choice' | 'yes-no' | 'path';
  choices?: string[];
}

export interface Template {
  name: string;
  title?: string;
  summary: string;
  use?: string;
  questions: Question[];
}

export interface Guess {
  hop: string;
  /** What to put behind the path for it. */
  append: string;
  kind: string;
  because: string;
}

export interface Guessed {
  path: string;
  /** A path usually ends here. */
  ends: boolean;
  guesses: Guess[];
}

export interface Sketched {
  template: string;
  name: string;
  file: string;
  text: string;
  assumed: string[];
}
