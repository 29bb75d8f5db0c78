// A recording of an invented drain jetter whose contact J6:8 comes and goes: sent in, looked at over time, clicked back
// to its lines, put into a job, kept over a reload, taken back. By thumb at 390 px and by keyboard at 1,280 px; axe in
// every theme; nothing runs out of the screen from 320 to 1,920 px.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { after, before, test } from 'node:test';
import { ask, Keyboard, laptop, launch, openPage, phone, Thumb } from './browser.mjs';
import { loomOf, settled } from './play.mjs';
import { program, Server } from './server.mjs';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const loom = loomOf('drain-jetter');
let server, browser, folder, run;

before(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'halfsplit-recording-'));
  run = path.join(folder, 'run.log');
  execFileSync(program, ['rehearse', loom, '--fault', 'J6:8 comes and goes', '--seed', '5', '--record', run]);
  server = await Server.start();
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await server?.stop();
  rmSync(folder, { recursive: true, force: true });
});

/** A new job on the drain jetter, its recording view on the screen. */
async function openRecording(device, more) {
  const page = await openPage(browser, server, device, more);
  await ask(page, 'shelf', { do: 'put', what: 'drain-jetter', text: readFileSync(loom, 'utf8') });
  const { job } = (await ask(page, 'open', { loom: 'shelf:drain-jetter', complaint: 'pump and reel stop now and then' })).result;
  await page.goto(`${server.base}/#/job/${encodeURIComponent(job)}/recording`);
  await page.waitForSelector('#recording-file', { state: 'attached' });
  return { page, job };
}

async function send(page, file = run) {
  await page.setInputFiles('#recording-file', file);
  await page.waitForSelector('.time-frame svg .gap', { timeout: 60000 });
  await page.waitForSelector('#witness-put:not([disabled])', { timeout: 60000 });
}

const seen = (page) => page.locator('.time-seen').textContent();

for (const [how, Person, device] of [['thumb', Thumb, phone], ['keyboard', Keyboard, laptop]])
  test(`from the file to the suspects and back, by ${how}`, async () => {
    const { page, job } = await openRecording(device);
    const person = new Person(page);
    await send(page);

    // The three that fall silent together stand first, as one sentence and as one silence.
    assert.match(await page.locator('.stands-out li').first().textContent(), /Quiet together \d+ times, .*: PMP, REL, RCV\./);
    await person.press('#recording-silences summary');
    const row = page.locator('.silence-row').first();
    assert.match(await row.locator('p').first().textContent(), /1\s*PMP \+ REL \+ RCV/);
    await person.press('.silence-row .button');
    const details = page.locator('#recording-details');
    await details.locator('h4', { hasText: 'PMP + REL + RCV' }).waitFor();
    assert.equal(await page.locator('.silence.chosen .gap').count(), 3, 'three lanes are broken at that moment');

    // Nearer, to that silence, and all of it again.
    assert.match(await seen(page), /^0\.000 s to /);
    await person.press('#time-there');
    await page.waitForFunction(() => document.querySelector('.time-seen').textContent.startsWith('0.000') === false);
    const near = await seen(page);
    await person.press('#time-nearer');
    assert.notEqual(await seen(page), near);
    if (how === 'keyboard') {
      await page.locator('.time-frame').focus();
      const before = await seen(page);
      await page.keyboard.press('ArrowLeft');
      assert.notEqual(await seen(page), before);
      await page.keyboard.press('0');
      assert.match(await seen(page), /^0\.000 s to/);
      await page.keyboard.press('ArrowDown');
      await details.locator('h4').waitFor();
      await page.keyboard.press('+');
      assert.doesNotMatch(await seen(page), /^0\.000 s to 2/);
    }
    await person.press('#time-all');
    await page.waitForFunction(() => document.querySelector('.time-seen').textContent.startsWith('0.000'));

    // Back to the lines it came from.
    const link = details.locator('.lines-link').first();
    const [from, to] = (await link.getAttribute('data-lines')).split('-').map(Number);
    await person.press('#recording-details .lines-link');
    await page.waitForSelector('dialog .frames tbody tr');
    const lines = (await page.locator('dialog tbody td:first-child').allTextContents()).map(Number);
    assert.equal(lines[0], from);
    assert.equal(lines.at(-1), to);
    const recorded = readFileSync(run, 'utf8').split('\n')[from - 1];
    const id = await page.locator('dialog tbody tr').first().locator('td').nth(2).textContent();
    assert.ok(recorded.includes(`${id}#`), `${recorded} has ${id}`);
    await person.press('dialog > .button.main');
    await page.waitForSelector('dialog', { state: 'detached' });

    // What will be entered is shown; then it is in the job, and the suspects are on the screen.
    const will = await page.locator('.will-enter').textContent();
    assert.match(will, /recording on vehicle/);
    assert.match(will, /started anew PMP \+ REL \+ RCV/);
    const recordings = async () => (await ask(page, 'status', { job })).result.entries.filter((one) => one.what.startsWith('recording'));
    assert.deepEqual(await recordings(), [], 'shown, not entered');
    await person.press('#witness-put');
    await page.waitForFunction(() => location.hash.endsWith('/suspects'), null, { timeout: 60000 });
    await settled(page);
    const suspects = await page.locator('.panel').textContent();
    assert.match(suspects, /J6:1/);
    assert.match(suspects, /J6:8/);

    await page.locator('.suspects .reasons [data-lines]').first().waitFor({ state: 'attached' });

    // A reload keeps it; the history opens the lines.
    await page.reload();
    await person.tab('log');
    await page.waitForSelector('.log .lines-link', { timeout: 30000 });
    assert.match(await page.locator('.log').textContent(), /restarts PMP \+ REL \+ RCV/);
    await person.press('.log .lines-link');
    await page.waitForSelector('dialog .frames tbody tr');
    await person.press('dialog > .button.main');

    // Taken back: struck, and it may be put in again.
    await person.tab('recording');
    await person.press('#witness-undo');
    await page.waitForSelector('#witness-put:not([disabled])', { timeout: 60000 });
    assert.deepEqual((await recordings()).map((one) => one.struck), [true]);
    console.log(`by ${how}: ${person.count} taps or keys`);
    assert.deepEqual(page.trouble, []);
    await page.context().close();
  });

