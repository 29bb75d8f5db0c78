// axe-core on every view, in every theme, at both widths; nothing runs out of the screen at 320 px; touch targets.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { after, before, test } from 'node:test';
import { ask, laptop, launch, openPage, phone } from './browser.mjs';
import { jobToLeave } from './leaving.mjs';
import { settled } from './play.mjs';
import { Server } from './server.mjs';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const jobViews = ['', '/drawing', '/suspects', '/other', '/log', '/plan', '/proof', '/sheet', '/photos', '/recording', '/kit'];
const views = ['#/', '#/sketch', '#/sketch/two-wire-sensor', '#/sketch/path', '#/import', '#/settings', '#/open/demo%3Agritter', ...jobViews.map((tab) => `#/job/JOB${tab}`), '#/job/LEFT', '#/job/LEFT/proof'];
const themes = ['light', 'dark', 'sun'];

let server, browser, page, job, wide, left;
const call = (operation, args) => ask(page, operation, args);

before(async () => {
  server = await Server.start();
  browser = await launch();
  page = await openPage(browser, server, laptop);
  const text = readFileSync(new URL('../../../examples/gritter/gritter.loom.toml', import.meta.url), 'utf8');
  await call('shelf', { do: 'put', what: 'gritter', text });
  job = (await call('open', { loom: 'shelf:gritter', complaint: 'oil temperature shows nothing' })).result.job;
  await call('saw', { job, what: 'code SPN 520210 FMI 3', shows: 'active' });
  await call('did', { job, what: 'body-raised' });
  await call('saw', { job, what: 'volts J2:5@chassis J2:6@chassis', shows: '4.95' });
  // Its next test has an outcome with a long name: from so many ohms to so many.
  wide = (await call('open', { loom: 'shelf:gritter', complaint: 'oil temperature shows nothing' })).result.job;
  await call('saw', { job: wide, what: 'code SPN 520210 FMI 3', shows: 'active' });
  await call('saw', { job: wide, what: 'live oil-temperature', shows: '-40' });
  await call('saw', { job: wide, what: 'volts J2:5@chassis J2:6@chassis', shows: '4.95' });
  left = await jobToLeave(call);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

async function show(onPage, view, theme) {
  await onPage.evaluate((wanted) => localStorage.setItem('theme', wanted), theme);
  await onPage.goto(`${server.base}/${view.replace('JOB', encodeURIComponent(job)).replace('WIDE', encodeURIComponent(wide)).replace('LEFT', encodeURIComponent(left))}`);
  await onPage.reload();
  await onPage.waitForSelector('#main, .drawing-pane');
  await settled(onPage).catch(() => undefined);
}

for (const [name, device] of [['phone', phone], ['laptop', laptop]])
  for (const theme of themes)
    test(`axe: every view, ${theme}, ${name}`, async () => {
      const one = await openPage(browser, server, device);
      const found = [];
      for (const view of views) {
        await show(one, view, theme);
        await one.evaluate(axe);
        const result = await one.evaluate(() => window.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }));
        for (const violation of result.violations) found.push(`${view}: ${violation.id} (${violation.nodes.slice(0, 2).map((node) => node.target.join(' ')).join('; ')}) ${violation.nodes[0].failureSummary?.split('\n')[1]?.trim() ?? ''}`);
      }
      assert.deepEqual(found, []);
      assert.deepEqual(one.trouble, []);
      await one.context().close();
    });

