// From view to view and screen to screen: each begins at its head; what was mistyped or entered twice is said at once;
// what another screen closed is closed here too; nothing is worded for a command line.
import assert from 'node:assert/strict';
import path from 'node:path';
import { writeFileSync } from 'node:fs';
import { after, before, test } from 'node:test';
import { ask, laptop, launch, openPage, phone } from './browser.mjs';
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

const jobOf = (page) => decodeURIComponent(new URL(page.url()).hash.split('/')[2]);

async function openGritter(device) {
  const page = await openPage(browser, server, device);
  await page.goto(`${server.base}/#/open/demo%3Agritter`);
  await page.locator('.choice .button').first().click();
  await page.waitForSelector('#card-title');
  await ask(page, 'saw', { job: jobOf(page), what: 'code SPN 520210 FMI 3', shows: 'active' });
  await ask(page, 'saw', { job: jobOf(page), what: 'live oil-temperature', shows: '-40' });
  await caughtUp(page, 3);
  await page.waitForSelector('.pad');
  return page;
}

const scrolled = (page) => page.evaluate(() => document.querySelector('.panel-pane').scrollTop);

test('a new test and a new view begin at their head', async () => {
  const page = await openGritter({ ...phone, viewport: { width: 390, height: 640 } });
  const down = () => page.evaluate(() => document.querySelector('.panel-pane').scrollTo(0, 200));
  await down();
  assert.ok((await scrolled(page)) > 100);
  await page.locator('#tab-suspects').tap();
  await page.waitForSelector('.suspects');
  assert.equal(await scrolled(page), 0);
  await down();
  await page.locator('#tab-test').tap();
  await page.waitForSelector('#card-title');
  assert.equal(await scrolled(page), 0);
  await settled(page);
  await down();
  assert.ok((await scrolled(page)) > 100);
  const asked = await page.locator('#card-title').textContent();
  await ask(page, 'skip', { job: jobOf(page) });
  await page.waitForFunction((before) => ![before, undefined].includes(document.querySelector('#card-title')?.textContent), asked);
  await settled(page);
  assert.equal(await scrolled(page), 0);
  await page.context().close();
});

test('a mistyped reading is questioned on the card right after, and can be taken back there', async () => {
  const page = await openGritter(laptop);
  const job = jobOf(page);
  await ask(page, 'saw', { job, what: 'volts J2:5@chassis J2:6@chassis', shows: '4.95' });
  await ask(page, 'saw', { job, what: 'volts HCU.A:7 HCU.A:8', shows: '23.6' });
  await caughtUp(page, 5);
  await page.locator('.doubts').waitFor();
  assert.match(await page.locator('.doubts').textContent(), /23\.6/);
  // Above the card.
  assert.ok(await page.evaluate(() => document.querySelector('.doubts').getBoundingClientRect().bottom <= document.querySelector('.card').getBoundingClientRect().top + 1));
  const { job: { entries } } = await look(page);
  await page.locator(`.doubts [data-said="take back ${entries.at(-1).n}"]`).click();
  await page.waitForFunction(() => document.querySelector('.doubts') === null);
  assert.equal((await look(page)).job.entries.at(-1).struck, true);
  await page.context().close();
});

test('two tabs entered two values for one test: both are shown, one can be taken back', async () => {
  const page = await openGritter(laptop);
  const job = jobOf(page);
  const what = (await look(page)).next.test.what;
  await ask(page, 'saw', { job, what, shows: '4.95' });
  await ask(page, 'saw', { job, what, shows: '3.4' });
  await caughtUp(page, 5);
  await page.locator('.doubts').getByText(/Two values for one test/).waitFor();
  assert.match(await page.locator('.doubts').textContent(), /4\.95.*3\.4/s);
  const { job: { entries } } = await look(page);
  await page.locator(`[data-said="take back ${entries.at(-1).n}"]`).click();
  await page.waitForFunction(() => !/Two values/.test(document.querySelector('.doubts')?.textContent ?? ''));
  await page.context().close();
});

