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
  // What lies on the rack has come; the rest is said.
  if (await button(page, 'It has arrived').count() > 0) await go(hand, button(page, 'It has arrived'));
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

test('goods arrive in parts, line by line, with the keyboard on a phone', async () => {
  const page = await place.newPage({ viewport: PHONE });
  const hand = new Keyboard(page);
  await page.goto(list());
  // An order of at least two lines.
  const section = page.locator('section.order').filter({ has: page.locator('tbody tr:nth-child(2)') }).first();
  await go(hand, section.getByRole('button'));
  const fields = page.locator('#arrived input[name^="came."]');
  const lines = await fields.count();
  assert.ok(lines > 1, `${lines} lines`);
  const all = await fields.first().inputValue();
  await hand.fill(fields.first(), `${Number(all) + 1}`);
  await go(hand, button(page, 'It has arrived'));
  assert.match(await page.locator('#faults').innerText(), /are still to come/);
  await assertFocused(page.locator('#faults'));
  await assertSoundOnPhone(page, 'order-too-much');
  await hand.fill(fields.first(), '0');
  await go(hand, button(page, 'It has arrived'));
  assert.match(await page.locator('[data-test="head"]').innerText(), /arrived in part/);
  assert.equal(await fields.count(), 1, 'one line is still to come');
  await assertSoundOnPhone(page, 'order-in-part');
  await go(hand, button(page, 'It has arrived'));
  assert.match(await rows(page, 'steps').first().innerText(), /all of it is here/);
  // One line was not here after all.
  const missing = page.locator('#awaited input[name^="missing."]');
  for (let line = 1; line < await missing.count(); line += 1) await hand.fill(missing.nth(line), '0');
  await hand.fill(page.getByLabel('Why it is not'), 'The parcel was for next door.');
  await go(hand, button(page, 'Not here after all'));
  assert.match(await rows(page, 'steps').first().innerText(), /not here after all[^]*next door/);
  assert.match(await page.locator('[data-test="head"]').innerText(), /arrived in part/);
});

test('what has no supplier is ordered by hand, with the keyboard on a phone', async () => {
  const page = await place.newPage({ viewport: PHONE });
  const hand = new Keyboard(page);
  await page.goto(`${place.url}/rates/items/CN-WIRE`);
  await nextPage(page, () => page.locator('form[action$="/retire"] button').click());
  await page.goto(list());
  const form = page.locator('#by-hand');
  await assertSoundOnPhone(page, 'purchase-list-without');
  await go(hand, button(page, 'Ordered: what is ticked'));
  assert.match(await page.locator('#faults').innerText(), /Nothing is ticked/);
  await assertFocused(page.locator('#faults'));
  await assertSoundOnPhone(page, 'purchase-list-by-hand-wrong');
  await hand.press(form.getByRole('checkbox').first());
  await hand.fill(form.getByRole('textbox', { name: 'Supplier' }), 'Mud Lane Stores');
  await form.getByLabel('To be here by').fill(new Date(Date.now() + 7 * 86_400_000).toISOString().slice(0, 10));
  await go(hand, button(page, 'Ordered: what is ticked'));
  assert.match(await page.locator('h1').innerText(), /to Mud Lane Stores$/);
  assert.match(await rows(page, 'lines').first().innerText(), /not known/);
  await assertSoundOnPhone(page, 'order-by-hand');
});
