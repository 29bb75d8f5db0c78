import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Outcome } from '../../src/api/replies';
import { outcomeOf, readingOf, tellsUnit, valueOf } from '../../src/lib/reading';

const outcome = (name: string, more: Partial<Outcome>): Outcome => ({ name, chance: 0.5, suspects: [], ...more });

test('values of readings as typed', () => {
  assert.equal(valueOf('4k7'), 4700);
  assert.equal(valueOf('4.7k'), 4700);
  assert.equal(valueOf('-350m'), -0.35);
  assert.equal(valueOf('2M2'), 2.2e6);
  assert.equal(valueOf('OL'), null);
  assert.equal(valueOf('4.'), null);
});

test('the notations of the command line', () => {
  const read = (text: string, unit: string) => {
    const reading = readingOf(text, unit);
    return reading.is === 'whole' ? reading.value : reading.is;
  };
  for (const [text, value] of [['2R3', 2.3], ['0R5', 0.5], ['R47', 0.47], ['4k7', 4700], ['4.7 kohm', 4700], ['12 ohm', 12], ['4.7kΩ', 4700], ['1e1', 10], ['2M2', 2.2e6], ['2,3', 2.3]] as const) assert.equal(read(text, 'ohm'), value, text);
  for (const [text, value] of [['350mV', 0.35], ['23.8 V', 23.8], ['-12', -12], ['−12', -12], ['3V3', 3.3]] as const) assert.equal(read(text, 'V'), value, text);
  for (const text of ['12 ohm', '4R7', 'OL', '3A']) assert.equal(read(text, 'V'), 'wrong-unit', text);
  for (const text of ['2.3.4', '12x', '2R3x', '12 ohmV', '1 2', '5-3', '4k7k']) assert.equal(read(text, 'ohm'), 'no-number', text);
  for (const text of ['', '-', '2.', '1e', '12 o', '4.7 koh', 'R', '2R3 o']) assert.equal(read(text, 'ohm'), 'begun', text);
  assert.equal(read('OL', 'ohm'), null);
  assert.equal(read('>60M', 'ohm'), null);
});

test('the unit is told once', () => {
  for (const text of ['', '23.8', '4k7', '350m', '1e1']) assert.equal(tellsUnit(text), false, text);
  for (const text of ['12 ohm', '350mV', '2R3', '50%', 'OL']) assert.equal(tellsUnit(text), true, text);
});

test('a reading belongs to the outcome from low up to high', () => {
  const low = outcome('about 0 V', { high: 0.5 });
  const middle = outcome('about 3.5 V', { low: 0.5, high: 4.7 });
  const high = outcome('about 5 V', { low: 4.7 });
  const over = outcome('OL', { over_range: true });
  const all = [low, middle, high, over];
  assert.equal(outcomeOf('0.49', all), low);
  assert.equal(outcomeOf('0.5', all), middle);
  assert.equal(outcomeOf('4.95', all), high);
  assert.equal(outcomeOf('-3', all), low);
  assert.equal(outcomeOf('OL', all), over);
  assert.equal(outcomeOf('', all), null);
});