test('what stands out is said in German, by the names of the drawing', async () => {
  const { page } = await openRecording(laptop, { locale: 'de-DE' });
  await send(page);
  await page.waitForFunction(() => /PMP, REL, RCV/.test(document.querySelector('.stands-out li')?.textContent ?? ''));
  const all = await page.locator('.stands-out li').evaluateAll((list) => list.map((one) => one.firstChild.textContent));
  assert.match(all[0], /^\d+-mal zusammen still, für .* bis .*: PMP, REL, RCV\. Machten weiter: ECU, /);
  for (const one of all) assert.doesNotMatch(one, /\b(quiet|claimed|active codes?|first heard|SA \d+)\b/, one);
  assert.deepEqual(page.trouble, []);
  await page.context().close();
});

test('wheel, two fingers, a tap on a lane', async () => {
  const { page } = await openRecording(laptop);
  await send(page);
  const frame = page.locator('.time-frame');
  await frame.scrollIntoViewIfNeeded();
  const box = await frame.boundingBox();
  const all = await seen(page);
  await page.mouse.move(box.x + box.width / 2, box.y + 60);
  await page.mouse.wheel(0, -600);
  await page.waitForFunction((before) => document.querySelector('.time-seen').textContent !== before, all);
  const near = await seen(page);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width / 2 - 90, box.y + 60, { steps: 4 });
  await page.mouse.up();
  assert.notEqual(await seen(page), near, 'dragged along time');
  await page.mouse.wheel(0, 9000);
  await page.waitForFunction((before) => document.querySelector('.time-seen').textContent === before, all);
  const gap = await page.locator('.silence .gap').first().boundingBox();
  await page.mouse.click(gap.x + gap.width / 2, gap.y + gap.height / 2);
  await page.locator('#recording-details h4', { hasText: 'PMP + REL + RCV' }).waitFor();
  await page.mouse.click(box.x + 20, box.y + 38);
  await page.locator('#recording-details h4', { hasText: 'ECU · SA 0' }).waitFor();

  const touch = await page.context().newCDPSession(page);
  const points = (apart) => [{ x: box.x + 500 - apart, y: box.y + 70, id: 1 }, { x: box.x + 500 + apart, y: box.y + 70, id: 2 }];
  await touch.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: points(40) });
  for (const apart of [60, 90, 120]) await touch.send('Input.dispatchTouchEvent', { type: 'touchMove', touchPoints: points(apart) });
  await touch.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] });
  assert.notEqual(await seen(page), all, 'two fingers part: nearer');
  assert.deepEqual(page.trouble, []);
  await page.context().close();
});

