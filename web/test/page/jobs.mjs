// Every demo job by thumb at 390 px and by keyboard at 1,280 px, from the start view to the printed sheet; and a sketch
// from blank to the first next-test. What it took is counted and told.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Keyboard, laptop, launch, openPage, phone, Thumb } from './browser.mjs';
import { closeAndPrint, demos, loomOf, openDemo, playToProof, sayKnown, settled } from './play.mjs';
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

const sketches = [
  { template: 'two-wire-sensor', guesses: 3 },
  { template: 'feed', guesses: 1 },
  { template: 'can-backbone', guesses: 1 },
  { template: 'path', guesses: 4 },
];
for (const [how, Person, device] of people)
  for (const one of sketches)
    test(`a ${one.template} from blank by ${how}: usual names, first next-test`, async () => {
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
      rows.push({ job: `sketch ${one.template}`, how, toFirst: person.count, toProof: '-', toSheet: '-', all: person.count, entries: 0 });
      assert.ok(person.count <= 40, `first next-test after ${person.count}`);
      assert.deepEqual(page.trouble, []);
      await page.context().close();
    });

after(() => {
  for (const row of rows) console.log(`${row.job.padEnd(24)} ${row.how.padEnd(9)} first next-test ${String(row.toFirst).padStart(3)}, proof +${row.toProof}, sheet +${row.toSheet}, printed at ${row.all}, ${row.entries} entries`);
});
