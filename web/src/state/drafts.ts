// What is typed and not yet confirmed by the program: kept until it is, over reload and back.
import { signal, type Signal } from '@preact/signals';

interface Kept {
  value: Signal<unknown>;
  empty: unknown;
}
const kept = new Map<string, Kept>();

function readKept(key: string): unknown {
  try {
    const text = sessionStorage.getItem(`draft:${key}`);
    return text === null ? undefined : JSON.parse(text);
  } catch {
    return undefined;
  }
}

function keep(key: string, value: unknown, empty: unknown): void {
  try {
    if (value === empty || value === '' || value === null) sessionStorage.removeItem(`draft:${key}`);
    else sessionStorage.setItem(`draft:${key}`, JSON.stringify(value));
  } catch {
    // full or forbidden: still in memory
  }
}

/** The draft of that name: the same signal for everybody who asks. It begins as kept, else as `empty`. */
export function draft<Value>(key: string, empty: Value): Signal<Value> {
  const known = kept.get(key);
  if (known) return known.value as Signal<Value>;
  const before = readKept(key);
  const one = signal<Value>(before === undefined ? empty : (before as Value));
  one.subscribe((value) => keep(key, value, empty));
  kept.set(key, { value: one as Signal<unknown>, empty });
  return one;
}

/** Confirmed by the program: drafts whose key begins so are empty again. */
export function dropDrafts(prefix: string): void {
  for (const [key, one] of kept) if (key.startsWith(prefix)) one.value.value = one.empty;
}
