// The frame around all pages.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { assertFits, assertQuiet, assertSound, PHONE, screenshot, shop, workAs } from './support.mjs';

test('the components are sound at phone and desk width', async t => {
  const { url, newPage } = await shop(t);
  const page = await newPage();
  await page.goto(`${url}/components`);
  await assertSound(page, 'components');
});

test('a form that is wrong comes back with what was typed, its faults in reach of the keyboard', async t => {
  const { url, newPage } = await shop(t);
  const page = await newPage();
  await page.goto(`${url}/components`);
  await page.getByLabel('Bed length').fill('six feet');
  await page.getByLabel('Remark for the workshop').fill('mind the paint');
  await page.getByRole('button', { name: 'Save' }).click();
  assert.equal(await page.locator('#faults').evaluate(faults => faults === document.activeElement), true);
  assert.equal(await page.getByLabel('Bed length').inputValue(), 'six feet');
  assert.equal(await page.getByLabel('Remark for the workshop').inputValue(), 'mind the paint');
  await assertSound(page, 'components-faults');
  await page.locator('#faults a', { hasText: 'Bed length' }).click();
  assert.equal(await page.getByLabel('Bed length').evaluate(input => input === document.activeElement), true);
  await page.getByLabel('Bed length').fill('1830');
  await page.getByLabel('Your name').fill('Ann');
  await page.getByRole('button', { name: 'Save' }).click();
  await page.locator('.who-name', { hasText: 'Ann' }).waitFor();
});

test('a name typed once is kept, on a phone and by keyboard alone', async t => {
  const { url, newPage } = await shop(t);
  const page = await newPage({ viewport: PHONE });
  await page.goto(`${url}/components`);
  await page.locator('.who summary').focus();
  await page.keyboard.press('Enter');
  await assertFits(page, 'the open name form');
  await screenshot(page, 'name-form-phone');
  await page.keyboard.press('Tab');
  await page.keyboard.type('Zoë O’Hara');
  await page.keyboard.press('Enter');
  await page.locator('.who-name', { hasText: 'Zoë O’Hara' }).waitFor();
  assert.equal(new URL(page.url()).pathname, '/components');
  await page.goto(`${url}/components`);
  assert.match(await page.locator('.who').innerText(), /Zoë O’Hara\s+not signed in/);
  assertQuiet(page);
});

test('without scripts the name form works too, and an unknown address gets our page', async t => {
  const { url, newPage } = await shop(t);
  const page = await newPage({ javaScriptEnabled: false });
  await page.goto(`${url}/components`);
  await workAs(page, 'Bo');
  const answer = await page.goto(`${url}/nowhere`);
  assert.equal(answer.status(), 404);
  assert.equal(await page.locator('h1').innerText(), 'Not found');
  assert.match(await page.locator('.who').innerText(), /Bo/);
});
