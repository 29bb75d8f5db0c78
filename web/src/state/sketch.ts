// A sketch while it is made: what the program says of the answers so far, how it looks.
import { computed, signal } from '@preact/signals';
import { call } from '../api/client';
import type { Diagnostic, Reply, Sketched, Template } from '../api/replies';
import { slugOf } from '../lib/names';
import type { Answers } from './begun';

export const templates = signal<Template[] | null>(null);
export const templateProblems = signal<Diagnostic[]>([]);

export interface Looked {
  problems: Diagnostic[];
  /** The drawing as SVG; none while something needed is missing. */
  svg: string | null;
  name: string;
  assumed: string[];
}

export const looked = signal<Looked | null>(null);
export const looking = signal(false);
export const isSound = computed(() => looked.value !== null && looked.value.svg !== null);

export async function readTemplates(): Promise<void> {
  if (templates.value) return;
  const reply = await call<{ templates: Template[] }>('sketch', { list: true });
  templates.value = reply.ok ? reply.result.templates : [];
  templateProblems.value = reply.ok ? [] : reply.diagnostics;
}

function told(answers: Answers): Answers {
  return Object.fromEntries(Object.entries(answers).filter(([, text]) => text.trim() !== ''));
}

let asked = 0;

/** Tries the answers: what is wrong, what it looks like. Nothing is written for it. Late answers are dropped. */
export async function tryOut(template: string, answers: Answers, dark: boolean): Promise<void> {
  const mine = ++asked;
  looking.value = true;
  const reply = await call<Sketched & { svg: string }>('sketch', { template, ...told(answers), text: true, drawing: true, ...(dark ? { dark: true } : {}) });
  if (mine !== asked) return;
  const { svg, name, assumed } = reply.result;
  looked.value = reply.ok ? { problems: reply.diagnostics, svg, name, assumed } : { problems: reply.diagnostics, svg: null, name: '', assumed: [] };
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
