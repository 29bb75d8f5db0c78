// One job played through the page, from the start view to the printed sheet, by somebody who taps or types. The answers
// come from a vehicle with a hidden fault. Counts what was done on the way.
import path from 'node:path';
import { root } from './server.mjs';

export const demos = [
  { name: 'gritter', fault: 'J5:3 open', reader: true },
  { name: 'refuse-truck', fault: 'J8:2 open', reader: true },
  { name: 'tipper-trailer', fault: 'GR high', severity: 0.15, reader: false },
  { name: 'road-sweeper', fault: 'J5:1 open', reader: false },
];
export const loomOf = (name) => path.join(root, 'examples', name, `${name}.loom.toml`);

/** What the page knows of its job; looking is not counted. */
export async function look(page) {
  return page.evaluate(async () => {
    const job = decodeURIComponent(location.hash.split('/')[2]);
    const response = await fetch('/api/board', { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ job, part: ['job', 'next', 'proof'] }) });
    return (await response.json()).result;
  });
}

/** Waits until the page has redrawn after the newest entry. `data-entries`: how many the page knows. */
export async function settled(page) {
  await page.waitForFunction(() => document.querySelector('#main') !== null && document.querySelector('.working.on, .waiting, [data-thinking="yes"]') === null, null, { timeout: 60000 });
  await page.waitForTimeout(40);
}

/** Waits until the page knows of `count` entries, and then until it is settled. */
export async function caughtUp(page, count) {
  await page.waitForFunction((wanted) => Number(document.querySelector('[data-entries]')?.dataset.entries ?? 0) >= wanted, count, { timeout: 60000 });
  await settled(page);
}

/** What is known before the first test, said as the reader shows it: which modules are silent, the list of each other. */
export async function sayKnown(page, person, demo, vehicle) {
  if (!demo.reader) return;
  const { result } = await vehicle.ask('expect', { loom: vehicle.loom, codes: true, if: [vehicle.fault] });
  await person.sayKnown();
  await page.waitForSelector('[data-said]');
  const whole = (await page.locator('[data-said^="list "]').count()) > 0;
  // First who is silent, then what all the others have in common, then the rest of each list.
  const silent = result.lists[1].modules.filter((module) => module.answers < 0.5).map((module) => module.module);
  if (whole)
    for (const module of silent) {
      await person.press(`[data-said="module ${module} silent"]`);
      await page.waitForSelector(`[data-said="module ${module} silent"][aria-pressed="true"]`);
    }
  const base = ({ module }, code) => (code.startsWith(`${module} `) ? code.slice(module.length + 1) : code);
  const everywhere = whole ? await page.locator('[data-said^="everywhere "]').evaluateAll((all) => all.map((one) => one.dataset.said.slice('everywhere '.length))) : [];
  const common = everywhere.filter((code) => result.lists[1].modules.filter((module) => !silent.includes(module.module)).every((module) => module.codes.every((one) => base(module, one.code) !== code || one.active > 0.5)));
  for (const code of common) {
    await person.press(`[data-said="everywhere ${code}"]`);
    await settled(page);
  }
  for (const module of result.lists[1].modules) {
    const press = async (said) => {
      await person.press(`[data-said="${said}"]`);
      await settled(page);
    };
    const active = module.codes.filter((code) => code.active > 0.5 && !common.includes(base(module, code.code))).map((code) => code.code);
    if (module.answers < 0.5) continue;
    if (!whole) for (const code of active) await press(`code ${code} active`);
    else if (active.length > 0) {
      for (const code of active) await press(`${module.module} ${code} active`);
    }
  }
  if (whole) {
    const all = page.locator('[data-said="all lists"]');
    if ((await all.count()) > 0) await person.press('[data-said="all lists"]');
    await page.waitForFunction(() => document.querySelector('[data-said="all lists"]') === null);
    await settled(page);
  }
  await person.tab('test');
  await page.waitForSelector('#card-title', { timeout: 60000 });
  await settled(page);
}

export async function openDemo(page, person, demo) {
  await person.press(`#loom-demo-${demo.name}`);
  await person.press('.choice .button');
  await page.waitForSelector('#card-title', { timeout: 60000 });
  await settled(page);
}

async function ensureUnlocked(page, person) {
  // The row of a proof asks first what to mind.
  await page.waitForFunction(() => document.querySelector('[data-minded="no"]') === null);
  for (let turn = 0; turn < 6 && (await page.locator('.key.lock').count()) > 0; ++turn) {
    await person.unlock();
    await page.waitForTimeout(150);
  }
}

