// A path typed on the page: the program guesses, nothing typed gets lost on the way, however slow it answers.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { ask, laptop, launch, openPage } from './browser.mjs';
import { Server } from './server.mjs';

let server, browser;
before(async () => {
  server = await Server.start();
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

async function openPath() {
  const page = await openPage(browser, server, laptop);
  await page.goto(`${server.base}/#/sketch/path`);
  await page.waitForSelector('#path-hop:focus');
  return page;
}
const hops = (page) => page.locator('.paths li').evaluateAll((all) => all.map((path) => [...path.querySelectorAll('.hop:not(.next)')].map((hop) => hop.textContent)));
const becomes = (page, wanted) => page.waitForFunction((text) => JSON.stringify([...document.querySelectorAll('.paths li')].map((path) => [...path.querySelectorAll('.hop:not(.next)')].map((hop) => hop.textContent))) === text, JSON.stringify(wanted), { timeout: 10000 });

test('Enter upon Enter, faster than the program answers: a whole circuit, by its guesses', async () => {
  const page = await openPath();
  await page.context().route('**/api/guess', async (route) => {
    await new Promise((done) => setTimeout(done, 150));
    await route.continue();
  });
  for (let turn = 0; turn < 6; ++turn) await page.keyboard.press('Enter');
  await becomes(page, [['F1', 'J1:1', 'J2:1', 'E1', 'G1', 'chassis']]);
  // It has come to its end: Enter begins another path.
  await page.waitForFunction(() => document.querySelector('.hop.next').textContent === 'end');
  await page.keyboard.press('Enter');
  await becomes(page, [['F1', 'J1:1', 'J2:1', 'E1', 'G1', 'chassis'], []]);
  assert.deepEqual(page.trouble, []);
  await page.context().close();
});

test('what is typed while a guess is on its way comes behind it', async () => {
  const page = await openPath();
  await page.context().route('**/api/guess', async (route) => {
    await new Promise((done) => setTimeout(done, 400));
    await route.continue();
  });
  await page.keyboard.press('Enter');
  await page.keyboard.type('K7');
  await page.keyboard.press('Enter');
  await page.keyboard.press('Enter');
  await page.keyboard.type('E9 (lamp)');
  await page.keyboard.press(';');
  await page.keyboard.type('E9');
  await page.keyboard.press('Enter');
  await becomes(page, [['F1', 'K7', 'J1:1', 'E9 (lamp)'], ['E9']]);
  for (let turn = 0; turn < 3; ++turn) await page.keyboard.press('Backspace');
  await becomes(page, [['F1', 'K7', 'J1:1']]);
  await page.context().close();
});

test('the guesses are those of the program, half a name too; a half-typed hop is not lost by leaving the field', async () => {
  const page = await openPath();
  await page.keyboard.type('HCU:7>J2:5>J5:2>B12;HCU:8>J');
  const path = 'HCU:7 -> J2:5 -> J5:2 -> B12; HCU:8 -> J';
  const wanted = await page.evaluate(async (text) => {
    const response = await fetch('/api/guess', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ path: text }) });
    return (await response.json()).result.guesses.map((one) => one.hop);
  }, path);
  assert.ok(wanted.length > 1);
  await page.waitForFunction((list) => JSON.stringify([...document.querySelectorAll('.path-field [data-said]')].map((one) => one.dataset.said)) === list, JSON.stringify(wanted), { timeout: 10000 });
  await page.locator(`.path-field [data-said="${wanted[0]}"]`).click();
  await becomes(page, [['HCU:7', 'J2:5', 'J5:2', 'B12'], ['HCU:8', wanted[0]]]);
  await page.keyboard.type('J5:3');
  await page.locator('#complaint').focus();
  await becomes(page, [['HCU:7', 'J2:5', 'J5:2', 'B12'], ['HCU:8', wanted[0], 'J5:3']]);
  assert.equal((await hops(page)).length, 2);
  await page.context().close();
});

const begunFeed = '[id^="begun-feed"]';

