// A sketch while it is made: the answers so far, what the program says of them, how it looks.
import { computed, signal } from '@preact/signals';
import { call } from '../api/client';
import type { Diagnostic, Reply, Sketched, Template } from '../api/replies';
import { slugOf } from '../lib/names';

export const templates = signal<Template[] | null>(null);
export const templateProblems = signal<Diagnostic[]>([]);

export interface Looked {
  problems: Diagnostic[];
  /** The drawing as SVG; none while something needed is missing. */
  svg: string | null;
  name: string;
  assumed: string[];
  counts: string;
}

export const looked = signal<Looked | null>(null);
export const looking = signal(false);
export const isSound = computed(() => looked.value !== null && looked.value.svg !== null);

/** The sketch that is tried out, on the shelf under a name of its own until it is kept. */
export const trial = 'shelf:sketch-in-progress';

export async function readTemplates(): Promise<void> {
  if (templates.value) return;
  const reply = await call<{ templates: Template[] }>('sketch', { list: true });
  templates.value = reply.ok ? reply.result.templates : [];
  templateProblems.value = reply.ok ? [] : reply.diagnostics;
}

export type Answers = Record<string, string>;

function told(answers: Answers): Answers {
  return Object.fromEntries(Object.entries(answers).filter(([, text]) => text.trim() !== ''));
}

let asked = 0;

/** Tries the answers: what is wrong, what it looks like. Late answers are dropped. */
export async function tryOut(template: string, answers: Answers, dark: boolean): Promise<void> {
  const mine = ++asked;
  looking.value = true;
  const made = await call<Sketched>('sketch', { template, ...told(answers), out: trial, force: true });
  if (mine !== asked) return;
  if (!made.ok) {
    looked.value = { problems: made.diagnostics, svg: null, name: '', assumed: [], counts: '' };
    looking.value = false;
    return;
  }
  const [checked, drawn] = await Promise.all([
    call<{ faults: number; wires: number }>('check', { loom: trial }),
    call<{ svg: string }>('draw', { loom: trial, ...(dark ? { dark: true } : {}) }),
  ]);
  if (mine !== asked) return;
  looked.value = {
    problems: checked.diagnostics,
    svg: drawn.ok ? drawn.result.svg : null,
    name: made.result.name,
    assumed: made.result.assumed,
    counts: checked.ok ? `${checked.result.wires} / ${checked.result.faults}` : '',
  };
  looking.value = false;
}

/** Keeps it on the shelf under a name that is free. */
export async function keep(template: string, answers: Answers): Promise<Reply<Sketched>> {
  const name = slugOf(looked.peek()?.name || answers.name || template);
  for (let turn = 1; ; ++turn) {
    const reply = await call<Sketched>('sketch', { template, ...told(answers), out: `shelf:${turn === 1 ? name : `${name}-${turn}`}` });
    if (reply.ok || reply.diagnostics[0]?.code !== 'sketch.exists' || turn > 200) return reply;
  }
}
