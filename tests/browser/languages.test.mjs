// A quote in German, on a phone: sound, in its language, and accepted with the keyboard alone.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Keyboard } from './hands.mjs';
import { assertQuiet, assertSound, nextPage, PHONE, screenshot, shop } from './support.mjs';

const hooks = [];
let place;
let address;

before(async () => {
  place = await shop({ after: hook => hooks.push(hook) });
  const page = await place.newPage();
  await page.goto(`${place.url}/jobs`);
  await nextPage(page, () => page.locator('main table a', { hasText: 'Quad trailer' }).first().click());
  const job = page.url();
  await page.goto(`${job}/price`);
  await page.getByLabel('Language of the quote').selectOption('de');
  await nextPage(page, () => page.locator('#offer').evaluate(form => form.requestSubmit(form.querySelector('button[value=save]'))));
  await page.goto(`${job}/revisions`);
  await page.getByRole('button', { name: /^Issue/ }).first().click();
  await page.waitForURL(/revisions\/2$/, { timeout: 120_000 });
  await page.getByRole('button', { name: 'Make a link' }).click();
  assert.match(await page.locator('main textarea').inputValue(), /^Guten Tag /);
  address = await page.locator('[data-test="link"]').getAttribute('href');
});
after(async () => { for (const hook of hooks.reverse()) await hook(); });

test('the German copy is sound on a phone, and accepted by keyboard', async () => {
  const page = await place.newPage({ viewport: PHONE, locale: 'de-DE' });
  await page.goto(address);
  assert.equal(await page.locator('html').getAttribute('lang'), 'de');
  assert.match(await page.title(), /^Ihr Angebot von Saltmarsh Fabrications/);
  await assertSound(page, 'copy-german');
  const keyboard = new Keyboard(page);
  await nextPage(page, () => keyboard.press(page.getByRole('button', { name: /^Für .* annehmen$/ })));
  await page.locator('#faults').getByText('Hier fehlt eine Angabe').waitFor();
  await assertSound(page, 'copy-german-faults');
  await keyboard.fill(page.locator('[name=accept_name]'), 'Runa Gill');
  await keyboard.press(page.getByLabel(/^Ich habe die Bedingungen gelesen/));
  await nextPage(page, () => keyboard.press(page.getByRole('button', { name: /^Für .* annehmen$/ })));
  assert.match(await page.locator('[data-test="accepted"]').innerText(), /Runa Gill hat es am \d+\. .* angenommen/);
  assert.match(await page.locator('[data-test="progress"] [aria-current]').innerText(), /^Angenommen/);
  await assertSound(page, 'copy-german-accepted');
  await screenshot(page, 'copy-german-accepted');
  assertQuiet(page);
});
