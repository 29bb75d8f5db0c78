// Sketches that were begun and are not on the shelf yet: kept in this browser, the same in all its tabs, each under a
// name of its own (`feed.m2x8q1ab`), so that two from one template do not meet. On the shelf they come when a job is
// opened on them. What is thrown away comes back until the next one is.
import type { Signal } from '@preact/signals';
import { browserDrafts, browserDraftsTurn, draft, putBrowserDrafts, takeBrowserDrafts } from './drafts';

export type Answers = Record<string, string>;
const noAnswers: Answers = {};

/** Under which its answers are kept, and after a colon whatever else belongs to it. */
export function draftKeyOf(name: string): string {
  return `sketch:${name}`;
}

/** A name that no sketch has yet. Later ones sort behind. */
export function freshName(template: string): string {
  const any = Math.floor(Math.random() * 36 ** 2);
  return `${template}.${Date.now().toString(36)}${any.toString(36).padStart(2, '0')}`;
}

export function templateOf(name: string): string {
  return name.replace(/\..*/, '');
}

export function answersOf(name: string): Signal<Answers> {
  return draft<Answers>(draftKeyOf(name), noAnswers, 'browser');
}

/** An answer that is empty again is none. */
export function setAnswer(name: string, question: string, text: string): void {
  const all = answersOf(name);
  const { [question]: before, ...others } = all.peek();
  if ((before ?? '') === text) return;
  const now = text === '' ? others : { ...others, [question]: text };
  all.value = Object.keys(now).length === 0 ? noAnswers : now;
}

export interface Begun {
  name: string;
  template: string;
  /** What was answered, in a few words. */
  said: string;
}

/** What was begun, by template, the newest of each first. */
export function begunSketches(): Begun[] {
  void browserDraftsTurn.value;
  const found = new Map<string, string>();
  for (const [key, value] of Object.entries(browserDrafts())) {
    const name = /^sketch:([^:]+)/.exec(key)?.[1];
    if (name === undefined) continue;
    const said = typeof value === 'string' ? value : typeof value === 'object' && value !== null ? Object.values(value).join(', ') : '';
    found.set(name, [found.get(name) ?? '', said].sort((a, b) => b.length - a.length)[0]!);
  }
  return [...found]
    .map(([name, said]) => ({ name, template: templateOf(name), said }))
    .sort((a, b) => a.template.localeCompare(b.template) || b.name.localeCompare(a.name));
}

export function isBegun(name: string): boolean {
  void browserDraftsTurn.value;
  return Object.keys(browserDrafts(draftKeyOf(name))).length > 0;
}

interface Thrown {
  name: string;
  values: Record<string, unknown>;
}
const thrown = draft<Thrown | null>('thrown-sketch', null);

/** The sketch that was thrown away last, unless it was begun anew. */
export function thrownSketch(): string | null {
  void browserDraftsTurn.value;
  const one = thrown.value;
  return one?.name && !isBegun(one.name) ? one.name : null;
}

export function throwAway(name: string): void {
  thrown.value = { name, values: takeBrowserDrafts(draftKeyOf(name)) };
}

export function bringBack(): void {
  const one = thrown.peek();
  if (!one) return;
  putBrowserDrafts(one.values);
  thrown.value = null;
}

/** It is on the shelf: the draft is done with. */
export function sketchKept(name: string): void {
  takeBrowserDrafts(draftKeyOf(name));
}
