import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Plug } from '../../src/api/board';
import { facesOf, pointOf } from '../../src/lib/names';

const plug = (name: string, more: Partial<Plug>): Plug => ({
  name, sides: [{ name: 'front', place: '' }, { name: 'rear', place: '' }], rows: [['1', '2'], ['3', '4']], inline: true, backprobe: true, pluggable: true, apart: false, unplug_minutes: 1, plug_minutes: 1, ...more,
});
const plugs = [plug('J1', {}), plug('HCU.A', { inline: false })];
const faces = (red: string, black: string) => facesOf({ red: pointOf(red, plugs), black: pointOf(black, plugs) }, plugs).map((one) => `${one.plug.name} ${one.side} ${[...one.marks].join()}`);

test('both probes in one face, two sides in two', () => {
  assert.deepEqual(faces('J1:1@front', 'J1:2@front'), ['J1 front 1,R,2,B']);
  assert.deepEqual(faces('J1:1@front', 'J1:1@rear'), ['J1 front 1,R', 'J1 rear 1,B']);
  assert.deepEqual(faces('HCU.A:3', 'chassis'), ['HCU.A loom 3,R']);
});

test('a side or a cavity that the plug does not have has no face', () => {
  assert.deepEqual(faces('J1:1@middle', 'J1:9@front'), []);
  assert.deepEqual(faces('HCU.A:3@front', 'J1:1'), []);
});
