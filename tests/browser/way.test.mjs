// A new user's whole way from "New job" to "accepted", with a trailer that the demo does not have: one for a peat cutter,
// an invented machine on two tracks. By mouse at a desk, on a phone, with the keyboard alone, and without scripts.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Keyboard, Pointer } from './hands.mjs';
import { assertFits, assertQuiet, DESK, nextPage, PHONE, screenshot, shop } from './support.mjs';

const hooks = [];
let place;
before(async () => { place = await shop({ after: hook => hooks.push(hook) }); });
after(async () => { for (const hook of hooks.reverse()) await hook(); });

const title = page => page.locator('h1').innerText();
const button = (page, name) => page.getByRole('button', { name, exact: true });
const link = (page, name) => page.getByRole('link', { name, exact: true });
const field = (page, name) => page.getByLabel(name);

/// Presses what leads to another page, and waits for that page.
async function go(hand, target) {
  await nextPage(hand.page, () => hand.press(target));
}

/// From the first page to the design of a new job.
async function ask(hand) {
  const { page } = hand;
  await page.goto(place.url);
  await go(hand, link(page, 'New job'));
  await hand.fill(field(page, 'What it is for'), 'Trailer for a peat cutter');
  await hand.fill(page.locator('#f-customer'), 'Fenna Mire, Rushmoor Turf Pits');
  await go(hand, button(page, 'Make the job'));
  assert.equal(await title(page), 'Trailer for a peat cutter');
  await go(hand, button(page, 'Add a load'));
  await go(hand, button(page, 'Add a towing vehicle'));
  await hand.fill(field(page, 'Name of the load'), 'peat cutter');
  await hand.choose(field(page, 'Kind of load'), 'ride-on machine');
  await hand.fill(field(page, 'Mass of the load'), '410 kg');
  await hand.fill(field(page, 'Length of the load'), '1.9 m');
  await hand.fill(field(page, 'Width of the load'), '1020');
  await hand.fill(field(page, 'Height of the load'), '1150');
  await hand.fill(field(page, 'Name of the vehicle'), 'farm pick-up');
  await hand.fill(field(page, 'Kerb mass'), '1950');
  await hand.fill(field(page, 'Towing limit, braked'), '2500');
  await hand.fill(field(page, 'Towing limit, unbraked'), '750');
  await hand.fill(field(page, 'Limit on the coupling'), '110');
  await hand.fill(field(page, 'Height of its coupling'), '440');
  await hand.fill(field(page, 'Width of its body'), '1850');
  await go(hand, button(page, 'Save and go on to the trailer'));
  assert.match(page.url(), /\/trailer$/);
}

/// The bed, kept; answers the price.
async function design(hand) {
  const { page } = hand;
  await hand.fill(field(page, 'Bed length'), '2500');
  await hand.fill(field(page, 'Bed width'), '1350');
  await go(hand, button(page, 'Save the design'));
  assert.equal(await field(page, 'Bed length').inputValue(), '2500 mm');
}

/// From the kept design to the link for the customer; answers the link.
async function quote(hand) {
  const { page } = hand;
  await go(hand, link(page, 'Price'));
  // The default frame is light for this machine: each check that fails is answered in writing, as the page asks.
  for (let left = 20; left > 0 && await unanswered(page).count() > 0; left -= 1) {
    const form = page.locator('form', { has: unanswered(page) }).first();
    await hand.fill(form.locator('textarea'), 'The frame is made stronger before it is built; the shop has looked at it.');
    await go(hand, form.getByRole('button', { name: 'Keep the answer', exact: true }));
  }
  assert.equal(await unanswered(page).count(), 0);
  await go(hand, link(page, 'Revisions'));
  await go(hand, button(page, 'Issue revision 1'));
  if (await button(page, 'Make a link').count() === 0) await go(hand, link(page, 'Revision 1'));
  await go(hand, button(page, 'Make a link'));
  return page.locator('[data-test="link"]').getAttribute('href');
}

const unanswered = page => page.locator('textarea[name="answer"]:empty');

/// The customer reads their copy and accepts.
async function accept(hand, address) {
  const { page } = hand;
  await page.goto(address);
  assert.match(await page.locator('main').innerText(), /peat cutter/);
  await hand.fill(page.locator('#f-accept_name'), 'Fenna Mire');
  await hand.press(page.locator('#f-agree'));
  await go(hand, page.getByRole('button', { name: /^Accept for/ }));
  assert.match(await page.locator('[data-test="accepted"]').innerText(), /You accepted this quote/);
}

/// The whole way; `onTheWay` looks at the design page while the design is typed.
async function walk(hand, name, onTheWay = async () => {}) {
  const { page } = hand;
  const began = Date.now();
  await ask(hand);
  await onTheWay(page);
  await design(hand);
  await assertFits(page, `the trailer (${name})`);
  await screenshot(page, `way-${name}-trailer`);
  const job = page.url().replace(/\/trailer.*$/, '');
  const address = await quote(hand);
  await accept(hand, address);
  await assertFits(page, `the customer's copy (${name})`);
  await screenshot(page, `way-${name}-accepted`);
  await page.goto(job);
  assert.equal(await page.locator('.page-head .stage').innerText(), 'accepted');
  assert.match(await page.locator('[data-test="trail"]').innerText(), /accepted revision 1/);
  await page.goto(`${job}/revisions`);
  assert.match(await page.locator('[data-test="revisions"]').innerText(), /Fenna Mire/);
  assertQuiet(page, name);
  assert.ok(Date.now() - began < 300_000, 'the way took longer than five minutes');
}

test('by mouse at a desk, the figures move while the design is typed', async () => {
  const page = await place.newPage({ viewport: DESK });
  await walk(new Pointer(page), 'desk', async () => {
    const figure = key => page.locator(`#preview [data-test="headline"] [data-test="${key}"]`);
    const keys = ['empty-mass', 'coupling', 'bars', 'price'];
    const read = () => Promise.all(keys.map(async key => (await figure(key).innerText()).trim()));
    const before = await read();
    await field(page, 'Bed length').fill('5000');
    await page.waitForFunction(was => document.querySelector('#preview [data-test="empty-mass"]')?.innerText.trim() !== was, before[0]);
    const after = await read();
    keys.forEach((key, at) => assert.notEqual(after[at], before[at], `${key} stood still at ${before[at]}`));
    await field(page, 'Bed length').fill('long');
    await page.locator('[data-test="preview-faults"]').waitFor();
    assert.equal(await field(page, 'Bed length').inputValue(), 'long');
  });
});

test('on a phone', async () => {
  const page = await place.newPage({ viewport: PHONE, hasTouch: true, isMobile: true });
  await walk(new Pointer(page), 'phone');
});

test('with the keyboard alone', async () => {
  const page = await place.newPage({ viewport: DESK });
  await walk(new Keyboard(page), 'keyboard');
});

test('without scripts', async () => {
  const page = await place.newPage({ viewport: DESK, javaScriptEnabled: false });
  await walk(new Pointer(page), 'no-scripts');
});
