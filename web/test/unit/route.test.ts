import assert from 'node:assert/strict';
import { test } from 'node:test';
import { jobTabs, readRoute, writeRoute, type Route } from '../../src/lib/route';

test('every address leads back to where it came from', () => {
  const routes: Route[] = [
    { view: 'start' },
    { view: 'sketch' },
    { view: 'sketch', template: 'can-backbone' },
    { view: 'sketch', template: 'can-backbone', begun: 'can-backbone.m2x8q1ab' },
    { view: 'open', loom: 'shelf:Führerhaus/2 %' },
    { view: 'settings' },
    { view: 'import' },
    ...jobTabs.map((tab): Route => ({ view: 'job', job: 'book:7', tab })),
  ];
  for (const route of routes) assert.deepEqual(readRoute(writeRoute(route)), route);
});

test('an address nobody wrote leads to the start', () => {
  for (const hash of ['', '#', '#/nowhere', '#/job', '#/%zz']) assert.equal(readRoute(hash).view, 'start', hash);
  assert.deepEqual(readRoute('#/job/book%3A7/nothing'), { view: 'job', job: 'book:7', tab: 'test' });
});
