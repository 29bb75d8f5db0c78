// The HTML is valid by html-validate: the file as it is, and what the page makes of itself in every view.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { after, before, test } from 'node:test';
import { HtmlValidate } from 'html-validate';
import { laptop, launch, openPage } from './browser.mjs';
import { settled } from './play.mjs';
import { Server } from './server.mjs';

const validator = new HtmlValidate({
  extends: ['html-validate:recommended', 'html-validate:a11y'],
  // How the tree is written out, not what it is: a browser writes it so.
  rules: { 'void-style': 'off', 'no-trailing-whitespace': 'off', 'attribute-boolean-style': 'off', 'attribute-empty-style': 'off', 'no-inline-style': 'error', 'long-title': 'off', 'attr-quotes': 'off', 'doctype-style': 'off', 'element-required-attributes': 'error', 'prefer-native-element': 'off', 'no-implicit-input-type': 'off', 'input-missing-label': 'error', 'no-redundant-for': 'off', 'tel-non-breaking': 'off' },
});

async function wrongIn(html) {
  const report = await validator.validateString(html);
  return report.results.flatMap((result) => result.messages.map((one) => `${one.ruleId}: ${one.message} at ${one.selector ?? `${one.line}:${one.column}`}`));
}

let server, browser, page;
before(async () => {
  server = await Server.start();
  browser = await launch();
  page = await openPage(browser, server, laptop);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

test('index.html', async () => {
  assert.deepEqual(await wrongIn(readFileSync(new URL('../../dist/index.html', import.meta.url), 'utf8')), []);
});

test('the page in its views', async () => {
  for (const view of ['#/', '#/sketch', '#/sketch/feed', '#/settings', '#/open/demo%3Agritter']) {
    await page.goto(`${server.base}/${view}`);
    await page.waitForSelector('#main');
    await settled(page);
    assert.deepEqual(await wrongIn(await page.content()), [], view);
  }
});
