import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Outcome } from '../../src/api/replies';
import { outcomeOf, valueOf } from '../../src/lib/reading';

const outcome = (name: string, more: Partial<Outcome>): Outcome => ({ name, chance: 0.5, suspects: [], ...more });

test('values of readings as typed', () => {
  assert.equal(valueOf('4k7'), 4700);
  assert.equal(valueOf('4.7k'), 4700);
  assert.equal(valueOf('-350m'), -0.35);
  assert.equal(valueOf('2M2'), 2.2e6);
  assert.equal(valueOf('OL'), null);
  assert.equal(valueOf('4.'), null);
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
