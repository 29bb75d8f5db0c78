import assert from 'node:assert/strict';
import { beforeEach, test } from 'node:test';
import type { Guessed, Reply } from '../../src/api/replies';
import { afterEnter, askGuessesOf, guess, knownGuess } from '../../src/state/guess';

const list = ['F1', 'J1:1', 'E1', 'chassis'];
let asked: string[] = [];
let silent = false;

/** Guesses down the list; the last one ends the path. */
function program(path: string): Reply<Guessed> {
  asked.push(path);
  if (silent) return { ok: false, exit_code: 4, result: {} as Guessed, diagnostics: [] };
  const hops = path === '' ? 0 : path.split(' -> ').length;
  const hop = list[hops];
  const guesses = hop ? [{ hop, append: (hops > 0 ? ' -> ' : '') + hop, kind: '', because: '' }] : [];
  return { ok: true, exit_code: 0, result: { path, ends: !hop, guesses }, diagnostics: [] };
}

beforeEach(() => {
  asked = [];
  silent = false;
  askGuessesOf((_, { path }) => Promise.resolve(program(path)));
});

test('behind each answer the next is there before anybody asks', async () => {
  let text = '';
  for (let turn = 0; turn < 4; ++turn) {
    const answer = await guess(text);
    text = afterEnter(answer) ?? '';
    await Promise.resolve();
    assert.notEqual(knownGuess(text), undefined, text);
  }
  assert.equal(text, 'F1 -> J1:1 -> E1 -> chassis');
  assert.equal(afterEnter(await guess(text)), `${text};`);
  assert.equal(new Set(asked).size, asked.length, 'nothing is asked twice');
});

test('asked at once, a question goes out once', async () => {
  await Promise.all([guess('F1'), guess('F1')]);
  assert.equal(asked.filter((one) => one === 'F1').length, 1);
});

test('a program that is silent guesses nothing, and is asked again', async () => {
  silent = true;
  assert.deepEqual((await guess('F1')).guesses, []);
  assert.equal(knownGuess('F1'), undefined);
  silent = false;
  assert.equal((await guess('F1')).guesses[0]!.hop, 'J1:1');
});
