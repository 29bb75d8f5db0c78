// For work on the page alone: serves dist/ and hands POST /api/<operation> to `halfsplit batch` (HALFSPLIT names the
// program). Jobs and looms are plain files of a folder of its own; the book, photos and pairing are not there. The real
// server is `halfsplit serve`. Not for anybody else's browser: it checks nothing.
import { spawn } from 'node:child_process';
import { cpSync, existsSync, mkdirSync, readdirSync, readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { createInterface } from 'node:readline';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const here = path.dirname(fileURLToPath(import.meta.url));
const program = process.env.HALFSPLIT ?? path.join(here, '../build/dev/halfsplit');
const folder = process.env.HALFSPLIT_DEV_FOLDER ?? '/tmp/halfsplit-page';
const port = Number(process.env.PORT ?? 8470);

mkdirSync(folder, { recursive: true });
for (const name of readdirSync(path.join(here, '../examples')))
  cpSync(path.join(here, '../examples', name, `${name}.loom.toml`), path.join(folder, `${name}.loom.toml`));

const batch = spawn(program, ['batch'], { cwd: folder, stdio: ['pipe', 'pipe', 'inherit'] });
const waiting = [];
createInterface({ input: batch.stdout }).on('line', (line) => waiting.shift()?.(line));

const inward = (value) => {
  if (Array.isArray(value)) return value.map(inward);
  if (typeof value !== 'string') return value;
  return value.replace(/^book:(.+)$/, '$1.job.toml').replace(/^shelf:(.+)$/, '$1.loom.toml');
};
const outward = (line) => line.replace(/"([^"/]+)\.job\.toml"/g, '"book:$1"').replace(/"([^"/]+)\.loom\.toml"/g, '"shelf:$1"');

function ask(operation, args) {
  const told = Object.fromEntries(Object.entries(args).map(([name, value]) => [name, inward(value)]));
  if (operation === 'open' && !told.job) told.job = `${1 + readdirSync(folder).filter((name) => name.endsWith('.job.toml')).length}.job.toml`;
  return new Promise((done) => {
    waiting.push((line) => done(outward(line)));
    batch.stdin.write(`${JSON.stringify({ operation, arguments: told })}\n`);
  });
}

const listeners = new Set();
const reading = new Set(['board', 'status', 'suspects', 'plan', 'proof', 'check', 'draw', 'sheet', 'expect']);

async function api(operation, args) {
  if (operation === 'shelf' || operation === 'jobs') return JSON.stringify({ ok: true, exit_code: 0, result: await lists(operation, args), diagnostics: [] });
  const reply = await ask(operation, args);
  if (!reading.has(operation)) for (const one of listeners) one.write(`event: changed\ndata: {"job":"${args.job ?? ''}"}\n\n`);
  return reply;
}

async function lists(operation, args) {
  const words = String(args.what ?? '').toLowerCase();
  const names = readdirSync(folder);
  const field = (text, name) => new RegExp(`^${name} = "(.*)"`, 'm').exec(text)?.[1] ?? '';
  const rows = names
    .filter((name) => name.endsWith(operation === 'jobs' ? '.job.toml' : '.loom.toml'))
    .map((name) => {
      const text = readFileSync(path.join(folder, name), 'utf8');
      const base = name.replace(/\.(job|loom)\.toml$/, '');
      if (operation === 'shelf') return { loom: `shelf:${base}`, name: field(text, 'name'), vehicle: field(text, 'vehicle') };
      return { job: `book:${base}`, open: !field(text, 'closed_at'), loom: field(text, 'loom'), vehicle: field(text, 'vehicle'), customer: '', complaint: field(text, 'complaint'), opened_at: field(text, 'opened_at'), closed_at: field(text, 'closed_at'), changed_at: '' };
    })
    .filter((row) => JSON.stringify(row).toLowerCase().includes(words));
  return operation === 'shelf' ? { looms: rows } : args.do === 'photos' ? { photos: [] } : { jobs: rows };
}

const types = { '.html': 'text/html; charset=utf-8', '.js': 'text/javascript', '.css': 'text/css', '.svg': 'image/svg+xml' };
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; base-uri 'none'; form-action 'self'";

createServer(async (request, response) => {
  const url = new URL(request.url, 'http://localhost');
  if (request.method === 'POST' && url.pathname.startsWith('/api/')) {
    let body = '';
    for await (const part of request) body += part;
    response.setHeader('Content-Type', 'application/json');
    response.end(await api(url.pathname.slice(5), JSON.parse(body || '{}')));
  } else if (url.pathname === '/events') {
    response.writeHead(200, { 'Content-Type': 'text/event-stream' });
    response.write(': begin\n\n');
    listeners.add(response);
    request.on('close', () => listeners.delete(response));
  } else {
    const file = path.join(here, 'dist', url.pathname === '/' ? 'index.html' : path.basename(url.pathname));
    if (!existsSync(file)) return response.writeHead(404).end();
    response.setHeader('Content-Type', types[path.extname(file)] ?? 'application/octet-stream');
    response.setHeader('Content-Security-Policy', policy);
    response.end(readFileSync(file));
  }
}).listen(port, '127.0.0.1', () => console.log(`http://127.0.0.1:${port}/`));
