// Tests of the page. `node test/run.mjs short`: types, unit tests, a build, and one job in the browser (under a minute).
// `node test/run.mjs long`: all jobs by thumb and by keyboard, every view and theme, what breaks. `unit`: no browser.
// HALFSPLIT names the program, else build/dev/halfsplit. Without Chromium (CHROMIUM, else /usr/bin/chromium) the browser
// tests are skipped, aloud, and the exit code is 77.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, rmSync } from 'node:fs';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import * as esbuild from 'esbuild';

const here = path.dirname(fileURLToPath(import.meta.url));
const web = path.dirname(here);
const which = process.argv[2] ?? 'short';

function run(what, program, args) {
  console.log(`== ${what}`);
  const began = Date.now();
  const done = spawnSync(program, args, { cwd: web, stdio: 'inherit' });
  console.log(`   ${((Date.now() - began) / 1000).toFixed(1)} s`);
  if (done.status !== 0) {
    console.error(`failed: ${what}`);
    process.exit(done.status === 77 ? 77 : 1);
  }
}

const made = path.join(here, '.made');
rmSync(made, { recursive: true, force: true });
mkdirSync(made);
const units = readdirSync(path.join(here, 'unit')).filter((name) => /\.test\.tsx?$/.test(name));
await esbuild.build({
  entryPoints: units.map((name) => path.join(here, 'unit', name)),
  outdir: made,
  outExtension: { '.js': '.mjs' },
  bundle: true,
  platform: 'node',
  format: 'esm',
  target: 'node18',
  jsx: 'automatic',
  jsxImportSource: 'preact',
  loader: { '.toml': 'text' },
  logLevel: 'warning',
});

run('types', process.execPath, ['node_modules/typescript/bin/tsc', '--noEmit']);
run('units', process.execPath, ['--test', ...units.map((name) => path.join(made, name.replace(/\.tsx?$/, '.mjs')))]);
if (which === 'unit') process.exit(0);

const chromium = process.env.CHROMIUM ?? '/usr/bin/chromium';
const program = process.env.HALFSPLIT ?? path.join(web, '../build/dev/halfsplit');
for (const [what, file] of [['Chromium', chromium], ['the program', program]])
  if (!existsSync(file)) {
    console.log(`SKIPPED: the browser tests, for there is no ${what} at ${file}`);
    process.exit(77);
  }
const files = which === 'long' ? ['markup', 'jobs', 'sketch', 'typing', 'own', 'screens', 'views', 'recording', 'breaks', 'speed'] : ['markup', 'short'];
for (const name of files) run(name, process.execPath, ['--test', '--test-reporter=spec', path.join(here, 'page', `${name}.mjs`)]);
