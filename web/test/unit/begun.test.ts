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
const { answersOf, begunSketches, bringBack, freshName, setAnswer, sketchKept, throwAway, thrownSketch } = await import('../../src/state/begun');
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
  for (const { name } of begunSketches()) sketchKept(name);
});

test('an answer begins a sketch, taking it back ends it', () => {
  setAnswer('feed.1', 'load', 'E1');
  assert.deepEqual(begunSketches(), [{ name: 'feed.1', template: 'feed', said: 'E1' }]);
  setAnswer('feed.1', 'load', '');
  assert.deepEqual(begunSketches(), []);
});

test('two of one template do not meet, however fast they are begun; the newest first', async () => {
  const names = [freshName('feed')];
  while (names.length < 3) {
    await new Promise((done) => setTimeout(done, 2));
    names.push(freshName('feed'));
  }
  for (const [i, name] of names.entries()) setAnswer(name, 'load', `E${i}`);
  assert.deepEqual(begunSketches().map((one) => one.said), ['E2', 'E1', 'E0']);
  throwAway(names[1]!);
  assert.deepEqual(begunSketches().map((one) => one.said), ['E2', 'E0']);
  assert.ok(new Set(Array.from({ length: 8 }, () => freshName('feed'))).size > 4);
});

test('thrown away, with all that belongs to it; brought back as it was', () => {
  setAnswer('feed.1', 'load', 'E1');
  const customer = draft('sketch:feed.1:open:customer', '', 'browser');
  customer.value = 'Meier';
  setAnswer('feed.12', 'load', 'M1');
  throwAway('feed.1');
  assert.deepEqual(begunSketches().map((one) => one.name), ['feed.12']);
  assert.equal(thrownSketch(), 'feed.1');
  assert.deepEqual(answersOf('feed.1').value, {});
  assert.equal(customer.value, '');
  bringBack();
  assert.deepEqual(answersOf('feed.1').value, { load: 'E1' });
  assert.equal(customer.value, 'Meier');
  assert.equal(thrownSketch(), null);
});

test('what was begun anew is not overwritten by what was thrown away', () => {
  setAnswer('feed.1', 'load', 'E1');
  throwAway('feed.1');
  setAnswer('feed.1', 'load', 'E2');
  assert.equal(thrownSketch(), null);
});

test('two tabs show the same, also of drafts this tab never opened', () => {
  setAnswer('feed.1', 'load', 'E1');
  elsewhere('sketch:feed.1', { load: 'E12' });
  assert.deepEqual(answersOf('feed.1').value, { load: 'E12' });
  elsewhere('sketch:lin-string.1', { nodes: 'HVAC' });
  assert.deepEqual(begunSketches().map((one) => one.template), ['feed', 'lin-string']);
  throwAway('lin-string.1');
  assert.equal(browser.getItem('draft:sketch:lin-string.1'), null);
  elsewhere('sketch:feed.1', undefined);
  assert.deepEqual(answersOf('feed.1').value, {});
  assert.deepEqual(begunSketches(), []);
});

test('one that was begun when a template had one sketch only is still there', () => {
  elsewhere('sketch:feed', { load: 'E1' });
  assert.deepEqual(begunSketches(), [{ name: 'feed', template: 'feed', said: 'E1' }]);
});

test('a draft of the tab stays in the tab', () => {
  draft('book:a:reading', '').value = '4.9';
  assert.equal(browser.getItem('draft:book:a:reading'), null);
});
