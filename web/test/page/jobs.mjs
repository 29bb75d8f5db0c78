// Every demo job by thumb at 390 px and by keyboard at 1,280 px, from the start view to the printed sheet; and so a
// sketch from blank. What it took is counted and told.
import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import path from 'node:path';
import { after, before, test } from 'node:test';
import { ask, Keyboard, laptop, launch, openPage, phone, Thumb } from './browser.mjs';
import { closeAndPrint, demos, loomOf, look, openDemo, playToProof, sayKnown, settled } from './play.mjs';
import { Server, Vehicle } from './server.mjs';

let server, browser;
before(async () => {
  server = await Server.start();
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

const people = [['thumb', Thumb, phone], ['keyboard', Keyboard, laptop]];
const rows = [];

for (const [how, Person, device] of people)
  for (const demo of demos)
    test(`${demo.name} by ${how}`, async (t) => {
      const page = await openPage(browser, server, device);
      const person = new Person(page);
      const vehicle = new Vehicle(loomOf(demo.name), demo.fault, demo.severity);
      t.after(() => vehicle.stop());
      await openDemo(page, person, demo);
      const toFirst = person.count;
      await sayKnown(page, person, demo, vehicle);
      const { entries } = await playToProof(page, person, vehicle);
      const toProof = person.count - toFirst;
      await closeAndPrint(page, person);
      const toSheet = person.count - toFirst - toProof;
      rows.push({ job: demo.name, how, toFirst, toProof, toSheet, all: person.count, entries });
      assert.ok(toFirst <= 40, `first next-test after ${toFirst}`);
      assert.ok(toProof <= 40, `proof after ${toProof} more`);
      // Undone, closed, printed: three presses, each at most a Tab away.
      assert.ok(toSheet <= 6, `from the proof to the printed sheet: ${toSheet}`);
      assert.deepEqual(page.trouble, []);
      await page.context().close();
    });

// `fault`: of the circuit that comes of the usual names; without one up to the first next-test.
const sketches = [
  { template: 'two-wire-sensor', guesses: 3, fault: /\.1 open$/ },
  { template: 'feed', guesses: 1, fault: /\.1 open$/ },
  { template: 'can-backbone', guesses: 1 },
  { template: 'path', guesses: 4, fault: /\.1 open$/ },
];

/** The circuit just sketched as a vehicle in which the first fault of that name is hidden. */
async function vehicleOf(page, pattern, t) {
  const { job } = await look(page);
  const { result: shelf } = await ask(page, 'shelf', { do: 'list' });
  const kept = shelf.looms.find((one) => one.name === job.loom);
  const { result } = await ask(page, 'shelf', { do: 'get', what: kept.loom });
  const file = path.join(server.folder, `sketched-${Date.now()}.loom.toml`);
  writeFileSync(file, result.text);
  const vehicle = new Vehicle(file, '');
  t.after(() => vehicle.stop());
  vehicle.fault = (await vehicle.ask('faults', { loom: file })).result.faults.map((one) => one.name).find((name) => pattern.test(name));
  return vehicle;
}
for (const [how, Person, device] of people)
  for (const one of sketches)
    test(`a ${one.template} from blank by ${how}: usual names, ${one.fault ? 'to the printed sheet' : 'first next-test'}`, async (t) => {
      const page = await openPage(browser, server, device);
      const person = new Person(page);
      await person.press('#new-sketch');
      await person.press(`#template-${one.template}`);
      for (let turn = 0; turn < one.guesses; ++turn)
        if (how === 'keyboard') {
          // A field has the focus; Enter takes its guess and goes to the next.
          await page.waitForFunction(() => document.activeElement?.tagName === 'INPUT');
          await person.key('Enter');
          await page.waitForTimeout(150);
        }
        else await person.press(one.template === 'path' ? '.path-field .choice .button' : '.guessed > .button');
      await page.waitForSelector('.sketch-picture img', { timeout: 30000 });
      await person.press('[data-complaint="0"]');
      await page.waitForSelector('#card-title', { timeout: 60000 });
      await settled(page);
      const row = { job: `sketch ${one.template}`, how, toFirst: person.count, toProof: '-', toSheet: '-', all: person.count, entries: 0 };
      rows.push(row);
      assert.ok(person.count <= 40, `first next-test after ${person.count}`);
      if (one.fault) {
        const vehicle = await vehicleOf(page, one.fault, t);
        row.entries = (await playToProof(page, person, vehicle)).entries;
        row.toProof = person.count - row.toFirst;
        // All fits; where another look is still worth its minutes, the proof is a tab away.
        if ((await page.locator('#undo-all, #close-job').count()) === 0) await person.tab('proof');
        await closeAndPrint(page, person);
        row.toSheet = person.count - row.toFirst - row.toProof;
        row.all = person.count;
        assert.ok(row.toProof <= 40, `proof after ${row.toProof} more`);
        assert.ok(row.toSheet <= 6, `from the proof to the printed sheet: ${row.toSheet}`);
      }
      assert.deepEqual(page.trouble, []);
      await page.context().close();
    });

after(() => {
  for (const row of rows) console.log(`${row.job.padEnd(24)} ${row.how.padEnd(9)} first next-test ${String(row.toFirst).padStart(3)}, proof +${row.toProof}, sheet +${row.toSheet}, printed at ${row.all}, ${row.entries} entries`);
});
