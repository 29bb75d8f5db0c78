// Debian's Chromium, and two people who use the page: one by thumb, one by keyboard. Both count what they do. Every
// request that leaves loopback is a failure.
import { existsSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

// PAGE_FROM_DIST=1: dist/ as it is, instead of the page inside the program; for work on the page without building that.
const dist = process.env.PAGE_FROM_DIST ? fileURLToPath(new URL('../../dist', import.meta.url)) : undefined;
function fileOf(url) {
  const file = dist && path.join(dist, url.pathname === '/' ? 'index.html' : url.pathname);
  return file && existsSync(file) ? file : undefined;
}

export async function launch() {
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
  });
}

export const phone = { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, deviceScaleFactor: 1 };
export const laptop = { viewport: { width: 1280, height: 800 } };

/** A page that is let in. `page.trouble`: errors of scripts and requests that went elsewhere. */
export async function openPage(browser, server, device, more = {}) {
  const context = await browser.newContext({ locale: 'en-GB', ...device, ...more });
  const page = await context.newPage();
  page.trouble = [];
  page.on('pageerror', (error) => page.trouble.push(`error: ${error.message}`));
  page.on('console', (message) => {
    if (message.type() === 'error' && !/Failed to load resource|ERR_CONNECTION|ERR_INCOMPLETE|ERR_EMPTY/.test(message.text())) page.trouble.push(`console: ${message.text()}`);
  });
  await context.route('**/*', (route) => {
    const url = new URL(route.request().url());
    if (fileOf(url)) return route.fulfill({ path: fileOf(url) });
    if (['127.0.0.1', 'localhost', '[::1]'].includes(url.hostname) || ['data:', 'blob:'].includes(url.protocol)) return route.continue();
    page.trouble.push(`left loopback: ${url.href}`);
    return route.abort();
  });
  await server.letIn(context, page);
  await page.waitForSelector('#main');
  return page;
}

/** An operation of the program, asked by the page as its own code asks. */
export const ask = (page, operation, args) =>
  page.evaluate(async ([name, body]) => (await (await fetch(`/api/${name}`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) })).json()), [operation, args]);

/** By thumb: everything by tapping what is seen. */
export class Thumb {
  constructor(page) {
    this.page = page;
    this.count = 0;
  }

  async press(selector) {
    const target = this.page.locator(selector).first();
    await target.waitFor({ state: 'visible', timeout: 20000 });
    await target.tap({ timeout: 20000 });
    ++this.count;
  }

  async reading(text) {
    if (text === 'OL' || text === '---') await this.press('#key-over');
    else
      for (const character of text) {
        const key = { '.': 'point', '-': 'minus', k: 'kilo', M: 'mega', m: 'milli' }[character] ?? character;
        await this.press(`#key-${key}`);
      }
    await this.press('#enter');
  }

  async word(text) {
    await this.press(`.key.word[data-word="${text}"]`);
  }

  /** Words in a field: each letter of a phone's keyboard is a tap. */
  async type(selector, text) {
    await this.press(selector);
    await this.page.keyboard.type(text);
    this.count += text.length;
  }

  async tab(name) {
    if ((await this.page.locator(`#tab-${name}`).count()) === 0) await this.press('.tabs > button[aria-expanded]');
    await this.press(`#tab-${name}`);
  }

  sayKnown() {
    return this.press('#say-known');
  }

  async unlock() {
    await this.press('.key.lock');
  }
}

/** By keyboard: Tab and Enter to what is wanted, single keys where there are some. Tab is counted. */
export class Keyboard {
  constructor(page) {
    this.page = page;
    this.count = 0;
  }

  async key(name) {
    await this.page.keyboard.press(name);
    ++this.count;
  }

  /** Goes there with Tab (or Shift+Tab, whichever is nearer) and presses Enter. */
  async press(selector) {
    const target = this.page.locator(selector).first();
    await target.waitFor({ state: 'visible', timeout: 20000 });
    const shortcut = await target.getAttribute('aria-keyshortcuts');
    if (shortcut !== null) {
      await this.key(shortcut.replace(/^Shift\+/, ''));
      // Just after a jump the key only goes there, and Enter presses it.
      if (await this.page.evaluate((wanted) => document.activeElement?.matches(wanted) ?? false, selector)) await this.key('Enter');
      return undefined;
    }
    await target.evaluate((one) => one.setAttribute('data-wanted', ''));
    const steps = await this.page.evaluate(() => {
      const all = [...document.querySelectorAll('a[href], button:not([disabled]), input:not([disabled]), select, summary, [tabindex="0"]')].filter((one) => one.offsetParent !== null || one.getClientRects().length > 0);
      const wanted = all.findIndex((one) => one.hasAttribute('data-wanted'));
      const at = document.activeElement ?? document.body;
      // A heading or a panel that has the focus stands between two that Tab reaches.
      const before = all.filter((one) => at.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_PRECEDING).length;
      const now = all.includes(at) ? all.indexOf(at) : at === document.body ? -1 : before - 1;
      document.querySelector('[data-wanted]')?.removeAttribute('data-wanted');
      return { forward: wanted - now, backward: now < 0 ? all.length - wanted : now - wanted };
    });
    const back = steps.forward < 0 || steps.backward > 0 && steps.backward < steps.forward;
    await target.evaluate((one) => one.setAttribute('data-wanted', ''));
    for (let turn = 0; turn < 200; ++turn) {
      if (await this.page.evaluate(() => document.activeElement?.hasAttribute('data-wanted') ?? false)) break;
      await this.key(back ? 'Shift+Tab' : 'Tab');
    }
    await this.page.evaluate(() => document.querySelector('[data-wanted]')?.removeAttribute('data-wanted'));
    await this.key('Enter');
  }

  async reading(text) {
    if (text === 'OL' || text === '---') await this.key('o');
    else for (const character of text) await this.key(character);
    await this.key('Enter');
  }

  async word(text) {
    const at = await this.page.locator('.key.word').evaluateAll((keys, wanted) => keys.findIndex((key) => key.dataset.word === wanted), text);
    await this.key(String(at + 1));
    if (await this.page.evaluate((wanted) => document.activeElement?.matches(`.key.word[data-word="${wanted}"]`) ?? false, text)) await this.key('Enter');
  }

  async type(selector, text) {
    const target = this.page.locator(selector).first();
    if (!(await target.evaluate((one) => one === document.activeElement))) await this.focus(selector);
    await this.page.keyboard.type(text);
    this.count += text.length;
  }

  async focus(selector) {
    for (let turn = 0; turn < 200; ++turn) {
      if (await this.page.locator(selector).first().evaluate((one) => one === document.activeElement)) return;
      await this.key('Tab');
    }
    throw new Error(`Tab never reaches ${selector}`);
  }

  async tab(name) {
    const key = { test: 't', drawing: 'd', suspects: 's', other: 'e', log: 'h', plan: 'p', proof: 'f', sheet: 'j', recording: 'b', kit: 'i' }[name];
    await this.page.evaluate(() => document.activeElement?.blur());
    await this.key(key);
  }

  async sayKnown() {
    await this.tab('other');
  }

  async unlock() {
    await this.key('Enter');
  }
}
