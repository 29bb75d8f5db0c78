// Sketches that were begun and are not on the shelf yet: one of each template, kept in this browser, the same in all its
// tabs. On the shelf they come when a job is opened on them. What is thrown away comes back until the next one is.
import type { Signal } from '@preact/signals';
import { browserDrafts, browserDraftsTurn, draft, putBrowserDrafts, takeBrowserDrafts } from './drafts';

export type Answers = Record<string, string>;
const noAnswers: Answers = {};
const nameOf = (template: string) => `sketch:${template}`;

export function answersOf(template: string): Signal<Answers> {
  return draft<Answers>(nameOf(template), noAnswers, 'browser');
}

/** An answer that is empty again is none. */
export function setAnswer(template: string, name: string, text: string): void {
  const all = answersOf(template);
  const { [name]: before, ...others } = all.peek();
  if ((before ?? '') === text) return;
  const now = text === '' ? others : { ...others, [name]: text };
  all.value = Object.keys(now).length === 0 ? noAnswers : now;
}

export interface Begun {
  template: string;
  /** What was answered, in a few words. */
  said: string;
}

/** What was begun, by template. */
export function begunSketches(): Begun[] {
  void browserDraftsTurn.value;
  const found = new Map<string, string>();
  for (const [key, value] of Object.entries(browserDrafts())) {
    const template = /^sketch:([^:]+)/.exec(key)?.[1];
    if (template === undefined) continue;
    const said = typeof value === 'string' ? value : typeof value === 'object' && value !== null ? Object.values(value).join(', ') : '';
    found.set(template, [found.get(template) ?? '', said].sort((a, b) => b.length - a.length)[0]!);
  }
  return [...found].map(([template, said]) => ({ template, said })).sort((a, b) => a.template.localeCompare(b.template));
}

export function isBegun(template: string): boolean {
  void browserDraftsTurn.value;
  return Object.keys(browserDrafts(nameOf(template))).length > 0;
}

interface Thrown {
  template: string;
  values: Record<string, unknown>;
}
const thrown = draft<Thrown | null>('thrown-sketch', null);

/** The template whose sketch was thrown away last, unless a new one was begun on it. */
export function thrownSketch(): string | null {
  void browserDraftsTurn.value;
  const one = thrown.value;
  return one && !isBegun(one.template) ? one.template : null;
}

export function throwAway(template: string): void {
  thrown.value = { template, values: takeBrowserDrafts(nameOf(template)) };
}

export function bringBack(): void {
  const one = thrown.peek();
  if (!one) return;
  putBrowserDrafts(one.values);
  thrown.value = null;
}

/** It is on the shelf: the draft is done with. */
export function sketchKept(template: string): void {
  takeBrowserDrafts(nameOf(template));
}
