// How fast: from a tap to the redrawn drawing, at about 300 and 3,000 parts, in Chromium; median of many. Beside it the
// program's share (its requests) and the memory of the page. Needs the target fleet_loom, which writes large looms.
//   TURNS=3 PATIENCE=90 node test/page/speed.mjs   prints them; as a test of `npm run test:long` it also holds the page's share.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { loadavg } from 'node:os';
import path from 'node:path';
import { after, before, test } from 'node:test';
import { ask, laptop, launch, openPage } from './browser.mjs';
import { root, Server } from './server.mjs';

const fleet = process.env.FLEET_LOOM ?? path.join(root, 'build/dev/fleet_loom');
const turns = Number(process.env.TURNS ?? 9);
const sizes = [
  { name: '300 parts', nodes: Number(process.env.NODES_SMALL ?? 500), most: 100 },
  { name: '3,000 parts', nodes: Number(process.env.NODES_LARGE ?? 5000), most: 300 },
];

let server, browser;
before(async () => {
  server = await Server.start();
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

const patience = Number(process.env.PATIENCE ?? 90) * 1000; // for what the program thinks about

async function heapOf(page) {
  const cdp = await page.context().newCDPSession(page);
  await cdp.send('HeapProfiler.collectGarbage');
  await cdp.send('Performance.enable');
  const { metrics } = await cdp.send('Performance.getMetrics');
  return metrics.find((one) => one.name === 'JSHeapUsedSize').value / 1e6;
}

/** What follows from the newest entry stands there; the next test may still be worked out, which takes minutes on a whole vehicle. */
async function stands(page) {
  await page.waitForSelector('.canvas svg .thing', { timeout: 120000 });
  await page.waitForFunction(() => document.querySelector('.taking p') === null, null, { timeout: 120000 });
  await page.waitForTimeout(300);
}

const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];

/**
 * Does `act`; ms from its pointer going down until the frame is drawn that shows it is being entered, that it is in the
 * book, and all that follows from it; and of the last the ms in which the program was asked. What does not come within
 * `patience` is Infinity.
 */
async function measure(page, act, last = 'drawn', patience = 120000) {
  await page.evaluate(
    ([wanted, most]) => {
      for (const name of ['entering', 'entered', 'drawn']) performance.clearMarks(name);
      performance.clearResourceTimings();
      window.began = 0;
      addEventListener('pointerdown', () => (window.began = performance.now()), { once: true, capture: true });
      window.shown = new Promise((done) => {
        const given = performance.now() + most;
        const times = {};
        const look = () => {
          for (const name of ['entering', 'entered', 'drawn']) {
            const mark = window.began > 0 && !(name in times) && performance.getEntriesByName(name).find((one) => one.startTime > window.began);
            if (mark) requestAnimationFrame(() => setTimeout(() => (times[name] ??= performance.now() - window.began), 0));
          }
          if (wanted in times || performance.now() > given) done(times);
          else requestAnimationFrame(look);
        };
        look();
      });
    },
    [last, patience],
  );
  await act();
  return page.evaluate(async () => {
    const times = await window.shown;
    const all = times.drawn ?? Infinity;
    // Requests run side by side: what at least one of them took.
    let program = 0;
    let until = window.began;
    const asked = performance.getEntriesByType('resource').filter((one) => one.name.includes('/api/') && one.startTime >= window.began && one.responseEnd <= window.began + all);
    for (const one of asked.sort((a, b) => a.startTime - b.startTime)) {
      program += Math.max(0, one.responseEnd - Math.max(one.startTime, until));
      until = Math.max(until, one.responseEnd);
    }
    return { entering: times.entering ?? Infinity, entered: times.entered ?? Infinity, all, program };
  });
}

/** Points that are on the screen now, apart from one another, and where. */
async function seenPoints(page, drawing) {
  return page.evaluate(({ boxes, wires }) => {
    const frame = document.querySelector('.canvas-frame').getBoundingClientRect();
    const [, dx, dy, zoom] = /translate\(([-\d.e]+) ([-\d.e]+)\) scale\(([\d.e-]+)\)/.exec(document.querySelector('.canvas svg > g').getAttribute('transform')).map(Number);
    const seen = [];
    for (const point of [...boxes, ...wires].flatMap((one) => one.points ?? [])) {
      const at = { point: point.point, x: frame.x + dx + point.x * zoom, y: frame.y + dy + point.y * zoom };
      const inside = at.x > frame.x + 20 && at.x < frame.right - 20 && at.y > frame.y + 20 && at.y < frame.bottom - 20;
      if (inside && seen.every((one) => Math.hypot(one.x - at.x, one.y - at.y) > 12)) seen.push(at);
    }
    return { things: boxes.length + wires.length, seen };
  }, drawing);
}

for (const size of sizes)
  test(`a tap at ${size.name}`, { skip: existsSync(fleet) ? false : `SKIPPED: no ${fleet}; build the target fleet_loom` }, async () => {
    const text = execFileSync(fleet, [String(size.nodes), '7'], { maxBuffer: 1 << 28, encoding: 'utf8' });
    const page = await openPage(browser, server, laptop);
    const call = (operation, args) => ask(page, operation, args);
    const put = await call('shelf', { do: 'put', what: `fleet-${size.nodes}`, text });
    assert.ok(put.ok, JSON.stringify(put.diagnostics).slice(0, 500));
    const { result } = await call('open', { loom: `shelf:fleet-${size.nodes}`, complaint: 'speed' });
    // To be struck and to count again, entered before the page looks: what it has worked out would be waited for.
    const { result: first } = await call('board', { job: result.job, part: ['choices'] });
    const { entry: code } = (await call('saw', { job: result.job, what: `code ${first.choices.codes[0].name}`, shows: 'active', brief: true })).result;
    await call('undo', { job: result.job, entry: String(code), brief: true });
    const { entry: note } = (await call('note', { job: result.job, what: 'to strike' })).result;
    const { drawing } = (await call('board', { job: result.job, part: ['drawing'] })).result;
    await page.goto(`${server.base}/#/job/${encodeURIComponent(result.job)}/log`);
    await page.waitForSelector('.canvas svg .thing', { timeout: 120000 });
    await stands(page);
    // A tap that only the page answers: a point of the drawing is chosen.
    const { things, seen } = await seenPoints(page, drawing);
    assert.ok(seen.length > 1, `${seen.length} points on the screen`);
    const chosen = [];
    for (let turn = 0; turn < turns; ++turn) {
      const at = seen[(turn * 7) % seen.length === (turn * 7 - 7) % seen.length ? (turn + 1) % seen.length : (turn * 7) % seen.length];
      chosen.push(await measure(page, () => page.mouse.click(at.x, at.y)));
      assert.notEqual((await page.locator('.canvas-foot [role=status]').textContent()).trim(), '');
    }
    const tap = median(chosen.map((one) => one.all));
    console.log(`${size.name} (${things} things on the drawing, ${seen.length} points on the screen), goal ${size.most} ms: choose a point ${tap.toFixed(0)} ms, all of it the page; ${turns} turns, load of the machine ${loadavg()[0].toFixed(1)}`);
    // A tap that changes the job: the newest entry is struck, then counts again.
    const strike = (entry) => page.locator('.log li').filter({ has: page.locator(`.log-n:text-is("${entry}")`) }).locator('.button').click();
    const struck = [];
    for (let turn = 0; turn < turns; ++turn) {
      struck.push(await measure(page, () => strike(note)));
      await stands(page);
    }
    const heap = await heapOf(page);
    const all = median(struck.map((one) => one.all));
    const program = median(struck.map((one) => one.program));
    const entering = median(struck.map((one) => one.entering));
    const entered = median(struck.map((one) => one.entered));
    console.log(`${size.name}, goal ${size.most} ms: strike an entry: seen at once ${entering.toFixed(0)} ms, in the book ${entered.toFixed(0)} ms, all of it ${all.toFixed(0)} ms, of that the program ${program.toFixed(0)} ms, the page ${(all - program).toFixed(0)} ms; heap ${heap.toFixed(0)} MB; ${turns} turns, load of the machine ${loadavg()[0].toFixed(1)}`);
    // The first code on the vehicle: the program thinks, the page does not wait for it.
    const again = await measure(page, () => strike(code), 'drawn', patience);
    console.log(`${size.name}: the first code counts again: seen at once ${again.entering.toFixed(0)} ms, in the book ${again.entered.toFixed(0)} ms, all of it ${again.all === Infinity ? `not within ${patience / 1000} s` : `${again.all.toFixed(0)} ms, of that the program ${again.program.toFixed(0)} ms`}; heap ${(await heapOf(page)).toFixed(0)} MB`);
    assert.ok(tap <= size.most * 5, `choosing a point took ${tap} ms`);
    assert.ok(heap < 150, `${heap} MB`);
    assert.ok(entering < all && entered < all && again.entering < again.all && again.entered < again.all, 'the entry is shown before what follows from it');
    await page.context().close();
  });