test('what another screen closed is closed here', async () => {
  const page = await openGritter(laptop);
  const other = await page.context().newPage();
  await other.goto(`${page.url()}/proof`);
  await other.waitForSelector('#close-job');
  await page.goto(`${page.url()}/proof`);
  await page.locator('#close-job').click();
  await page.waitForSelector('.paper');
  await other.waitForFunction(() => document.querySelector('#close-job') === null, null, { timeout: 15000 });
  // All are closed: that is no empty book. What a search hides is not missing.
  await page.goto(`${server.base}/#/`);
  await page.waitForSelector('#search');
  const { result } = await ask(page, 'jobs', {});
  for (const one of result.jobs) if (!one.closed_at) await ask(page, 'close', { job: one.job, anyway: true });
  await page.reload();
  await page.getByText(/No open job/).waitFor();
  await page.locator('#search').fill('zzz nothing');
  await page.waitForFunction(() => document.querySelectorAll('section .quiet').length > 0 && /Nothing found/.test(document.body.textContent) && !/Nothing on the shelf yet|No job here yet/.test(document.body.textContent));
  await page.context().close();
});

test('a wire list without headings: its columns are chosen from lists, its first row is a wire', async () => {
  const page = await openPage(browser, server, laptop);
  const file = path.join(server.folder, 'no-heads.csv');
  writeFileSync(file, 'F3;J4:3\nJ4:3;E1\n');
  await page.goto(`${server.base}/#/import`);
  await page.setInputFiles('input[type=file]', file);
  await page.waitForSelector('#column-1');
  assert.match(await page.locator('.problems').textContent(), /Choose it in the list below/);
  assert.doesNotMatch(await page.locator('main').textContent(), /--column|halfsplit /);
  await page.locator('#no-heads').check();
  await page.locator('#column-1').selectOption('from');
  await page.locator('#column-2').selectOption('to');
  await page.getByText('2 of 2 rows are wires').waitFor();
  await page.getByRole('button', { name: 'Put it on the shelf' }).click();
  await page.waitForSelector('#complaint');
  assert.deepEqual(page.trouble, []);
  await page.context().close();
});

test('what is said on the screen is not worded for a command line', async () => {
  const page = await openGritter(laptop);
  await page.goto(`${page.url()}/other`);
  await page.getByRole('button', { name: 'Did', exact: true }).click();
  await page.locator('#did').fill('repaired nothing-like-it');
  await page.locator('.panel .problem').first().waitFor();
  assert.doesNotMatch(await page.locator('.panel').textContent(), /halfsplit [a-z]/);
  await page.context().close();
});

test('I did something else begins with a measurement; codes one by one say whose they are', async () => {
  const page = await openGritter(laptop);
  await page.goto(`${page.url()}/other`);
  await page.getByRole('button', { name: 'Saw', exact: true }).click();
  await page.locator('#tab-test').click();
  await page.getByRole('button', { name: 'I did something else' }).click();
  await page.waitForSelector('#other-red');
  await page.getByRole('button', { name: 'Codes', exact: true }).click();
  await page.waitForSelector('.code-module');
  assert.match(await page.locator('.code-module').first().textContent(), /HCU/);
  await page.context().close();
});

test('letters twice as large: the key for no value keeps its words; half a window: the bar below is on it', async () => {
  const page = await openGritter(phone);
  await page.evaluate((job) => {
    sessionStorage.setItem(`draft:${job}:other:test`, JSON.stringify('live oil-temperature'));
    sessionStorage.setItem(`draft:${job}:other:which`, JSON.stringify('measured'));
  }, jobOf(page));
  await page.goto(`${page.url()}/other`);
  await page.reload();
  await page.waitForSelector('#key-over');
  await page.addStyleTag({ content: 'html { font-size: 200% }' });
  await page.waitForTimeout(200);
  const key = await page.locator('#key-over').evaluate((one) => ({ inside: one.scrollWidth <= one.clientWidth + 1 && one.scrollHeight <= one.clientHeight + 1, text: one.textContent }));
  assert.ok(key.inside, JSON.stringify(key));
  await page.setViewportSize({ width: 640, height: 400 });
  await page.reload();
  await page.waitForSelector('.tabs.bottom');
  const bottom = await page.locator('.tabs.bottom').evaluate((one) => one.getBoundingClientRect().bottom - innerHeight);
  assert.ok(bottom <= 0.5, `the bar ends ${bottom} px below the window`);
  // Nothing in the panel makes the page itself scroll, cautions far down in a list neither.
  await page.locator('.panel-pane').getByRole('button', { name: 'Did', exact: true }).click();
  await page.waitForSelector('.caution');
  assert.equal(await page.evaluate(() => document.documentElement.scrollHeight <= innerHeight), true);
  await page.context().close();
});
