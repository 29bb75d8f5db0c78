import assert from 'node:assert/strict';
import { test } from 'node:test';
import { clampSpan, lengthText, momentText, moveSpan, spanAround, ticksOf, wholeSpan, zoomSpan } from '../../src/draw/span';
import { hitAt, layoutOf, stretchesOf, type LanesWish } from '../../src/draw/lanes';
import type { Captured } from '../../src/api/recording';
import { fileIn, linesOfReason, piecesOf, widened } from '../../src/lib/lines';

test('zooming keeps the moment under the finger', () => {
  const before = { from: 20, to: 60 };
  const after = zoomSpan(before, 3, 0.25, 120);
  assert.ok(Math.abs(after.from + 0.25 * (after.to - after.from) - 30) < 1e-9);
  assert.ok(Math.abs(after.to - after.from - 40 / 3) < 1e-9);
});

test('one never gets beside the recording, nor nearer than frames lie apart', () => {
  assert.deepEqual(moveSpan({ from: 100, to: 120 }, 5, 120), { from: 100, to: 120 });
  assert.deepEqual(clampSpan({ from: -50, to: 500 }, 120), wholeSpan(120));
  const near = zoomSpan({ from: 10, to: 11 }, 1e9, 0.5, 120);
  assert.ok(near.to - near.from >= 0.0199 && near.from > 10 && near.to < 11);
  assert.deepEqual(zoomSpan({ from: 10, to: 20 }, 0.01, 0.5, 120), wholeSpan(120));
  const around = spanAround(119, 119.5, 120);
  assert.ok(around.from < 119 && around.to === 120);
});

test('ticks are round, within what is seen, and not too many', () => {
  for (const span of [wholeSpan(120), { from: 3.2, to: 3.9 }, { from: 100, to: 100.04 }, wholeSpan(90000)]) {
    const ticks = ticksOf(span, 8);
    assert.ok(ticks.length >= 2 && ticks.length <= 9, `${ticks.length} ticks`);
    assert.ok(ticks.every((one) => one >= span.from - 1e-6 && one <= span.to + 1e-6));
  }
  assert.deepEqual(ticksOf(wholeSpan(120), 8), [0, 15, 30, 45, 60, 75, 90, 105, 120]);
});

test('moments and lengths as clocks and people say them', () => {
  assert.equal(momentText(12.5, 0.1), '12.5 s');
  assert.equal(momentText(192, 1), '3:12');
  assert.equal(momentText(119.9996, 0.001), '2:00.000');
  assert.equal(momentText(3723.25, 0.01), '1:02:03.25');
  assert.equal(lengthText(0.48), '480 ms');
  assert.equal(lengthText(3.1512), '3.15 s');
  assert.equal(lengthText(119.995), '2 min 0 s');
  assert.equal(lengthText(192.4), '3 min 12 s');
  assert.equal(lengthText(192), '3 min 12 s');
});

test('lines in an entry are found, and only they', () => {
  const shows = 'heard A + B; restarts A + B (9 times: 1322-2038, 4130-4985 ...); hears A from B (24 asked from line 923); returns C (1 time: 5-7); file run (2).log';
  const pieces = piecesOf(shows);
  assert.equal(pieces.map((one) => one.text).join(''), shows);
  assert.deepEqual(pieces.flatMap((one) => one.lines ?? []), ['1322-2038', '4130-4985', '923', '5-7']);
  assert.equal(fileIn('recording on vehicle', shows), 'run (2).log');
  assert.equal(fileIn('recording on vehicle', 'heard A'), undefined);
  assert.equal(fileIn('volts A B', 'file x'), undefined);
  assert.equal(linesOfReason('quiet A + B while C on vehicle', shows), '1322-2038');
  assert.equal(linesOfReason('quiet C on vehicle', shows), '5-7');
  assert.equal(linesOfReason('quiet A on vehicle', shows), undefined);
  assert.equal(linesOfReason('hears A from B', shows), '923');
  assert.equal(linesOfReason('heard A on vehicle', shows), undefined);
  assert.equal(widened('5', 8), '1-13');
  assert.equal(widened('120-131', 20), '100-151');
});

test('a lane is what is left between its silences', () => {
  assert.deepEqual(stretchesOf(0, 10, [[4, 5], [2, 3]]), [[0, 2], [3, 4], [5, 10]]);
  assert.deepEqual(stretchesOf(0, 10, [[2, 10]]), [[0, 2]]);
  assert.deepEqual(stretchesOf(0, 10, [[1, 6], [3, 4]]), [[0, 1], [6, 10]]);
});

const mark = (at_s: number, line: number) => ({ at_s, line });
const sender = (address: number) => ({ channel: 'can0', address, frames: 100, first: mark(0, 1), last: mark(100, 900), messages: [], slots: [1, 1] });
const captured: Captured = {
  recording: { format: 'candump', times: 'absolute', lines: 900, damaged: 0, truncated: false, duration_s: 100, channels: ['can0'] },
  frames: 900,
  stands_out: [],
  senders: [sender(1), sender(2)],
  silences: [{ senders: [{ channel: 'can0', address: 2 }], times: 2, shortest_s: 1, longest_s: 1, events: [10, 50].map((at) => ({ begins: mark(at, 9), quiet: [{ channel: 'can0', address: 2, seconds: 1, before: mark(at, 9), after: mark(at + 1, 20) }], heard: [], too_slow_to_tell: [], ended_together: true, whole_bus: false })) }],
  codes: [],
  load: [{ channel: 'can0', bit_rate: 250000, guessed: true, mean: 0.2, peak: 0.3, slot_s: 50, slots: [0.2, 0.2] }],
};

test('a touch means the nearest silence of the lane, else its sender', () => {
  const wish: LanesWish = { captured, span: wholeSpan(100), width: 678, label: () => '', chosen: null, words: { supply: '', load: '', errors: '' } };
  const layout = layoutOf(captured, 678);
  const x = (seconds: number) => layout.left + (seconds / 100) * layout.plot;
  const y = (row: number) => layout.rows[row]!.y + 10;
  assert.deepEqual(hitAt(wish, layout, { x: x(50.5), y: y(1) }), { kind: 'event', group: 0, event: 1 });
  assert.deepEqual(hitAt(wish, layout, { x: x(10) - 15, y: y(1) }), { kind: 'event', group: 0, event: 0 });
  assert.deepEqual(hitAt(wish, layout, { x: x(50.5), y: y(0) }), { kind: 'sender', key: 'can0 a1' });
  assert.deepEqual(hitAt(wish, layout, { x: x(30), y: y(1) }), { kind: 'sender', key: 'can0 a2' });
  assert.deepEqual(hitAt(wish, layout, { x: 5, y: y(1) }), { kind: 'sender', key: 'can0 a2' });
  const near = { ...wish, span: { from: 9, to: 12 } };
  assert.deepEqual(hitAt(near, layout, { x: layout.left + layout.plot - 2, y: y(1) }), { kind: 'sender', key: 'can0 a2' });
});
