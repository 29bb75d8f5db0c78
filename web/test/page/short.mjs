// The short part: one demo job by thumb at 390 px from the start view to the printed sheet, and the page's first paint.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { launch, openPage, phone, Thumb } from './browser.mjs';
import { closeAndPrint, demos, loomOf, openDemo, playToProof, sayKnown } from './play.mjs';
import { Server, Vehicle } from './server.mjs';

let server, browser;
before(async () => {
  server = await Server.start();
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

test('the gritter by thumb, from nothing to the printed sheet', async (t) => {
  const demo = demos[0];
  const page = await openPage(browser, server, phone);
  const person = new Thumb(page);
  const vehicle = new Vehicle(loomOf(demo.name), demo.fault, demo.severity);
  t.after(() => vehicle.stop());
  await openDemo(page, person, demo);
  const toFirst = person.count;
  await sayKnown(page, person, demo, vehicle);
  assert.ok(toFirst <= 40, `first next-test after ${toFirst}`);
  await playToProof(page, person, vehicle);
  console.log(`gritter by thumb: first next-test after ${toFirst}, proof after ${person.count - toFirst} more`);
  assert.ok(person.count - toFirst <= 40, `proof after ${person.count - toFirst} more`);
  await closeAndPrint(page, person);
  assert.deepEqual(page.trouble, []);
});

test('first paint', async () => {
  const page = await openPage(browser, server, phone);
  const times = [];
  for (let turn = 0; turn < 5; ++turn) {
    await page.reload();
    await page.waitForSelector('.start-do');
    times.push(await page.evaluate(() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? Infinity));
  }
  times.sort((a, b) => a - b);
  console.log(`first contentful paint: median ${times[2].toFixed(0)} ms`);
  assert.ok(times[0] < 2000, `first paint after ${times[0]} ms`);
});
