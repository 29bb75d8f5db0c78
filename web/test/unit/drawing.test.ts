import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { VNode } from 'preact';
import type { DrawnThing, Drawing } from '../../src/api/board';
import { drawingOf, findPoint } from '../../src/draw/drawing';
import { weightOf } from '../../src/draw/weight';

const thing = (more: Partial<DrawnThing>): DrawnThing => ({ kind: 'plug', name: 'J1', hint: '', suspicion: 0, x: 0, y: 0, width: 60, height: 40, strokes: [], ...more });
const drawing: Drawing = {
  width: 3000,
  height: 200,
  lanes: [{ name: 'cab', detail: '0.3 min', left: 0, right: 1500 }, { name: 'body', detail: '', left: 1500, right: 3000 }],
  wires: [thing({ kind: 'wire', name: 'w1', x: 60, y: 20, width: 2500, height: 0, strokes: [{ do: 'path', at: [60, 20, 2560, 20], weight: 4.5 }], words: [{ do: 'text', at: [70, 18], text: 'YE 0.5 <b>', size: 9 }] })],
  boxes: [
    thing({ name: 'J1', strokes: [{ do: 'box', at: [0, 0], width: 60, height: 40, weight: 1.2 }], points: [{ point: 'J1:1@cab', x: 0, y: 20 }, { point: 'J1:1@body', x: 60, y: 20 }] }),
    thing({ name: 'J2', x: 2560, strokes: [{ do: 'turned', at: [2570, 20], degrees: 90 }, { do: 'circle', at: [0, 0], radius: 9 }, { do: 'end' }, { do: 'dot', at: [1, 2], radius: 2 }], points: [{ point: 'J2:1', x: 2560, y: 20 }] }),
  ],
};

function flat(node: unknown): VNode<Record<string, unknown>>[] {
  if (Array.isArray(node)) return node.flatMap(flat);
  if (node === null || typeof node !== 'object') return [];
  const one = node as VNode<Record<string, unknown>>;
  return [one, ...flat(one.props?.children)];
}
const ofType = (node: unknown, type: string) => flat(node).filter((one) => one.type === type);
const ofClass = (node: unknown, name: string) => flat(node).filter((one) => String(one.props.class ?? '').split(' ').includes(name));
const all = { drawing, probes: {}, words: true };

test('the same snapshot gives the same tree', () => {
  const print = () => JSON.stringify(flat(drawingOf(all)).map((one) => [one.type, one.key, { ...one.props, children: typeof one.props.children }]));
  assert.equal(print(), print());
});

test('every place is a lane, every stroke is drawn with its weight', () => {
  assert.equal(ofClass(drawingOf(all), 'lane').length, 2);
  assert.deepEqual(ofClass(drawingOf(all), 'ink').map((one) => one.props['stroke-width']), [4.5]);
});

test('suspicion is weight, not colour: no stroke or fill of its own', () => {
  for (const one of flat(drawingOf(all))) {
    assert.equal(one.props.fill, undefined);
    assert.equal(one.props.stroke, undefined);
    assert.equal(one.props.style, undefined);
  }
  assert.equal(weightOf(0), weightOf(0.004));
  assert.ok(weightOf(0.9) > weightOf(0.5) && weightOf(0.5) > weightOf(0.1) && weightOf(0.1) > weightOf(0.01));
});

test('a turned group ends where it ends', () => {
  const groups = ofType(drawingOf(all), 'g').filter((one) => String(one.props.transform ?? '').includes('rotate(90)'));
  assert.equal(groups.length, 1);
  assert.equal(ofType(groups[0], 'circle').length, 1);
});

test('the two probes are lit and told apart by letter', () => {
  const tree = drawingOf({ ...all, probes: { red: 'J1:1@body', black: 'J2:1' } });
  assert.equal(ofClass(tree, 'light').length, 2);
  assert.deepEqual(ofType(ofClass(tree, 'probe'), 'text').map((one) => one.props.children), ['R', 'B']);
  assert.equal(ofClass(drawingOf({ ...all, probes: { red: 'nowhere' } }), 'probe').length, 0);
  assert.deepEqual(findPoint(drawing, 'J2:1'), { point: 'J2:1', x: 2560, y: 20 });
});

test('of two probes in neighbouring cavities the lower one hangs, so that neither covers the other', () => {
  const below = thing({ name: 'J3', x: 1000, points: [{ point: 'J3:1', x: 1000, y: 20 }, { point: 'J3:2', x: 1000, y: 42 }] });
  const both = { ...drawing, boxes: [...drawing.boxes, below] };
  const letters = (red: string, black: string) => {
    const texts = ofType(ofClass(drawingOf({ drawing: both, words: true, probes: { red, black } }), 'probe'), 'text');
    return texts.map((one, i) => Number(one.props.y) > (findPoint(both, i === 0 ? red : black)?.y ?? 0));
  };
  assert.deepEqual(letters('J3:1', 'J3:2'), [false, true]);
  assert.deepEqual(letters('J3:2', 'J3:1'), [true, false]);
  assert.deepEqual(letters('J1:1@body', 'J3:2'), [false, false], 'far apart both stand');
  assert.deepEqual(letters('J3:1', 'J3:1'), [false, false], 'on one point they stand side by side');
});

test('only what is looked at is drawn', () => {
  const left = drawingOf({ ...all, window: { x: 0, y: 0, width: 400, height: 200 } });
  assert.equal(ofClass(left, 'thing').length, 1);
  assert.equal(ofClass(left, 'wire').length, 1);
  assert.equal(ofClass(drawingOf({ ...all, window: { x: 0, y: 5000, width: 400, height: 200 } }), 'thing').length, 0);
});

test('without words there are none', () => {
  assert.equal(ofType(drawingOf({ ...all, words: false }), 'text').length, 0);
});
