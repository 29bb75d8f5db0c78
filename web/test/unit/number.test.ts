import assert from 'node:assert/strict';
import { test } from 'node:test';
import { makeNumbers } from '../../src/lib/number';

test('nothing is certain: never 0 % and never 100 %', () => {
  const { percent } = makeNumbers('en-GB');
  assert.equal(percent(0), '<1\u00a0%');
  assert.equal(percent(1), '>99\u00a0%');
  assert.equal(percent(0.274), '27\u00a0%');
});

test('minutes as one says them', () => {
  assert.equal(makeNumbers('en-GB').minutes(1.3), '1.3 min');
  assert.equal(makeNumbers('de-DE').minutes(1.3), '1,3 min');
  assert.equal(makeNumbers('en-GB').minutes(64.2), '1 h 4 min');
  assert.equal(makeNumbers('en-GB').minutes(59.7), '1 h 0 min');
});
