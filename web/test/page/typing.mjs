// What is typed at the keyboard: a reading takes every key once it is begun; a single key never enters evidence.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { ask, laptop, launch, openPage } from './browser.mjs';
import { caughtUp, look, settled } from './play.mjs';
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

/** A job on the gritter whose next test wants volts. */
async function openReadings() {
  const page = await openPage(browser, server, laptop);
  await page.goto(`${server.base}/#/open/demo%3Agritter`);
  await page.locator('.choice .button').first().click();
  await page.waitForSelector('#card-title');
  const job = decodeURIComponent(new URL(page.url()).hash.split('/')[2]);
  await ask(page, 'saw', { job, what: 'code SPN 520210 FMI 3', shows: 'active' });
  await caughtUp(page, 2);
  await page.waitForSelector('.pad-value');
  return { page, job };
}

const value = async (page) => (await page.locator('.pad-value').textContent()).trim();

test('a reading that is begun takes every key; what is no number is refused with a word and not entered', async () => {
  const { page } = await openReadings();
  const { length } = (await look(page)).job.entries;
  for (const [typed, shown, word] of [
    ['2.3.4', '2.3.4 V', /No number/],
    ['12 ohm', '12 ohm', /Not in V/],
    ['4x', '4x', /No number/],
    ['1e', '1e', /No number/],
  ]) {
    await page.keyboard.type(typed);
    await page.keyboard.press('Enter');
    assert.equal(await value(page), shown);
    assert.match(await page.locator('.pad-meaning').textContent(), word, typed);
    assert.match(page.url(), /#\/job\/[^/]*$/, `${typed} leads nowhere`);
    await page.keyboard.press('Escape');
  }
  await settled(page);
  assert.equal((await look(page)).job.entries.length, length);
  // Notations of the command line.
  await page.keyboard.type('1e1');
  assert.equal(await page.locator('.pad-meaning .error').count(), 0);
  await page.keyboard.press('Escape');
  await page.keyboard.type('4950 mV');
  await page.keyboard.press('Enter');
  await caughtUp(page, length + 1);
  assert.equal((await look(page)).job.entries.at(-1).shows, '4950 mV');
  assert.deepEqual(page.trouble, []);
  await page.context().close();
});

test('ohms by their marks', async () => {
  const { page } = await openReadings();
  await page.goto(`${page.url()}/other`);
  const hash = new URL(page.url()).hash;
  await ask(page, 'did', { job: decodeURIComponent(hash.split('/')[2]), what: 'undo key-on' });
  await settled(page);
  await page.getByRole('button', { name: 'Measured', exact: true }).click();
  await page.getByRole('button', { name: 'meter, ohms' }).click();
  await page.locator('#other-red').fill('J2:5@chassis');
  await page.locator('#other-black').fill('J2:6@chassis');
  await page.locator('#other-black').blur();
  const { length } = (await look(page)).job.entries;
  await page.waitForSelector('.pad-keys, .pad .lock');
  for (let turn = 0; turn < 5 && (await page.locator('.pad .lock').count()) > 0; ++turn) {
    await page.locator('.pad .lock').click();
    await page.waitForTimeout(150);
  }
  await page.keyboard.type('2R3');
  assert.equal(await value(page), '2R3');
  await page.keyboard.press('Enter');
  await caughtUp(page, length + 1);
  assert.equal((await look(page)).job.entries.at(-1).shows, '2R3');
  await page.context().close();
});

test('after a jump one key enters nothing: it marks or goes to the button, and Enter presses that', async () => {
  const page = await openPage(browser, server, laptop);
  await page.goto(`${server.base}/#/open/demo%3Arefuse-truck`);
  await page.locator('.choice .button').first().click();
  await page.waitForSelector('#card-title', { timeout: 60000 });
  await settled(page);
  const { length } = (await look(page)).job.entries;
  await page.evaluate(() => document.activeElement?.blur());
  await page.keyboard.press('e');
  await page.waitForSelector('[data-said^="module "]');
  await page.keyboard.press('1');
  await page.waitForTimeout(400);
  assert.equal((await look(page)).job.entries.length, length, 'one key is no evidence');
  const said = await page.locator('[data-said$=" silent"][aria-pressed="true"]').getAttribute('data-said');
  assert.match(said ?? '', /^module \S+ silent$/);
  await page.keyboard.press('l');
  await page.waitForTimeout(400);
  assert.equal((await look(page)).job.entries.length, length, 'nor are two');
  await page.keyboard.press('Enter');
  await caughtUp(page, length + 1);
  const last = (await look(page)).job.entries.at(-1);
  assert.equal(`${last.what} ${last.shows}`, said);
  assert.deepEqual(page.trouble, []);
  await page.context().close();
});
