// What is typed and not yet confirmed by the program: kept until it is, over reload and back. Most drafts belong to their
// tab; those of the browser are the same in all its tabs, as one types.
import { signal, type Signal } from '@preact/signals';

/** How long it is kept, and by whom it is seen. */
export type Kept = 'tab' | 'browser';

interface One {
  value: Signal<unknown>;
  empty: unknown;
}
const known = new Map<string, One>();
const mark = 'draft:';

function storeOf(kept: Kept): Storage | null {
  try {
    return kept === 'tab' ? sessionStorage : localStorage;
  } catch {
    return null; // forbidden: in memory only
  }
}

function parse(text: string | null): unknown {
  try {
    return text === null ? undefined : JSON.parse(text);
  } catch {
    return undefined;
  }
}

function isEmpty(value: unknown, empty: unknown): boolean {
  return value === empty || value === '' || value === null;
}

/** Counts changes of the browser's drafts, here or in another tab; who lists them reads it. */
export const browserDraftsTurn = signal(0);

function store(kept: Kept, key: string, text: string | null): void {
  const where = storeOf(kept);
  if (!where || where.getItem(mark + key) === text) return;
  if (text === null) where.removeItem(mark + key);
  else where.setItem(mark + key, text);
  if (kept === 'browser') ++browserDraftsTurn.value;
}

function keep(kept: Kept, key: string, value: unknown, empty: unknown): void {
  try {
    store(kept, key, isEmpty(value, empty) ? null : JSON.stringify(value));
  } catch {
    // full: still in memory
  }
}

/** The draft of that name: the same signal for everybody who asks. It begins as kept, else as `empty`. */
export function draft<Value>(key: string, empty: Value, kept: Kept = 'tab'): Signal<Value> {
  const before = known.get(key);
  if (before) return before.value as Signal<Value>;
  const read = parse(storeOf(kept)?.getItem(mark + key) ?? null);
  const one = signal<Value>(read === undefined ? empty : (read as Value));
  one.subscribe((value) => keep(kept, key, value, empty));
  known.set(key, { value: one as Signal<unknown>, empty });
  return one;
}

/** Confirmed by the program: drafts whose key begins so are empty again. */
export function dropDrafts(prefix: string): void {
  for (const [key, one] of known) if (key.startsWith(prefix)) one.value.value = one.empty;
}

/** What is kept in the browser under `name` and below it (`name:...`), by key. Without a name: all of it. */
export function browserDrafts(name = ''): Record<string, unknown> {
  const where = storeOf('browser');
  const found: Record<string, unknown> = {};
  for (let i = 0; where && i < where.length; ++i) {
    const stored = where.key(i) ?? '';
    const key = stored.slice(mark.length);
    if (stored.startsWith(mark) && (name === '' || key === name || key.startsWith(`${name}:`))) found[key] = parse(where.getItem(stored));
  }
  return found;
}

/** Empties drafts of the browser; what was in them, for putting them back. */
export function takeBrowserDrafts(name: string): Record<string, unknown> {
  const had = browserDrafts(name);
  for (const key of Object.keys(had)) {
    const one = known.get(key);
    if (one) one.value.value = one.empty;
    else store('browser', key, null);
  }
  return had;
}

export function putBrowserDrafts(values: Record<string, unknown>): void {
  for (const [key, value] of Object.entries(values)) {
    const one = known.get(key);
    if (one) one.value.value = value;
    else keep('browser', key, value, undefined);
  }
}

/** Listens to the other tabs. */
export function startDrafts(): void {
  addEventListener('storage', (event) => {
    if (event.storageArea !== storeOf('browser') || (event.key !== null && !event.key.startsWith(mark))) return;
    const one = event.key === null ? undefined : known.get(event.key.slice(mark.length));
    if (one) one.value.value = parse(event.newValue) ?? one.empty;
    ++browserDraftsTurn.value;
  });
}
