import assert from 'node:assert/strict';
import { beforeEach, test } from 'node:test';

class Store {
  private all = new Map<string, string>();
  get length(): number {
    return this.all.size;
  }
  key(i: number): string | null {
    return [...this.all.keys()][i] ?? null;
  }
  getItem(key: string): string | null {
    return this.all.get(key) ?? null;
  }
  setItem(key: string, text: string): void {
    this.all.set(key, text);
  }
  removeItem(key: string): void {
    this.all.delete(key);
  }
}

const browser = new Store();
let heard: (event: object) => void = () => undefined;
Object.assign(globalThis, {
  localStorage: browser,
  sessionStorage: new Store(),
  addEventListener: (_: string, one: (event: object) => void) => (heard = one),
});
const { answersOf, begunSketches, bringBack, setAnswer, sketchKept, throwAway, thrownSketch } = await import('../../src/state/begun');
const { draft, startDrafts } = await import('../../src/state/drafts');
startDrafts();

/** What another tab does. */
function elsewhere(key: string, value: unknown): void {
  const text = value === undefined ? null : JSON.stringify(value);
  if (text === null) browser.removeItem(`draft:${key}`);
  else browser.setItem(`draft:${key}`, text);
  heard({ storageArea: browser, key: `draft:${key}`, newValue: text });
}

beforeEach(() => {
  for (const { template } of begunSketches()) sketchKept(template);
});

test('an answer begins a sketch, taking it back ends it', () => {
  setAnswer('feed', 'load', 'E1');
  assert.deepEqual(begunSketches(), [{ template: 'feed', said: 'E1' }]);
  setAnswer('feed', 'load', '');
  assert.deepEqual(begunSketches(), []);
});

test('thrown away, with all that belongs to it; brought back as it was', () => {
  setAnswer('feed', 'load', 'E1');
  const customer = draft('sketch:feed:open:customer', '', 'browser');
  customer.value = 'Meier';
  setAnswer('feed-two', 'load', 'M1');
  throwAway('feed');
  assert.deepEqual(begunSketches().map((one) => one.template), ['feed-two']);
  assert.equal(thrownSketch(), 'feed');
  assert.deepEqual(answersOf('feed').value, {});
  assert.equal(customer.value, '');
  bringBack();
  assert.deepEqual(answersOf('feed').value, { load: 'E1' });
  assert.equal(customer.value, 'Meier');
  assert.equal(thrownSketch(), null);
});

test('what was begun anew is not overwritten by what was thrown away', () => {
  setAnswer('feed', 'load', 'E1');
  throwAway('feed');
  setAnswer('feed', 'load', 'E2');
  assert.equal(thrownSketch(), null);
});

test('two tabs show the same, also of drafts this tab never opened', () => {
  setAnswer('feed', 'load', 'E1');
  elsewhere('sketch:feed', { load: 'E12' });
  assert.deepEqual(answersOf('feed').value, { load: 'E12' });
  elsewhere('sketch:lin-string', { nodes: 'HVAC' });
  assert.deepEqual(begunSketches().map((one) => one.template), ['feed', 'lin-string']);
  throwAway('lin-string');
  assert.equal(browser.getItem('draft:sketch:lin-string'), null);
  elsewhere('sketch:feed', undefined);
  assert.deepEqual(answersOf('feed').value, {});
  assert.deepEqual(begunSketches(), []);
});

test('a draft of the tab stays in the tab', () => {
  draft('book:a:reading', '').value = '4.9';
  assert.equal(browser.getItem('draft:book:a:reading'), null);
});
