import assert from 'node:assert/strict';
import { test } from 'node:test';
import { hopsOf, wholePaths, withHop, withNewPath, withoutLast } from '../../src/lib/path';

test('hops are cut where the program cuts them', () => {
  assert.deepEqual(hopsOf('F1 -> S1 -[RD 1mm2 2m]-> J4:3 > E1 (lamp 21W), G1 - chassis; E1'), [['F1', 'S1', 'J4:3', 'E1 (lamp 21W)', 'G1', 'chassis'], ['E1']]);
  assert.deepEqual(hopsOf(''), [[]]);
  assert.deepEqual(hopsOf('F1 -> E1;'), [['F1', 'E1'], []]);
});

test('hop by hop a text comes about that reads as it was typed', () => {
  let text = withHop('', 'F1');
  text = withHop(text, 'S1 -[RD 1mm2]-');
  assert.equal(text, 'F1 -> S1 -[RD 1mm2]->');
  text = withHop(text, 'E1 ');
  assert.equal(text, 'F1 -> S1 -[RD 1mm2]-> E1');
  assert.equal(withHop(text, '  '), text);
  text = withHop(withNewPath(text), 'E1');
  assert.equal(text, 'F1 -> S1 -[RD 1mm2]-> E1; E1');
  assert.deepEqual(hopsOf(text), [['F1', 'S1', 'E1'], ['E1']]);
});

test('taking back undoes hop after hop, then the path that was begun', () => {
  const steps = [];
  for (let text = 'F1 -> S1 -[RD]-> E1; E1 ->'; ; text = withoutLast(text)) {
    steps.push(text);
    if (text === '') break;
    assert.ok(steps.length < 12);
  }
  assert.deepEqual(steps, ['F1 -> S1 -[RD]-> E1; E1 ->', 'F1 -> S1 -[RD]-> E1;', 'F1 -> S1 -[RD]-> E1', 'F1 -> S1', 'F1', '']);
});

test('a new path once only, and not before the first', () => {
  assert.equal(withNewPath('F1 -> E1 ->'), 'F1 -> E1;');
  assert.equal(withNewPath('F1 -> E1;'), 'F1 -> E1;');
  assert.equal(withNewPath(''), '');
});

test('paths of one hop say nothing yet', () => {
  assert.equal(wholePaths('F1 -> E1; E1'), 'F1 -> E1');
  assert.equal(wholePaths('F1 -> E1; E1 -> G1 ->'), 'F1 -> E1; E1 -> G1');
});
