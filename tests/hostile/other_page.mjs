// SPDX-License-Identifier: Apache-2.0
// A hostile page in the same Chromium as the user's own: it can read and change nothing; the user's page can, and so can
// a phone that was paired, until it is let go. Also the way in: from a file of the user's, by the start address, to a
// cookie that is SameSite=Strict. Needs Node, Chromium and playwright-core of web/node_modules; not part of CI.
// Usage: node other_page.mjs PROGRAM
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import http from 'node:http';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const web = path.join(path.dirname(fileURLToPath(import.meta.url)), '../../web');
const { chromium } = await import(path.join(web, 'node_modules/playwright-core/index.mjs'));
const folder = mkdtempSync(path.join(os.tmpdir(), 'halfsplit-page-'));
const words = ['serve', '--no-browser', '--port', '0', '--lan'];
const program = spawn(process.argv[2], words, {
  env: { ...process.env, HALFSPLIT_BOOK: folder }, stdio: ['ignore', 'pipe', 'inherit'] });
let printed = '';
await new Promise((resolve) => program.stdout.on('data', (data) => {
  printed += data;
  if (printed.includes('Ctrl-C')) resolve();
}));
const start = /http:\/\/127\S*/.exec(printed)[0];
const pair = /http:\/\/\S*\/pair\S*/.exec(printed)[0];
const base = new URL(start).origin;

const ask = (page, operation, body = {}) => page.evaluate(async ([name, text]) => {
  const reply = await fetch(`/api/${name}`, {
    method: text === undefined ? 'GET' : 'POST', headers: text === undefined ? {} : { 'Content-Type': 'application/json' }, body: text });
  return { status: reply.status, json: await reply.json() };
}, [operation, body === null ? undefined : JSON.stringify(body)]);

const tricks = async (target) => {
  const seen = [];
  const json = { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{"do":"list"}' };
  const tries = [['/api/jobs', json], ['/api/jobs', { method: 'POST', mode: 'no-cors', body: '{}' }], ['/api/operations', {}],
    ['/api/operations', { mode: 'no-cors' }], ['/pair', { method: 'POST', mode: 'no-cors', body: new URLSearchParams({ secret: '0' }) }]];
  for (const [where, how] of tries) {
    await fetch(target + where, { credentials: 'include', ...how }).then(
      (reply) => seen.push(`${where} ${reply.type}`), () => undefined);
  }
  await new Promise((resolve) => {
    const script = document.createElement('script');
    script.src = `${target}/api/operations`;
    script.onload = () => resolve(seen.push('script'));
    script.onerror = resolve;
    document.body.append(script);
  });
  await new Promise((resolve) => {
    const events = new EventSource(`${target}/events`, { withCredentials: true });
    events.onopen = () => resolve(seen.push('events'));
    events.onerror = resolve;
  });
  const frame = document.createElement('iframe');
  frame.src = `${target}/`;
  document.body.append(frame);
  await new Promise((resolve) => { frame.onload = resolve; });
  try {
    if (frame.contentDocument?.body?.textContent) seen.push('frame');
  } catch { /* not to be read: right */ }
  return seen;
};

const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox'] });
const evil = http.createServer((_, reply) => reply.setHeader('Content-Type', 'text/html').end('<h1>other</h1>'));
try {
  const context = await browser.newContext();
  const page = await context.newPage();
  const lead = path.join(folder, 'lead.html');
  writeFileSync(lead, `<!doctype html><meta http-equiv="refresh" content="0; url=${start}">`);
  await page.goto(`file://${lead}`);
  await page.waitForURL(`${base}/`);
  assert.equal((await ask(page, 'jobs', { do: 'list' })).status, 200, 'the user is in');
  assert.equal((await ask(page, 'operations', null)).json.ok, true);

  await new Promise((resolve) => evil.listen(0, '127.0.0.1', resolve));
  for (const name of ['127.0.0.1', 'localhost']) { // the first is the same site: only the port differs
    const other = await context.newPage();
    await other.goto(`http://${name}:${evil.address().port}/`);
    assert.deepEqual(await other.evaluate(tricks, base), [], name);
  }

  const phone = await (await browser.newContext()).newPage();
  await phone.goto(pair);
  await phone.fill('input[name=name]', '<b>phone</b>');
  await phone.click('button');
  await phone.waitForURL((url) => url.pathname === '/');
  assert.equal((await ask(phone, 'jobs', { do: 'list' })).status, 200, 'the phone is in');
  assert.equal((await ask(phone, 'devices', null)).json.diagnostics[0].code, 'http.only-here');
  const [device] = (await ask(page, 'devices', null)).json.result.devices;
  assert.equal(device.name, '<b>phone</b>');
  assert.equal((await ask(page, 'devices/revoke', { device: device.device })).json.ok, true);
  assert.equal((await ask(phone, 'jobs', { do: 'list' })).status, 401, 'the phone is out');
  const again = await (await browser.newContext()).newPage();
  assert.equal((await again.goto(start)).status(), 403, 'the start address works once');
  console.log('other_page: refused what should be, served what should be');
} finally {
  await browser.close();
  evil.close();
  program.kill('SIGTERM');
  rmSync(folder, { recursive: true, force: true });
}