// A lamp that works is bright.
const same = { yes: 'answers', no: 'silent', works: 'bright', weak: 'dim', dead: 'dark', bright: 'works', dim: 'weak', dark: 'dead' };
async function wordThere(page, shown) {
  return (await page.locator(`.key.word[data-word="${shown}"]`).count()) > 0 ? shown : same[shown] ?? shown;
}

async function give(page, person, shown) {
  const before = (await look(page)).job.entries.length;
  await ensureUnlocked(page, person);
  if ((await page.locator('.pad-words').count()) > 0) await person.word(await wordThere(page, shown));
  else await person.reading(shown);
  await page.waitForTimeout(30);
  for (let turn = 0; (await look(page)).job.entries.length === before; ++turn) {
    if (turn > 200) throw new Error(`"${shown}" was not entered: ${await page.locator('.problems').first().textContent()}`);
    await page.waitForTimeout(50);
  }
  await caughtUp(page, before + 1);
}

/** Plays until the proof is complete; the entries made on the way. */
export async function playToProof(page, person, vehicle, most = 40) {
  const { result } = await vehicle.ask('faults', { loom: vehicle.loom });
  const name = vehicle.fault.split('@')[0];
  const cure = result.faults.find((one) => one.name === name).repair;
  let mended = false;
  for (let turn = 0; turn < most; ++turn) {
    const now = await look(page);
    await caughtUp(page, now.job.entries.length);
    if (process.env.TELL) console.log('  ', person.count, now.next.kind, now.next.test?.what ?? now.next.repair ?? '');
    if (now.proof?.complete) return { turns: turn, entries: now.job.entries.length };
    if (now.next.kind === 'test') {
      const asked = now.next.test.what;
      await page.waitForFunction((title) => document.querySelector('#card-title')?.textContent !== '' && title !== '', asked);
      await give(page, person, await vehicle.read(asked, now.next.state, mended));
    } else if (now.next.kind === 'repair') {
      if (now.next.repairs.length === 0) throw new Error('it looks beyond the drawing');
      for (let k = 0; k < 5; ++k) {
        await person.press('#repaired');
        await settled(page);
        if ((await look(page)).job.entries.some((one) => one.what.startsWith('repaired'))) break;
      }
      mended = mended || now.next.repairs.includes(cure);
    } else if (now.next.kind === 'prove') {
      const signs = now.proof.rows.filter((one) => one.symptom);
      const atWork = ({ unplugged, fitted, swapped }) => unplugged.length + fitted.length + swapped.length === 0;
      const rows = signs.length > 0 ? signs : now.proof.rows.filter((one) => atWork(one.configuration));
      const row = rows.find((one) => one.after === '') ?? rows.find((one) => !one.fits);
      if (!row) throw new Error(`nothing to see again: ${JSON.stringify(now.proof)}`);
      const shown = await vehicle.read(row.what, row.configuration, mended);
      if (process.env.TELL) console.log('     ', row.what, row.after, row.fits, shown, await page.locator('#card-title').textContent());
      const list = page.locator('[data-said^="none "]');
      if (shown === 'absent' && (await list.count()) > 0) {
        const before = now.job.entries.length;
        const anywhere = (await page.locator('[data-said="none anywhere"]').count()) > 0;
        await person.press(anywhere ? '[data-said="none anywhere"]' : '[data-said^="none "]');
        await caughtUp(page, before + 1);
      } else await give(page, person, shown);
    } else throw new Error(`it ends with ${now.next.kind}`);
  }
  throw new Error(`no proof after ${most} turns`);
}

/** From the proof to the printed sheet. */
export async function closeAndPrint(page, person) {
  await page.evaluate(() => {
    window.printed = 0;
    window.print = () => ++window.printed;
  });
  await page.waitForSelector('#undo-all, #close-job', { timeout: 20000 });
  if ((await page.locator('#undo-all').count()) > 0) await person.press('#undo-all');
  await page.waitForSelector('#close-job', { timeout: 20000 });
  await settled(page);
  await person.press('#close-job');
  await page.waitForSelector('.paper', { timeout: 20000 });
  await settled(page);
  await person.press('#print-sheet');
  await page.waitForFunction(() => window.printed === 1);
}
