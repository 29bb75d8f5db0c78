import assert from 'node:assert/strict';
import { test } from 'node:test';
import { following, guesses, pathText } from '../../src/lib/path';

test('the next name of its kind', () => {
  assert.equal(following('J4'), 'J5');
  assert.equal(following('12'), '13');
  assert.equal(following('A9'), 'A10');
  assert.equal(following('G'), 'G2');
});

test('the way back takes the same plugs, one cavity further', () => {
  const paths = [{ hops: ['ECU.A:7', 'J2:5', 'J5:2', 'B1'] }, { hops: [] as string[] }];
  assert.equal(guesses(paths)[0], 'B1');
  paths[1]!.hops.push('B1');
  assert.equal(guesses(paths)[0], 'J5:3');
  paths[1]!.hops.push('J5:3');
  assert.equal(guesses(paths)[0], 'J2:6');
  paths[1]!.hops.push('J2:6');
  assert.equal(guesses(paths)[0], 'ECU.A:8');
});

test('a feed is guessed from fuse to ground by Enter alone', () => {
  const paths = [{ hops: [] as string[] }];
  const taken: string[] = [];
  for (let i = 0; i < 4; ++i) {
    const [first] = guesses(paths);
    if (first === undefined) break;
    taken.push(first);
    paths[0]!.hops.push(first);
  }
  assert.deepEqual(taken, ['F1', 'S1', 'J1:1', 'E1 (lamp)']);
  assert.deepEqual(guesses(paths), []);
});

test('a new name is one that is not taken', () => {
  assert.ok(!guesses([{ hops: ['F1', 'S1', 'J1:1'] }, { hops: [] }]).includes('F1'));
});

test('paths of one hop say nothing yet', () => {
  assert.equal(pathText([{ hops: ['F1', 'E1'] }, { hops: ['E1'] }]), 'F1 -> E1');
});
