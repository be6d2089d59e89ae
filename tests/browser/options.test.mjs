// What the customer chooses on their copy: on a phone, with the keyboard alone, with and without scripts.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Keyboard } from './hands.mjs';
import { assertQuiet, assertSound, nextPage, PHONE, shop } from './support.mjs';

const hooks = [];
let place;
let job;
/// A new link for each test: what was accepted stays so.
async function copyOf(page) {
  await page.goto(`${job}/revisions/1`);
  await page.getByRole('button', { name: 'Make a link' }).click();
  return page.locator('[data-test="link"]').getAttribute('href');
}

before(async () => {
  place = await shop({ after: hook => hooks.push(hook) });
  const page = await place.newPage();
  await page.goto(`${place.url}/jobs`);
  await nextPage(page, () => page.locator('main table a', { hasText: 'Quad trailer' }).first().click());
  job = page.url();
});
after(async () => { for (const hook of hooks.reverse()) await hook(); });

async function opened(options) {
  const page = await place.newPage({ viewport: PHONE, ...options });
  await page.goto(place.url);
  const link = await copyOf(page);
  await page.goto(link);
  return page;
}

const total = page => page.locator('tfoot strong').innerText();
const chosen = page => page.locator('[data-test="chosen"]');

test('the total follows what is ticked, and the form keeps what was typed', async () => {
  const page = await opened();
  const described = await total(page);
  await page.getByLabel('Your name').first().fill('Runa Gill');
  await page.getByLabel(/^Rear bumper/).check();
  await chosen(page).getByText('with: Rear bumper').waitFor();
  assert.notEqual(await total(page), described);
  assert.equal(await page.getByLabel('Your name').first().inputValue(), 'Runa Gill', 'what was typed is lost');
  assert.match(await page.getByRole('button', { name: /^Accept for/ }).innerText(), new RegExp(await total(page)));
  await assertSound(page, 'copy-options');
});

test('by keyboard alone and without scripts: chosen, accepted, and kept', async () => {
  const page = await opened({ javaScriptEnabled: false });
  const keyboard = new Keyboard(page);
  await keyboard.press(page.getByLabel(/^Rear bumper/));
  await keyboard.reach(page.getByLabel('As described'));
  await page.keyboard.press('ArrowDown');
  await nextPage(page, () => keyboard.press(page.getByRole('button', { name: 'Show the price with these' })));
  assert.match(await chosen(page).innerText(), /with: Rear bumper, Sheeted sides/);
  const price = await total(page);
  await keyboard.fill(page.locator('[name=accept_name]'), 'Runa Gill');
  await keyboard.press(page.getByLabel(/^I have read the terms/));
  await nextPage(page, () => keyboard.press(page.getByRole('button', { name: `Accept for ${price}` })));
  assert.match(await page.locator('[data-test="accepted"]').innerText(), /Runa Gill accepted it/);
  assert.match(await chosen(page).innerText(), /Rear bumper, Sheeted sides/);
  assert.equal(await total(page), price);
  await page.goto(`${job}/revisions/1`);
  assert.match(await chosen(page).innerText(), new RegExp(`Rear bumper, Sheeted sides, for ${price}`));
  assertQuiet(page);
});
