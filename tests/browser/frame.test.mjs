// The frame around all pages.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { assertFits, assertFocused, assertQuiet, assertSound, OWNER, PHONE, screenshot, shop, signedIn } from './support.mjs';

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
  await assertFocused(page.locator('#faults'));
  assert.equal(await page.getByLabel('Bed length').inputValue(), 'six feet');
  assert.equal(await page.getByLabel('Remark for the workshop').inputValue(), 'mind the paint');
  await assertSound(page, 'components-faults');
  await page.locator('#faults a', { hasText: 'Bed length' }).click();
  await assertFocused(page.getByLabel('Bed length'));
  await page.getByLabel('Bed length').fill('1830');
  await page.getByRole('button', { name: 'Save' }).click();
  await page.locator('#faults').waitFor({ state: 'detached' });
});

test('signing in, on a phone and by keyboard alone, leads on to the page that was asked for', async t => {
  const { url, newPage } = await shop(t);
  const page = await newPage({ viewport: PHONE, nobody: true });
  await page.goto(`${url}/rates?class=tyre`);
  assert.equal(new URL(page.url()).pathname, '/sign-in');
  assert.equal(await page.locator('header.site').count(), 0);
  await assertSound(page, 'sign-in');
  await page.setViewportSize(PHONE);
  await page.locator('.skip').focus();
  await page.keyboard.press('Tab');
  await page.keyboard.type(OWNER.name);
  await page.keyboard.press('Tab');
  await page.keyboard.type('not this one');
  await page.keyboard.press('Enter');
  await page.locator('#faults').waitFor();
  await assertFits(page, 'a failed sign-in');
  await screenshot(page, 'sign-in-failed-phone');
  await page.getByLabel('Password').focus();
  await page.keyboard.type(OWNER.password);
  await page.keyboard.press('Enter');
  await page.locator('.who-name', { hasText: OWNER.name }).waitFor();
  assert.equal(page.url(), `${url}/rates?class=tyre`);
  assertQuiet(page);
});

test('the owner adds a person, who chooses a password by the link; every page of it is sound', async t => {
  const { url, newPage } = await shop(t);
  const page = await newPage();
  await page.goto(`${url}/people`);
  await assertSound(page, 'people');
  await page.getByLabel('Name', { exact: true }).fill('Zoë O’Hara');
  await page.getByLabel('Role', { exact: true }).selectOption('workshop');
  await page.getByRole('button', { name: 'Add and show the link' }).click();
  const link = await page.locator('[data-test=link]').getAttribute('href');
  await assertSound(page, 'people-link');
  await page.goto(`${url}/me`);
  await assertSound(page, 'me');

  const hers = await newPage({ nobody: true });
  await hers.goto(link);
  await assertSound(hers, 'set-up');
  await hers.getByLabel('New password').fill('three grey gulls');
  await hers.getByLabel('The same again').fill('three grey gulls');
  await hers.getByRole('button', { name: 'Keep it and sign in' }).click();
  await hers.locator('.who-name', { hasText: 'Zoë O’Hara' }).waitFor();
  assert.deepEqual(await hers.locator('header.site nav a').allInnerTexts(), ['Jobs', 'Rack']);
  await assertSound(hers, 'workshop-jobs');
  await hers.locator('main table a').first().click();
  await hers.locator('nav.local').waitFor();
  assert.deepEqual(await hers.locator('nav.local > ul').first().locator('a').allInnerTexts(), ['Trailer', 'Workshop']);
  await assertSound(hers, 'workshop-pack');
});

test('a form that is sent after a sign-out is not lost: sign in elsewhere and reload', async t => {
  const { url, newPage } = await shop(t);
  const page = await newPage();
  await page.goto(`${url}/jobs/new`);
  await page.getByLabel('What it is for').fill('Hives to the heath');
  await page.getByLabel('Customer', { exact: true }).fill('Zoë O’Hara');
  const other = await page.context().newPage();
  await other.goto(url);
  await other.getByRole('button', { name: 'Sign out' }).click();
  await other.getByLabel('Name').waitFor();
  await page.locator('main form').getByRole('button').last().click();
  await page.locator('h1', { hasText: 'Signed out' }).waitFor();
  await page.context().addCookies(await signedIn(url));
  await page.reload();
  await page.locator('h1', { hasText: 'Hives to the heath' }).waitFor();
});

test('without scripts signing in and out works too, and an unknown address gets our page', async t => {
  const { url, newPage } = await shop(t);
  const page = await newPage({ javaScriptEnabled: false, nobody: true });
  await page.goto(url);
  await page.getByLabel('Name').fill(OWNER.name);
  await page.getByLabel('Password').fill(OWNER.password);
  await page.getByRole('button', { name: 'Sign in' }).click();
  const answer = await page.goto(`${url}/nowhere`);
  assert.equal(answer.status(), 404);
  assert.equal(await page.locator('h1').innerText(), 'Not found');
  assert.match(await page.locator('.who').innerText(), /Mara Holloway/);
  await page.getByRole('button', { name: 'Sign out' }).click();
  assert.equal(new URL(page.url()).pathname, '/sign-in');
});
