// What was ordered: recorded from the purchase list with the keyboard on a phone, put on the rack, arrived, cancelled; and two people who
// order the same.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Keyboard } from './hands.mjs';
import { assertFocused, assertSound, assertSoundOnPhone, nextPage, PHONE, shop, signedIn, WORKSHOP } from './support.mjs';

const hooks = [];
let place;
before(async () => { place = await shop({ after: hook => hooks.push(hook) }); });
after(async () => { for (const hook of hooks.reverse()) await hook(); });

const button = (page, name) => page.getByRole('button', { name, exact: true });
const go = (hand, target) => nextPage(hand.page, () => hand.press(target));
const rows = (page, table) => page.locator(`[data-test="${table}"] tbody tr`);
const list = () => `${place.url}/purchase-list`;

/// The button that orders, of the first supplier of whom a bar is bought; and the supplier's name.
async function ordersBars(page) {
  const section = page.locator('section.order', { has: page.locator('td', { hasText: /^\d+ bars?$/ }) }).first();
  return [section.getByRole('button'), await section.getByRole('heading').innerText()];
}

test('an order is recorded, put on the rack, arrives and is cancelled, with the keyboard on a phone', async () => {
  const page = await place.newPage({ viewport: PHONE });
  const hand = new Keyboard(page);
  await page.goto(list());
  const asked = await rows(page, 'lines').count();
  assert.equal(await rows(page, 'orders').count(), 1, 'the demo shop has one order');
  const [ordered, supplier] = await ordersBars(page);
  await assertSoundOnPhone(page, 'purchase-list');
  await go(hand, ordered);
  assert.match(page.url(), /\/purchase-list\/orders\/\d+$/);
  const order = page.url();
  assert.match(await page.locator('h1').innerText(), new RegExp(`^Order \\d+ to ${supplier}$`));
  const lines = await rows(page, 'lines').count();
  await hand.press(page.getByText('Text for the supplier'));
  const text = await page.locator('[data-test="text"]').inputValue();
  assert.match(text, new RegExp(`To ${supplier}\n`));
  assert.ok(!text.includes('£'), text);
  await assertSoundOnPhone(page, 'order');

  await go(hand, page.getByRole('link', { name: /^Put on the rack/ }).first());
  const count = await page.getByLabel('How many').inputValue();
  await assertSoundOnPhone(page, 'receive-ordered');
  await hand.fill(page.getByLabel('Where it lies'), 'bay 7');
  await go(hand, button(page, 'Receive'));
  assert.equal(page.url(), order);
  assert.equal(await page.locator('a[href^="/rack/pieces/"]').count(), Number(count));
  await go(hand, button(page, 'It has arrived'));
  assert.match(await page.locator('[data-test="head"]').innerText(), /arrived/);
  await page.goto(list());
  assert.equal(await rows(page, 'lines').count(), asked - lines, 'what was ordered is not asked for again');
  assert.ok(await rows(page, 'had').count() >= lines);
  await assertSoundOnPhone(page, 'purchase-list-ordered');

  await page.goto(order);
  await go(hand, button(page, 'Cancel this order'));
  assert.match(await page.locator('#faults').innerText(), /Why it is cancelled/);
  await assertFocused(page.locator('#faults'));
  await hand.fill(page.getByLabel('Why it is cancelled'), 'Sold out.');
  await go(hand, button(page, 'Cancel this order'));
  assert.match(await rows(page, 'steps').first().innerText(), /cancelled[^]*Sold out\./);
  await assertSoundOnPhone(page, 'order-cancelled');
});

test('of two who order the same one is told, and sees the list as it is now', async () => {
  const [mine, theirs] = [await place.newPage(), await place.newPage()];
  for (const page of [mine, theirs]) await page.goto(list());
  const supplier = await mine.locator('section.order h2').first().innerText();
  await nextPage(mine, () => button(mine, `Ordered: ${supplier}`).click());
  await nextPage(theirs, () => button(theirs, `Ordered: ${supplier}`).click());
  assert.match(await theirs.locator('#faults').innerText(), /no longer what you looked at/);
  await assertFocused(theirs.locator('#faults'));
  assert.ok(!(await theirs.locator('section.order h2').allInnerTexts()).includes(supplier));
  await assertSound(theirs, 'purchase-list-moved');
});

test('the workshop sees orders without money and may say what arrived', async () => {
  const bench = await place.newPage({ nobody: true });
  await bench.context().addCookies(await signedIn(place.url, WORKSHOP));
  await bench.goto(list());
  assert.equal(await bench.getByRole('button', { name: /^Ordered/ }).count(), 0);
  await nextPage(bench, () => bench.getByRole('link', { name: /^Order 1 to / }).click());
  assert.ok(!(await bench.locator('main').innerText()).includes('£'));
  assert.equal(await button(bench, 'Cancel this order').count(), 0);
  await nextPage(bench, () => button(bench, 'It has arrived').click());
  assert.match(await rows(bench, 'steps').first().innerText(), /Jory Pell/);
  await assertSoundOnPhone(bench, 'order-workshop');
});
