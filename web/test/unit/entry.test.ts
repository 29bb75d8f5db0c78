import assert from 'node:assert/strict';
import { test } from 'node:test';
import { begins, isWhole, press, spoken, typed as typedKey, type Key } from '../../src/lib/entry';

const typed = (...keys: Key[]): string => keys.reduce((text, key) => press(text, key), '');

test('digits and one point make a reading', () => {
  assert.equal(typed('4', 'point', '9', '5'), '4.95');
  assert.equal(typed('point', '5'), '0.5');
  assert.equal(typed('1', 'point', '2', 'point', '3'), '1.23');
});

test('a prefix may stand for the point, and only one stands', () => {
  assert.equal(typed('4', 'kilo', '7'), '4k7');
  assert.equal(typed('1', '2', 'kilo', 'mega'), '12M');
  assert.equal(typed('1', '2', 'kilo', 'kilo'), '12');
  assert.equal(typed('kilo', '4'), '4');
  assert.equal(typed('4', 'point', '7', 'kilo', '2'), '4.7k');
});

test('OL stands alone and goes at the next digit', () => {
  assert.equal(typed('4', 'over'), 'OL');
  assert.equal(typed('over', 'back'), '');
  assert.equal(typed('over', '1'), '1');
});

test('minus turns the sign round', () => {
  assert.equal(typed('1', 'minus'), '-1');
  assert.equal(typed('1', 'minus', 'minus'), '1');
  assert.equal(typed('minus', 'point', '2'), '-0.2');
});

test('nothing typed is taken for a reading before it is whole', () => {
  for (const text of ['', '-', '0.', '4k7k', 'k', '1.2.3', '-.', 'O', '2-3', '1e', '12 oh', '4x']) assert.equal(isWhole(text), false, text);
  for (const text of ['0', '-0.2', '4k7', '4.7k', 'OL', '350m', '12M']) assert.equal(isWhole(text), true, text);
});

test('milli is said with its unit: a bare m would be metres', () => {
  assert.equal(spoken('350m', 'V'), '350mV');
  assert.equal(spoken('3m5', 'A'), '3.5mA');
  assert.equal(spoken('20m', 'ohm'), '20mohm');
  assert.equal(spoken('4k7', 'ohm'), '4k7');
  assert.equal(spoken('OL', 'ohm'), 'OL');
});

/** As somebody types it at the keyboard, key by key. */
const atKeyboard = (...keys: string[]): string => keys.reduce((text, key) => typedKey(text, key), '');

test('at the keyboard every character of a reading that is begun goes into it', () => {
  for (const text of ['2R3', '0R5', '2.3.4', '12 ohm', '1e1', '4k7', '350mV', '-0.2', '2,36']) assert.equal(atKeyboard(...text), text);
  assert.equal(atKeyboard('1', '2', 'Backspace', '3'), '13');
  assert.equal(atKeyboard('1', '2', 'Escape'), '');
  assert.equal(atKeyboard('o'), 'OL');
  assert.equal(atKeyboard('O', 'L'), 'OL');
  assert.equal(atKeyboard('o', '5'), '5');
  assert.equal(atKeyboard(...'9'.repeat(40)).length, 24);
});

test('letters that are shortcuts do not begin a reading', () => {
  for (const key of ['e', 'h', 's', 't', 'u', ' ', 'k', 'm', '?']) assert.equal(begins(key), false, key);
  for (const key of ['0', '.', ',', '-', 'o', 'R']) assert.equal(begins(key), true, key);
});

test('whatever keys are pressed, the text stays one that can become whole', () => {
  const keys: Key[] = ['0', '7', 'point', 'minus', 'back', 'over', 'kilo', 'mega', 'milli'];
  let state = 12345;
  const next = (below: number) => (state = (state * 1103515245 + 12345) & 0x7fffffff) % below;
  for (let turn = 0; turn < 3000; ++turn) {
    let text = '';
    for (let i = 0; i < 8; ++i) text = press(text, keys[next(keys.length)]!);
    assert.ok(text === 'OL' || /^-?(\d+(\.\d*)?[kMm]?|\d+[kMm]\d*)?$/.test(text), text);
  }
});
