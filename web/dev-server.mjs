// For work on the page alone: serves dist/ and hands POST /api/<operation> to `halfsplit batch` (HALFSPLIT names the
// program, HALFSPLIT_BOOK the book, PORT the port). Photos and pairing are not there; the real server is
// `halfsplit serve`. Not for anybody else's browser: it checks nothing.
import { spawn } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { createServer } from 'node:http';
import { createInterface } from 'node:readline';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

const here = path.dirname(fileURLToPath(import.meta.url));
const program = process.env.HALFSPLIT ?? path.join(here, '../build/dev/halfsplit');
const port = Number(process.env.PORT ?? 8470);
const env = { ...process.env, HALFSPLIT_BOOK: process.env.HALFSPLIT_BOOK ?? '/tmp/halfsplit-page' };

const batch = spawn(program, ['batch'], { env, stdio: ['pipe', 'pipe', 'inherit'] });
const waiting = [];
createInterface({ input: batch.stdout }).on('line', (line) => waiting.shift()?.(line));

function ask(operation, args) {
  return new Promise((done) => {
    waiting.push(done);
    batch.stdin.write(`${JSON.stringify({ operation, arguments: args })}\n`);
  });
}

const listeners = new Set();
const reading = new Set(['board', 'status', 'suspects', 'plan', 'proof', 'check', 'draw', 'sheet', 'expect', 'jobs', 'shelf']);

async function api(operation, args) {
  const reply = await ask(operation, args);
  if (!reading.has(operation)) for (const one of listeners) one.write(`event: changed\ndata: {"job":"${args.job ?? ''}"}\n\n`);
  return reply;
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