for (const locale of ['en-GB', 'de-DE']) test(`at 320 px nothing runs out of the screen, and whatever is pressed is 44 px: ${locale}`, async () => {
  const one = await openPage(browser, server, { ...phone, viewport: { width: 320, height: 640 } }, { locale });
  const found = [];
  for (const view of [...views, '#/job/WIDE']) {
    await show(one, view, 'light');
    if (view.endsWith('WIDE')) await one.locator('.outcomes th', { hasText: / to / }).first().waitFor();
    found.push(
      ...(await one.evaluate((where) => {
        const wrong = [];
        if (document.documentElement.scrollWidth > innerWidth) wrong.push(`${where}: ${document.documentElement.scrollWidth} px wide`);
        // Its words too: nothing is cut off at the edge, where no scrolling brings it back.
        for (const one of document.querySelectorAll('.app-head a, .app-head button, .tabs > button, .strip-line')) {
          const box = one.getBoundingClientRect();
          if (box.width > 0 && (box.right > innerWidth + 0.5 || box.left < -0.5 || one.scrollWidth > one.clientWidth + 1)) wrong.push(`${where}: ${one.textContent.trim().slice(0, 20)} is cut off`);
        }
        // What is as tall as the screen scrolls up and down and counts as able to do so sideways as well.
        const scrolls = (one) => one !== null && ((one.id !== 'main' && /auto|scroll/.test(getComputedStyle(one).overflowX)) || scrolls(one.parentElement));
        for (const one of document.querySelectorAll('body *')) {
          const box = one.getBoundingClientRect();
          const lies = one.closest('svg, .canvas, .small-drawing, .visually-hidden, .paper') !== null || scrolls(one.parentElement);
          if (box.width > 0 && box.height > 0 && box.right > innerWidth + 0.5 && !lies) wrong.push(`${where}: ${one.tagName} ${one.textContent.trim().slice(0, 20)} reaches to ${box.right.toFixed(0)} px`);
        }
        for (const target of document.querySelectorAll('button, a, input, select, summary, label.button')) {
          const box = target.getBoundingClientRect();
          if (box.width === 0 || target.closest('.visually-hidden, .skip') || target.type === 'checkbox' || target.type === 'file') continue;
          const inText = target.tagName === 'A' && target.closest('p') && !target.classList.contains('button');
          if (!inText && (box.height < 43.5 || box.width < 43.5)) wrong.push(`${where}: ${target.textContent.slice(0, 20)} ${box.width.toFixed(0)}x${box.height.toFixed(0)}`);
        }
        return wrong;
      }, view)),
    );
  }
  assert.deepEqual(found, []);
});

test('the sheet fits a phone of 390 px, and is taken along as PDF', async () => {
  const one = await openPage(browser, server, phone);
  await show(one, '#/job/JOB/sheet', 'light');
  await one.waitForSelector('.paper');
  const { wide, seen } = await one.evaluate(() => {
    const paper = document.querySelector('.paper');
    return { wide: paper.scrollWidth, seen: paper.clientWidth };
  });
  assert.ok(wide <= seen, `the sheet is ${wide} px wide, ${seen} are seen`);
  const [download] = await Promise.all([one.waitForEvent('download', { timeout: 20000 }), one.getByRole('button', { name: 'PDF' }).tap()]);
  assert.match(download.suggestedFilename(), /\.pdf$/);
  assert.equal(readFileSync(await download.path()).subarray(0, 5).toString(), '%PDF-');
  assert.deepEqual(one.trouble, []);
  await one.context().close();
});

test('what was mended as far as one can tell: what to mind and to put back, then the way out, on the card and in the proof', async () => {
  const one = await openPage(browser, server, phone);
  await show(one, '#/job/LEFT', 'light');
  const card = one.locator('.card');
  await card.getByText('Put all back and leave it.').waitFor();
  const said = await card.textContent();
  for (const wanted of [/brakes may still be wrong/, /J1/, /Wheels chocked/, /ramp-raised/, /Prop the ramp/, /that the trouble comes back/]) assert.match(said, wanted);
  // What to mind stands above what is pressed.
  const order = await card.evaluate((element) => [...element.querySelectorAll('.caution, #undo-all')].map((each) => each.id || 'caution'));
  assert.equal(order.at(-1), 'undo-all');
  assert.ok(order.length > 3, order.join());
  await show(one, '#/job/LEFT/proof', 'light');
  assert.match(await one.locator('.panel').textContent(), /Put all back and leave it\..*brakes may still be wrong.*Prop the ramp/s);
  await one.context().close();
});

for (const height of [568, 640]) test(`a phone of 320 x ${height}: what is typed, every key and Enter are on the screen without scrolling`, async () => {
  const one = await openPage(browser, server, { ...phone, viewport: { width: 320, height } });
  for (const view of ['#/job/WIDE', '#/job/JOB']) {
    await show(one, view, 'light');
    await one.locator('.pad .lock').click({ timeout: 1000 }).catch(() => undefined);
    await one.waitForSelector('.pad-keys, .pad-words');
    await one.evaluate(() => (document.querySelector('.panel-pane').scrollTop = 0));
    const wrong = await one.evaluate(() => {
      const keys = [...document.querySelectorAll('.pad .key, .pad-shown')];
      return keys.flatMap((key) => {
        const box = key.getBoundingClientRect();
        const at = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
        const seen = box.top >= 0 && box.bottom <= innerHeight && box.left >= 0 && box.right <= innerWidth && key.contains(at);
        return seen && box.width >= 43.5 && box.height >= 43.5 ? [] : [`${key.id || key.className}: ${JSON.stringify(box)}`];
      });
    });
    assert.deepEqual(wrong, [], view);
    // And there is room for the card above it.
    assert.ok((await one.evaluate(() => document.querySelector('.pad').getBoundingClientRect().top - document.querySelector('.panel-pane').getBoundingClientRect().top)) > 120);
  }
  await one.context().close();
});
