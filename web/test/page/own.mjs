// A test or an act of one's own choice: refused, cautioned and prepared for before anything can be entered, as on the
// card; names that the drawing does not have; what was fitted, in fields.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { ask, laptop, launch, openPage, phone } from './browser.mjs';
import { caughtUp, look, settled } from './play.mjs';
import { Server } from './server.mjs';

// Invented, with every hazard that is cautioned or refused.
const hazards = `loom = 1
name = "hazards, invented"
in_use = ["key-on"]
[setups]
key-on = { do = 0.1, undo = 0.1, sets = { S1 = "closed" } }
body-raised = { do = 1, undo = 1, caution = "Prop the body." }
[places.hinge]
minutes = 0.5
needs = ["body-raised"]
caution = "Pinch point at the hinge."
[parts]
BAT = { kind = "battery" }
F1 = { kind = "fuse", rating_a = 10 }
S1 = { kind = "switch" }
H1 = { kind = "lamp", watt = 21, hazard = "dangerous-goods" }
H2 = { kind = "lamp", watt = 21, place = "hinge" }
R9 = { kind = "resistor", ohm = 2, hazard = "airbag" }
[connectors]
J1 = { sides = ["front", "rear"], pins = "1-4", hazard = "dangerous-goods" }
J2 = { sides = ["front", "rear"], pins = "1-4", hazard = "brakes" }
[runs]
a = "BAT:+ -> F1 -> S1 -> SP1"
b = "SP1 -> J1:1 -> H1 -> J1:2 -> chassis"
c = "SP1 -> J2:1 -> H2 -> J2:2 -> chassis"
d = "SP1 -> R9 -> chassis"
m = "BAT:- -> chassis"
[splices]
SP1 = {}
`;