test('what is too large, no recording, or a stranger is told in words', async () => {
  const { page } = await openRecording(phone);
  const large = path.join(folder, 'large.log');
  writeFileSync(large, '');
  truncateSync(large, 64 * 1024 * 1024 + 1);
  await page.setInputFiles('#recording-file', large);
  await page.locator('.send .problem', { hasText: '64 MB is the most' }).waitFor();
  const picture = path.join(folder, 'cat.log');
  writeFileSync(picture, 'no frames here\n');
  await page.setInputFiles('#recording-file', picture);
  await page.locator('.send .problem', { hasText: 'no recording of a CAN bus' }).waitFor();
  // A sender nobody has drawn: its number gets a select of the modules, and the choice is asked about anew.
  const strange = path.join(folder, 'strange.log');
  writeFileSync(strange, readFileSync(run, 'utf8').replace(/ (1[0-9A-F]{5})A0#/g, ' $177#'));
  await send(page, strange);
  await page.locator('#witness-who summary').tap();
  const select = page.locator('#witness-who select').first();
  await select.waitFor();
  await select.selectOption('PMP');
  await page.waitForFunction(() => /started anew PMP \+ REL \+ RCV/.test(document.querySelector('.will-enter')?.textContent ?? ''), null, { timeout: 30000 });
  assert.deepEqual(page.trouble, []);
  await page.context().close();
});

test('of a recording of two buses one says which channel is this one', async () => {
  const { page } = await openRecording(phone);
  const two = path.join(folder, 'two.log');
  writeFileSync(two, readFileSync(run, 'utf8').replace(/ can0 ([0-9A-F]{6}21)#/g, ' can1 $1#'));
  await page.setInputFiles('#recording-file', two);
  await page.locator('#witness .problem', { hasText: 'which is the bus' }).waitFor({ timeout: 60000 });
  assert.ok(await page.locator('#witness-put').isDisabled());
  await page.locator('#witness-channel').selectOption('can0');
  await page.waitForFunction(() => /started anew PMP \+ REL \+ RCV/.test(document.querySelector('.will-enter')?.textContent ?? ''), null, { timeout: 30000 });
  assert.ok(await page.locator('#witness-put').isEnabled());
  assert.deepEqual(page.trouble, []);
  await page.context().close();
});

test('axe in every theme and in German, and every width', async () => {
  const { page, job } = await openRecording(laptop);
  await send(page);
  await page.locator('#recording-silences summary').click();
  await page.locator('.silence-row .button').first().click();
  const found = [];
  for (const language of ['en', 'de'])
    for (const theme of ['light', 'dark', 'sun']) {
      await page.evaluate(([one, other]) => (localStorage.setItem('theme', one), localStorage.setItem('language', other)), [theme, language]);
      await page.reload();
      await page.waitForSelector('.will-enter', { timeout: 60000 });
      await page.evaluate(axe);
      const result = await page.evaluate(() => window.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }));
      for (const one of result.violations) found.push(`${theme} ${language}: ${one.id} (${one.nodes.slice(0, 2).map((node) => node.target.join(' ')).join('; ')})`);
    }
  for (const width of [320, 390, 768, 900, 1280, 1920]) {
    await page.setViewportSize({ width, height: 800 });
    await page.waitForTimeout(300);
    found.push(
      ...(await page.evaluate((wide) => {
        const wrong = [];
        if (document.documentElement.scrollWidth > innerWidth) wrong.push(`${wide}: ${document.documentElement.scrollWidth} px wide`);
        const pane = document.querySelector('.panel-pane');
        if (pane.scrollWidth > pane.clientWidth) wrong.push(`${wide}: the panel is ${pane.scrollWidth} px wide, ${pane.clientWidth} are seen`);
        for (const target of document.querySelectorAll('.recording button, .recording select, .recording summary, .recording label.button')) {
          const box = target.getBoundingClientRect();
          if (box.width > 0 && (box.height < 43.5 || box.width < 43.5)) wrong.push(`${wide}: ${target.textContent.slice(0, 20)} ${box.width.toFixed(0)}x${box.height.toFixed(0)}`);
        }
        return wrong;
      }, width)),
    );
  }
  assert.deepEqual(found, []);
  assert.deepEqual(page.trouble, []);
  assert.ok(job);
  await page.context().close();
});
