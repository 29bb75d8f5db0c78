// The program under test: `halfsplit serve` with a book of its own in a folder that is thrown away, and `halfsplit batch`
// as the vehicle with the hidden fault.
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

const here = path.dirname(fileURLToPath(import.meta.url));
export const root = path.join(here, '../../..');
export const program = process.env.HALFSPLIT ?? path.join(root, 'build/dev/halfsplit');

async function freePort() {
  const server = createServer();
  await new Promise((done) => server.listen(0, '127.0.0.1', done));
  const { port } = server.address();
  await new Promise((done) => server.close(done));
  return port;
}

export class Server {
  static async start() {
    const server = new Server();
    server.folder = mkdtempSync(path.join(tmpdir(), 'halfsplit-page-'));
    server.port = await freePort();
    await server.run();
    return server;
  }

  /** Starts the process; once it was killed, again on the same book and port. */
  async run() {
    this.said = '';
    this.cookies = undefined;
    if (process.env.HALFSPLIT_DEV_SERVER) return this.runWithoutServe();
    this.process = spawn(program, ['serve', '--no-browser', '--port', String(this.port)], {
      env: { ...process.env, HALFSPLIT_BOOK: path.join(this.folder, 'book'), HOME: this.folder, XDG_CONFIG_HOME: this.folder, XDG_DATA_HOME: this.folder },
      stdio: ['pipe', 'pipe', 'pipe'],
    });
    const address = new Promise((done, failed) => {
      const hear = (data) => {
        this.said += data;
        const found = /http:\/\/[^\s"]*\/start\?[^\s"]*/.exec(this.said);
        if (found) done(found[0]);
      };
      this.process.stdout.on('data', hear);
      this.process.stderr.on('data', hear);
      this.process.on('exit', (code) => failed(new Error(`serve ended with ${code}: ${this.said}`)));
      setTimeout(() => failed(new Error(`serve told no address: ${this.said}`)), 20000).unref();
    });
    this.start = await address;
    this.base = new URL(this.start).origin;
  }

  /** HALFSPLIT_DEV_SERVER=1: dist/ as it is over `halfsplit batch`, for work on the page alone. */
  async runWithoutServe() {
    this.base = `http://127.0.0.1:${this.port}`;
    this.cookies = [];
    this.process = spawn(process.execPath, [path.join(here, '../../dev-server.mjs')], { env: { ...process.env, HALFSPLIT: program, PORT: String(this.port), HALFSPLIT_BOOK: path.join(this.folder, 'book') }, stdio: ['ignore', 'pipe', 'inherit'] });
    await new Promise((done) => this.process.stdout.once('data', done));
  }

  /** Lets a browser context in: the address that was told works once, later ones get its cookie. */
  async letIn(context, page) {
    if (this.cookies) {
      await context.addCookies(this.cookies);
      await page.goto(`${this.base}/`);
      return;
    }
    await page.goto(this.start);
    await page.waitForURL(`${this.base}/`);
    this.cookies = await context.cookies();
  }

  kill() {
    const gone = new Promise((done) => this.process.once('exit', done));
    this.process.kill('SIGKILL');
    return gone;
  }

  async stop() {
    await this.kill();
    rmSync(this.folder, { recursive: true, force: true });
  }
}

/** A vehicle with one fault: answers what a test would show there. */
export class Vehicle {
  constructor(loom, fault, severity) {
    this.loom = loom;
    this.fault = severity === undefined ? fault : `${fault}@${severity}`;
    this.process = spawn(program, ['batch'], { stdio: ['pipe', 'pipe', 'inherit'] });
    this.waiting = [];
    createInterface({ input: this.process.stdout }).on('line', (line) => this.waiting.shift()?.(JSON.parse(line)));
  }

  ask(operation, args) {
    return new Promise((done) => {
      this.waiting.push(done);
      this.process.stdin.write(`${JSON.stringify({ operation, arguments: args })}\n`);
    });
  }

  /** What `test` shows in `state` (a configuration as in replies.md), as one would type it. `mended`: without the fault. */
  async read(test, state, mended = false) {
    const acts = [
      ...state.made,
      ...state.unplugged.map((plug) => `unplug ${plug}`),
      ...state.fitted.map((one) => `fit ${one.kind === 'lead' ? 'lead' : one.ohm} at ${one.a} ${one.b}`),
      ...state.swapped.map((part) => `swap ${part}`),
    ];
    const reply = await this.ask('expect', { loom: this.loom, what: test, with: acts, ...(mended ? {} : { if: [this.fault] }) });
    if (!reply.ok) throw new Error(`${test}: ${JSON.stringify(reply.diagnostics)}`);
    const seen = mended ? reply.result.healthy : reply.result.under[0].prediction;
    if (seen.chances) return Object.entries(seen.chances).sort((a, b) => b[1] - a[1])[0][0];
    if ((seen.over_range ?? 0) > 0.5) return test.startsWith('live ') ? '---' : 'OL';
    return spokenNumber(seen.value);
  }

  stop() {
    this.process.stdin.end();
    this.process.kill();
  }
}

/** As a meter shows it: three or four digits, k or M where it is large. */
export function spokenNumber(value) {
  const size = Math.abs(value);
  if (size >= 1e6) return `${Number((value / 1e6).toPrecision(3))}M`;
  if (size >= 1e3) return `${Number((value / 1e3).toPrecision(3))}k`;
  return String(Number(value.toFixed(size >= 100 ? 1 : size >= 10 ? 2 : 3)));
}
