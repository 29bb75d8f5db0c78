import assert from 'node:assert/strict';
import { test } from 'node:test';
import { clampLook, fit, fitPoints, nearest, stepTo, toDrawing, touches, windowOf, zoomAt } from '../../src/draw/window';

const screen = { width: 400, height: 300 };
const drawing = { width: 2000, height: 1000 };

test('zoom keeps what is under the finger there', () => {
  const look = { x: 900, y: 500, zoom: 1 };
  const at = { x: 320, y: 80 };
  const before = toDrawing(look, screen, at);
  const after = toDrawing(zoomAt(look, 1.7, at, screen, drawing), screen, at);
  assert.ok(Math.abs(before.x - after.x) < 1e-9 && Math.abs(before.y - after.y) < 1e-9);
});

test('one never gets lost beside the drawing', () => {
  const look = clampLook({ x: -500, y: 99999, zoom: 90 }, drawing);
  assert.deepEqual(look, { x: 0, y: 1000, zoom: 4 });
});

test('the points of a test are all on the screen', () => {
  const points = [{ x: 100, y: 100 }, { x: 1700, y: 800 }];
  const look = fitPoints(points, drawing, screen)!;
  for (const point of points) {
    const x = screen.width / 2 + (point.x - look.x) * look.zoom;
    const y = screen.height / 2 + (point.y - look.y) * look.zoom;
    assert.ok(x > 0 && x < screen.width && y > 0 && y < screen.height);
  }
  assert.equal(fitPoints([], drawing, screen), null);
});

test('all of a small drawing is shown', () => {
  const look = fit({ width: 300, height: 200 }, screen);
  assert.deepEqual({ x: look.x, y: look.y }, { x: 150, y: 100 });
});

test('the window holds all that is on the screen, and stays the same for small moves', () => {
  for (let x = 0; x < 2000; x += 7) {
    const look = { x, y: 333, zoom: 0.8 };
    const window = windowOf(look, screen);
    assert.ok(window.x <= x - 250 && window.x + window.width >= x + 250);
  }
  const kept = new Set(Array.from({ length: 50 }, (_, i) => JSON.stringify(windowOf({ x: 800 + i, y: 333, zoom: 0.8 }, screen))));
  assert.ok(kept.size <= 3);
});

test('things touch the window by their edges', () => {
  const window = { x: 0, y: 0, width: 100, height: 100 };
  assert.equal(touches({ x: 90, y: 90, width: 50, height: 1 }, window, 0), true);
  assert.equal(touches({ x: 101, y: 0, width: 5, height: 5 }, window, 0), false);
});

test('a tap means the nearest point within reach', () => {
  const points = [{ x: 0, y: 0 }, { x: 10, y: 0 }];
  assert.equal(nearest(points, { x: 7, y: 1 }, 5), points[1]);
  assert.equal(nearest(points, { x: 50, y: 50 }, 5), null);
});

test('arrows go to the next point that way, and stay where there is none', () => {
  const points = [{ x: 0, y: 0 }, { x: 30, y: 2 }, { x: 20, y: 60 }];
  assert.equal(stepTo(points, points[0]!, 1, 0), points[1]);
  assert.equal(stepTo(points, points[0]!, 0, 1), points[2]);
  assert.equal(stepTo(points, points[0]!, -1, 0), points[0]);
});