let server, browser;
before(async () => {
  server = await Server.start();
  browser = await launch();
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

async function openHazards(device = laptop) {
  const page = await openPage(browser, server, device);
  await ask(page, 'shelf', { do: 'put', what: 'hazards', text: hazards, force: true });
  const { result } = await ask(page, 'open', { loom: 'shelf:hazards', complaint: 'lamps out' });
  await page.goto(`${server.base}/#/job/${encodeURIComponent(result.job)}/other`);
  await page.waitForSelector('.panel');
  await settled(page);
  return page;
}

async function measure(page, instrument, red, black) {
  await page.getByRole('button', { name: 'Measured', exact: true }).click();
  await page.getByRole('button', { name: instrument }).click();
  await page.locator('#other-red').fill(red);
  await page.locator('#other-black').fill(black);
  await page.locator('#other-black').blur();
  await page.waitForSelector('[data-minded="yes"], .panel .problem');
}

const entries = async (page) => (await look(page)).job.entries;

test('what must not be measured is refused before a value can be typed', async () => {
  const page = await openHazards();
  const { length } = await entries(page);
  for (const [instrument, red, why] of [
    ['meter, ohms', 'R9:1', /Airbag or pretensioner circuit: never an ohmmeter/],
    ['test lamp', 'R9:1', /Airbag or pretensioner circuit: never a test lamp/],
    ['meter, ohms', 'BAT:+', /never an ohmmeter|live there/i],
  ]) {
    await measure(page, instrument, red, 'chassis');
    await page.locator('.minded .problem').getByText(why).waitFor();
    assert.equal(await page.locator('.pad-keys, .pad-words').count(), 0, `${instrument} ${red}: the keys are locked`);
    await page.keyboard.type('1');
    await page.keyboard.press('Enter');
    await page.waitForTimeout(200);
    assert.equal((await entries(page)).length, length);
  }
  assert.deepEqual(page.trouble, []);
  await page.context().close();
});

test('cautions come before the value, and what has to be made first is said and entered with it', async () => {
  const page = await openHazards();
  await ask(page, 'undo', { job: decodeURIComponent(new URL(page.url()).hash.split('/')[2]) });
  await settled(page);
  await measure(page, 'meter, DC volts', 'H1:1', 'chassis');
  await page.locator('.minded .caution').getByText(/Dangerous goods vehicle: no sparks/).waitFor();
  await measure(page, 'meter, DC volts', 'H2:1', 'chassis');
  await page.locator('.minded .steps').getByText('body-raised').waitFor();
  assert.match(await page.locator('.minded').textContent(), /Prop the body\..*Pinch point at the hinge\./s);
  const { length } = await entries(page);
  for (let turn = 0; turn < 5 && (await page.locator('.pad .lock').count()) > 0; ++turn) {
    await page.locator('.pad .lock').click();
    await page.waitForTimeout(150);
  }
  await page.keyboard.type('0.1');
  await page.keyboard.press('Enter');
  await caughtUp(page, length + 2);
  assert.deepEqual((await entries(page)).slice(-2).map((one) => `${one.verb} ${one.what} ${one.shows}`.trim()), ['did body-raised', 'saw volts H2:1 chassis 0.1']);
  assert.deepEqual(page.trouble, []);
  await page.context().close();
});

test('on a small screen the keys stay locked until the cautions were on it; the arrow points to them', async () => {
  const page = await openHazards({ ...phone, viewport: { width: 390, height: 560 } });
  await measure(page, 'meter, DC volts', 'H2:1', 'chassis');
  await page.evaluate(() => document.querySelector('.panel-pane').scrollTo(0, 0));
  const lock = page.locator('.pad .lock');
  if ((await lock.count()) > 0) {
    assert.match(await lock.textContent(), /↓/);
    for (let turn = 0; turn < 5 && (await lock.count()) > 0; ++turn) {
      await lock.click();
      await page.waitForTimeout(200);
    }
  }
  await page.waitForSelector('.pad-keys');
  await page.context().close();
});

test('a point that is not on the drawing is refused with the nearest name; a side that a plug does not have has no face', async () => {
  const page = await openHazards();
  await measure(page, 'meter, DC volts', 'J1:1@front', 'chassist');
  await page.getByText(/chassist/).first().waitFor();
  assert.match(await page.locator('.panel .problem').textContent(), /chassis\b/);
  assert.equal(await page.locator('.pad').count(), 0);
  await measure(page, 'meter, DC volts', 'J1:1@middle', 'chassis');
  await page.locator('.panel .problem').getByText(/J1:1@middle/).waitFor();
  assert.equal(await page.locator('.face').count(), 0);
  assert.equal(await page.locator('.pad').count(), 0);
  await page.context().close();
});

test('an act is cautioned above the button that enters it', async () => {
  const page = await openHazards();
  await page.getByRole('button', { name: 'Did', exact: true }).click();
  const { length } = await entries(page);
  await page.locator('[data-said="unplug J1"]').click();
  await page.locator('.minded .caution').getByText(/Dangerous goods/).waitFor();
  assert.equal((await entries(page)).length, length, 'asked first');
  await page.locator('[data-said="confirm unplug J1"]').click();
  await caughtUp(page, length + 1);
  assert.equal((await entries(page)).at(-1).what, 'unplug J1');
  // Nothing to mind: one press.
  await page.locator('[data-said="undo key-on"]').click();
  await caughtUp(page, length + 2);
  assert.deepEqual(page.trouble, []);
  await page.context().close();
});

test('a lead and a resistor are told in fields, with their cautions', async () => {
  const page = await openHazards();
  await page.getByRole('button', { name: 'Did', exact: true }).click();
  const { length } = await entries(page);
  await page.getByRole('button', { name: 'lead', exact: true }).click();
  await page.locator('#fit-a').fill('J2:1@rear');
  await page.locator('#fit-b').fill('J2:2@rear');
  await page.locator('.minded .caution').getByText(/Use a fused lead/).waitFor();
  await page.locator('.minded .caution').getByText(/Brake circuit/).waitFor();
  const confirm = page.locator('[data-said^="confirm fit lead"]');
  for (let turn = 0; turn < 6 && (await entries(page)).length === length; ++turn) {
    await confirm.click();
    await settled(page);
  }
  assert.match((await entries(page)).at(-1).what, /^fit lead at J2:1@rear J2:2@rear/);
  // Into an airbag circuit: refused, no button that would enter it.
  await page.locator('#fit-a').fill('R9:1');
  await page.locator('#fit-b').fill('chassis');
  await page.locator('.minded .problem').getByText(/Airbag/).waitFor();
  await page.locator('[data-said^="confirm fit lead"]').click();
  await page.waitForTimeout(300);
  assert.equal((await entries(page)).filter((one) => /R9/.test(one.what)).length, 0);
  assert.deepEqual(page.trouble, []);
  await page.context().close();
});
