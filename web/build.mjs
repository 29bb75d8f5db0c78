// Builds the page into dist/: index.html, page.js, page.css, icon.svg. `--watch` builds again at every change.
// Nothing is fetched; the program embeds what lies in dist/.
import { copyFile, mkdir, readFile, stat } from 'node:fs/promises';
import { gzipSync } from 'node:zlib';
import { fileURLToPath } from 'node:url';
import path from 'node:path';
import * as esbuild from 'esbuild';

const here = path.dirname(fileURLToPath(import.meta.url));
const at = (...names) => path.join(here, ...names);
const watch = process.argv.includes('--watch');
const most = 300 * 1024; // bytes, all files compressed

const options = {
  entryPoints: { page: at('src/main.tsx'), style: at('src/style/all.css') },
  outdir: at('dist'),
  bundle: true,
  minify: !watch,
  format: 'esm',
  target: ['es2021'],
  jsx: 'automatic',
  jsxImportSource: 'preact',
  legalComments: 'none',
  charset: 'utf8',
  loader: { '.toml': 'text' },
  logLevel: 'warning',
};

await mkdir(at('dist'), { recursive: true });
const fixed = ['index.html', 'icon.svg'];
for (const name of fixed) await copyFile(at('src', name), at('dist', name));

if (watch) {
  const context = await esbuild.context(options);
  await context.watch();
} else {
  await esbuild.build(options);
  let sum = 0;
  for (const name of [...fixed, 'page.js', 'style.css']) {
    const bytes = gzipSync(await readFile(at('dist', name)), { level: 9 }).length;
    sum += bytes;
    console.log(`${name.padEnd(12)} ${String((await stat(at('dist', name))).size).padStart(8)} bytes, ${bytes} compressed`);
  }
  console.log(`${'together'.padEnd(12)} ${' '.repeat(14)} ${sum} compressed`);
  if (sum > most) {
    console.error(`the page is heavier than ${most} bytes compressed`);
    process.exit(1);
  }
}
