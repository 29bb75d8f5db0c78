// Takes the pictures of README and guide: the demo jobs, played on the page against the real program. Invented vehicles.
// node web/pictures.mjs PROGRAM FOLDER
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import path from 'node:path';

const [program, folder] = process.argv.slice(2);
if (!folder) {
  console.error('node web/pictures.mjs PROGRAM FOLDER');
  process.exit(2);
}
process.env.HALFSPLIT = path.resolve(program);
const { Keyboard, Thumb, laptop, launch, openPage, phone } = await import('./test/page/browser.mjs');
const { closeAndPrint, demos, loomOf, look, openDemo, playToProof, sayKnown, settled } = await import('./test/page/play.mjs');
const { Server, Vehicle } = await import('./test/page/server.mjs');

const server = await Server.start();
const browser = await launch();
const vehicles = [];

async function picture(page, name) {
  await settled(page);
  await page.evaluate(() => document.activeElement?.blur());
  await page.screenshot({ path: path.join(folder, `${name}.png`) });
  console.log(name);
}

async function start(device, person, demo, more) {
  const page = await openPage(browser, server, device, more);
  const who = new person(page);
  const vehicle = new Vehicle(loomOf(demo.name), demo.fault, demo.severity);
  vehicles.push(vehicle);
  await openDemo(page, who, demo);
  await sayKnown(page, who, demo, vehicle);
  return { page, who, vehicle };
}

/** Answers `turns` tests. */
async function answer({ page, who, vehicle }, turns) {
  try {
    await playToProof(page, who, vehicle, turns);
  } catch (error) {
    if (!/no proof after/.test(error.message)) throw error;
  }
}

try {
  const gritter = await start({ ...phone, deviceScaleFactor: 2 }, Thumb, demos[0]);
  await answer(gritter, 1);
  await picture(gritter.page, 'phone-test');
  await gritter.who.tab('drawing');
  await picture(gritter.page, 'phone-drawing');
  await gritter.who.tab('suspects');
  await picture(gritter.page, 'phone-suspects');
  await gritter.who.tab('test');
  await answer(gritter, 12);
  await picture(gritter.page, 'phone-proof');
  await closeAndPrint(gritter.page, gritter.who);
  await picture(gritter.page, 'phone-sheet');

  const truck = await start(laptop, Keyboard, demos[1]);
  await answer(truck, 1);
  await picture(truck.page, 'laptop-job');
  const night = await start(laptop, Keyboard, demos[0], { colorScheme: 'dark' });
  await answer(night, 1);
  await picture(night.page, 'laptop-night');

  const log = path.join(server.folder, 'run.log');
  execFileSync(process.env.HALFSPLIT, ['rehearse', loomOf('drain-jetter'), '--fault', 'J6:8 comes and goes', '--seed', '5', '--record', log]);
  const bus = await openPage(browser, server, { viewport: { width: 1280, height: 960 } });
  await bus.evaluate(async (text) => {
    const ask = async (name, body) => (await (await fetch(`/api/${name}`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) })).json()).result;
    await ask('shelf', { do: 'put', what: 'drain-jetter', text });
    const { job } = await ask('open', { loom: 'shelf:drain-jetter', complaint: 'pump and reel stop now and then' });
    location.hash = `#/job/${encodeURIComponent(job)}/recording`;
  }, readFileSync(loomOf('drain-jetter'), 'utf8'));
  await bus.waitForSelector('#recording-file', { state: 'attached' });
  await bus.setInputFiles('#recording-file', log);
  await bus.waitForSelector('#witness-put:not([disabled])', { timeout: 60000 });
  await bus.locator('.time-frame').focus();
  await bus.keyboard.press('ArrowDown');
  await bus.evaluate(() => {
    document.querySelector('.time-picture').scrollIntoView({ block: 'start' });
    document.querySelector('.panel-pane').scrollTop -= 60;
  });
  await picture(bus, 'recording');

  const sketch = await openPage(browser, server, laptop);
  await sketch.goto(`${server.base}/#/sketch/two-wire-sensor`);
  for (const [question, answer] of [['module', 'HCU'], ['sensor', 'B12'], ['curve', '-40=50k, 20=2500, 120=120'], ['plugs', 'J2:5/6, J5:2/3']]) await sketch.fill(`#ask-${question}`, answer);
  await sketch.waitForTimeout(1500);
  await picture(sketch, 'laptop-sketch');
  console.log(`first next test: ${(await look(night.page)).next.kind}`);
} finally {
  for (const vehicle of vehicles) vehicle.stop();
  await browser.close();
  await server.stop();
}
