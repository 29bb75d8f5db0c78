import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Choices } from '../../src/api/board';
import { actsFor, shapeOf } from '../../src/lib/test_words';
import { facesOf, pointOf } from '../../src/lib/names';

const plug = (name: string, inline: boolean) => ({
  name,
  inline,
  sides: inline ? [{ name: 'cab', place: 'bulkhead' }, { name: 'chassis', place: 'frame' }] : [{ name: 'loom', place: 'cab' }, { name: 'unit', place: 'cab' }],
  rows: [['1', '2', '3'], ['4', '5', '6']],
  backprobe: true,
  pluggable: true,
  apart: false,
  unplug_minutes: 1,
  plug_minutes: 1,
});
const choices = {
  lives: [{ name: 'oil-temperature', module: 'HCU', unit: 'degC' }],
  looks: [{ name: 'L1', kind: 'lamp', lamp: true }, { name: 'M1', kind: 'motor', lamp: false }],
  plugs: [plug('J4', true), plug('HCU.A', false)],
  setups: [],
} as unknown as Choices;
const parked = { made: [], unplugged: [], fitted: [], swapped: [] };

test('what a test is answered with', () => {
  assert.deepEqual(shapeOf('ohms A B', choices), { kind: 'number', unit: 'ohm' });
  assert.deepEqual(shapeOf('code SPN 1 FMI 2', choices), { kind: 'words', words: ['active', 'past', 'absent'] });
  assert.deepEqual(shapeOf('look L1', choices), { kind: 'words', words: ['bright', 'dim', 'dark'] });
  assert.deepEqual(shapeOf('look M1', choices), { kind: 'words', words: ['works', 'weak', 'dead'] });
  assert.equal((shapeOf('live oil-temperature', choices) as { unit: string }).unit, 'degC');
});

test('before a row of the proof: put back what is apart, make what it needs', () => {
  const left = [
    { act: 'unplug J4', undo: 'plug J4', minutes: 1, caution: '' },
    { act: 'body-raised', undo: 'undo body-raised', minutes: 4, caution: '' },
  ];
  assert.deepEqual(actsFor({ ...parked, made: ['key-on'] }, { ...parked, unplugged: ['J4'] }, left), ['plug J4', 'key-on']);
  assert.deepEqual(actsFor({ ...parked, unplugged: ['J4'] }, { ...parked, unplugged: ['J4'] }, left), []);
});

test('a point taken apart: connector, cavity, side, place', () => {
  assert.deepEqual(pointOf('J4:5@chassis', choices.plugs), { point: 'J4:5@chassis', connector: 'J4', cavity: '5', side: 'chassis', place: 'frame' });
  assert.deepEqual(pointOf('HCU.A:2', choices.plugs), { point: 'HCU.A:2', connector: 'HCU.A', cavity: '2', side: 'loom', place: 'cab' });
  assert.deepEqual(pointOf('chassis', choices.plugs), { point: 'chassis' });
  assert.deepEqual(pointOf('BAT:+@battery.1', choices.plugs), { point: 'BAT:+@battery.1', lug_of: 'battery.1' });
});

test('two probes in one face share it', () => {
  const faces = facesOf({ red: pointOf('J4:5@cab', choices.plugs), black: pointOf('J4:6@cab', choices.plugs) }, choices.plugs);
  assert.equal(faces.length, 1);
  assert.deepEqual([...faces[0]!.marks], [['5', 'R'], ['6', 'B']]);
  assert.equal(facesOf({ red: pointOf('J4:5@cab', choices.plugs), black: pointOf('J4:5@chassis', choices.plugs) }, choices.plugs).length, 2);
});