test('a sketch that was begun: on no shelf, alike in two tabs, there after a reload, thrown away and brought back', async () => {
  const one = await openPage(browser, server, laptop);
  await one.goto(`${server.base}/#/sketch/feed`);
  await one.fill('#ask-load', 'beacon');
  await one.waitForSelector('.sketch-picture img', { timeout: 30000 });
  assert.deepEqual((await ask(one, 'shelf', { do: 'list' })).result.looms, []);
  await one.reload();
  await one.waitForFunction(() => document.querySelector('#ask-load')?.value === 'beacon');
  // The second tab shows it on the start view and in the form; what one types the other shows.
  const two = await one.context().newPage();
  await two.goto(`${server.base}/#/`);
  await two.waitForSelector(begunFeed);
  await two.locator(begunFeed).click();
  await two.waitForFunction(() => document.querySelector('#ask-load')?.value === 'beacon');
  await two.fill('#ask-load', 'work lamp');
  await one.waitForFunction(() => document.querySelector('#ask-load')?.value === 'work lamp');
  // Thrown away in one: gone in both; undo is where the hand is.
  await two.locator('[data-said="throw away"]').click();
  await two.waitForSelector('#bring-back:focus');
  await one.waitForFunction(() => document.querySelector('#ask-load')?.value === '');
  await two.goto(`${server.base}/#/`);
  await two.waitForSelector('#bring-back');
  assert.equal(await two.locator(begunFeed).count(), 0);
  await two.locator('#bring-back').click();
  await two.waitForSelector(begunFeed);
  await one.waitForFunction(() => document.querySelector('#ask-load')?.value === 'work lamp');
  // A job on it: now it is on the shelf, and no longer begun.
  await one.waitForSelector('.sketch-picture img');
  await one.locator('[data-complaint="0"]').click();
  await one.waitForSelector('#card-title', { timeout: 60000 });
  assert.equal((await ask(one, 'shelf', { do: 'list' })).result.looms.length, 1);
  await two.waitForFunction((which) => document.querySelector(which) === null, begunFeed);
  assert.deepEqual(one.trouble, []);
  await one.context().close();
});

test('two sketches from one template at once, in two tabs: each its own, each taken up again from the list', async () => {
  const one = await openPage(browser, server, laptop);
  const two = await one.context().newPage();
  for (const page of [one, two]) {
    await page.goto(`${server.base}/#/sketch`);
    await page.locator('#template-feed').click();
    await page.waitForSelector('#ask-load');
  }
  await one.fill('#ask-load', 'beacon');
  await two.fill('#ask-load', 'horn');
  await one.reload();
  await one.waitForFunction(() => document.querySelector('#ask-load')?.value === 'beacon');
  await two.goto(`${server.base}/#/`);
  await two.waitForFunction((which) => document.querySelectorAll(which).length === 2, begunFeed);
  await two.locator(begunFeed, { hasText: 'horn' }).click();
  await two.waitForFunction(() => document.querySelector('#ask-load')?.value === 'horn');
  // Thrown away is the one that was meant.
  await two.locator('.sketch-form [data-said="throw away"]').click();
  await one.goto(`${server.base}/#/sketch`);
  await one.waitForFunction((which) => document.querySelectorAll(which).length === 1, begunFeed);
  assert.match(await one.locator(begunFeed).textContent(), /beacon/);
  // A new one from the template is empty.
  await one.locator('#template-feed').click();
  await one.waitForFunction(() => document.querySelector('#ask-load')?.value === '');
  assert.deepEqual(one.trouble, []);
  await one.context().close();
});

test('the trial sketch that an older page left on the shelf is none of the looms', async () => {
  const page = await openPage(browser, server, laptop);
  const { readFileSync } = await import('node:fs');
  const text = readFileSync(new URL('../../../examples/gritter/gritter.loom.toml', import.meta.url), 'utf8');
  for (const name of ['sketch-in-progress', 'mine']) assert.ok((await ask(page, 'shelf', { do: 'put', what: name, text })).ok);
  await page.goto(`${server.base}/#/`);
  await page.reload();
  await page.waitForSelector('#loom-shelf-mine');
  assert.equal(await page.locator('#loom-shelf-sketch-in-progress').count(), 0);
  await page.context().close();
});
