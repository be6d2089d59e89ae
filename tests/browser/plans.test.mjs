// The plan of a revision that takes its time: how far it is, cancelled, with and without scripts; and the plans at the saw.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Keyboard } from './hands.mjs';
import { assertAccessible, assertFits, assertSound, nextPage, PHONE, screenshot, shop } from './support.mjs';

const hooks = [];
let place;
// A shop that lets its plans take as long as they want.
before(async () => { place = await shop({ after: hook => hooks.push(hook) }, { args: ['--planning-work', '20000'] }); });
after(async () => { for (const hook of hooks.reverse()) await hook(); });

const button = (page, name) => page.getByRole('button', { name, exact: true });

/// The demo's first open job as one of many trailers: more parts than are planned in a second.
async function many(page) {
  await page.goto(`${place.url}/jobs`);
  await nextPage(page, () => page.locator('main table a').first().click());
  const job = page.url();
  await page.goto(`${job}/need`);
  await page.locator('[name="need.count"]').fill('37');
  await nextPage(page, () => page.getByRole('button', { name: 'Save and go on to the trailer' }).click());
  return job;
}

for (const javaScriptEnabled of [true, false]) {
  test(`a slow plan shows how far it is and is cancelled, ${javaScriptEnabled ? 'with' : 'without'} scripts`, async () => {
    const page = await place.newPage({ javaScriptEnabled });
    await page.goto(place.url);
    const job = await many(page);
    await page.goto(`${job}/revisions`);
    await nextPage(page, () => page.getByRole('button', { name: /^Issue revision/ }).click());
    assert.match(page.url(), /\/plans\/\d+$/);

    await page.locator('[data-test="progress"]').getByText('of the work allowed').waitFor();
    await screenshot(page, `planning-${javaScriptEnabled ? 'script' : 'plain'}`);
    await nextPage(page, () => button(page, 'Cancel: issue nothing').click());
    assert.match(await page.locator('[data-test="ended"]').innerText(), /Nothing was issued/);
    if (javaScriptEnabled) await assertSound(page, 'plan-cancelled');
  });
}

test('while a plan runs its page is sound on a phone, and the keyboard alone cancels it', async () => {
  const page = await place.newPage({ viewport: PHONE });
  await page.goto(place.url);
  const job = await many(page);
  await page.goto(`${job}/revisions`);
  await nextPage(page, () => page.getByRole('button', { name: /^Issue revision/ }).click());
  await page.locator('[data-test="progress"]').getByText('of the work allowed').waitFor();
  await assertAccessible(page, 'planning on a phone');
  await assertFits(page, 'planning on a phone');
  // The part that is replaced each second must not take the focus away from what lies outside it.
  const keyboard = new Keyboard(page);
  await keyboard.reach(button(page, 'Cancel: issue nothing'));
  await page.waitForTimeout(2500);
  assert.equal(await page.evaluate(() => document.activeElement?.textContent), 'Cancel: issue nothing');
  await nextPage(page, () => page.keyboard.press('Enter'));
  assert.match(await page.locator('[data-test="ended"]').innerText(), /Nothing was issued/);
});

test('the frozen plans of a revision, and what other stock would have cost, are sound', async () => {
  const page = await place.newPage();
  await page.goto(`${place.url}/jobs`);
  await nextPage(page, () => page.locator('main table a').last().click());
  await page.goto(`${page.url()}/revisions/1/cutting`);
  await assertSound(page, 'revision-cutting');
  const keyboard = new Keyboard(page);
  await keyboard.press(page.getByText('What other stock would cost'));
  // An unoptimised build works at it for a while.
  await page.locator('#other-stock dl').first().waitFor({ timeout: 240_000 });
  await assertSound(page, 'revision-cutting-other-stock');
  await page.goto(page.url().replace('/cutting', '/choices'));
  assert.match(await page.locator('main').innerText(), /frozen plans of revision 1/);
  await assertSound(page, 'revision-choices');
});

test('the cutting page says where the stock goes and what other stock would cost', async () => {
  const page = await place.newPage();
  // A job that is not released: its plan may still move.
  await page.goto(`${place.url}/jobs`);
  await nextPage(page, () => page.getByRole('link', { name: 'Mower and chipper trailer' }).click());
  await page.goto(`${page.url()}/cutting`);
  await assertSound(page, 'cutting');
  assert.match(await page.locator('.waste figcaption').first().innerText(), /parts .* kerf .* trim .* scrap .* kept/);
  await page.getByText('What other stock would cost').click();
  // An unoptimised build works at it for a while.
  await page.locator('#other-stock dl').first().waitFor({ timeout: 240_000 });
  assert.match(await page.locator('#other-stock').innerText(), /bars only/);
});
