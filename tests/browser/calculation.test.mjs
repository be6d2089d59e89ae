// The checks and their workings, the strength of the frame and the whole calculation: on the screen, by keyboard, without
// script, and on paper.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdir, writeFile } from 'node:fs/promises';
import { after, before, test } from 'node:test';
import { assertSound, assertSoundOnPhone, LONG, nextPage, screenshot, shop } from './support.mjs';

const hooks = [];
let place;
let jobs;
before(async () => {
  place = await shop({ after: hook => hooks.push(hook) });
  const page = await place.newPage();
  await page.goto(`${place.url}/jobs`);
  const links = await page.locator('main table a').evaluateAll(all => all.map(link => link.href));
  jobs = [...new Set(links.filter(href => /\/jobs\/\d+$/.test(href)))];
});
after(async () => { for (const hook of hooks.reverse()) await hook(); });

// The calculation is by far the largest page: in every size for one job and in the long trials only, else on a phone.
for (const [number, assertIt] of [[0, LONG ? assertSound : assertSoundOnPhone], [3, assertSoundOnPhone], [6, assertSoundOnPhone]]) {
  test(`the calculation of demo job ${number + 1} is sound and every link of its contents leads somewhere`, async () => {
    const page = await place.newPage();
    await page.goto(`${jobs[number]}/calculation`);
    await assertIt(page, `calculation-${number + 1}`);
    const lost = await page.locator('.contents a').evaluateAll(links => links.map(link => link.getAttribute('href')).filter(href => !document.querySelector(href)));
    assert.deepEqual(lost, []);
    assert.ok(await page.locator('.entry math').count() > 20, 'formulas are set');
    assert.equal(await page.locator('.formula.plain').count(), 0, 'a formula could not be set');
    await page.goto(`${jobs[number]}/price`);
    await assertIt(page, `checks-${number + 1}`);
    await page.goto(`${jobs[number]}/weights`);
    for (const summary of await page.locator('main details > summary').all()) await summary.click();
    await assertIt(page, `weights-opened-${number + 1}`);
  });
}

test('a formula is set by the browser: a fraction is taller than its letters, and read out as text', async () => {
  const page = await place.newPage();
  await page.goto(`${jobs[0]}/calculation`);
  const fraction = page.locator('.entry mfrac').first();
  const [of, letter] = await fraction.evaluate(element => [element, element.querySelector('mi, mn')].map(one => one.getBoundingClientRect().height));
  assert.ok(of > 1.6 * letter, `a fraction of ${of} px with letters of ${letter} px`);
  assert.match(await page.getByRole('math').first().getAttribute('aria-label'), /=/);
});

test('a figure opens its working by keyboard alone, without script', async () => {
  const page = await place.newPage({ javaScriptEnabled: false });
  await page.goto(jobs[0]);
  const summary = page.locator('[data-test="headline"] summary').first();
  await summary.focus();
  await page.keyboard.press('Enter');
  const formula = page.locator('[data-test="headline"] math').first();
  await formula.waitFor({ state: 'visible' });
  assert.match(await formula.getAttribute('aria-label'), /^m = /);
  await screenshot(page, 'working-opened');
});

/// A demo job with a trailer that fails in many ways at once.
async function wrongTrailer(page) {
  await page.goto(jobs[0]);
  await page.goto(`${jobs[0]}/need`);
  await page.locator('[name="need.loads.0.mass"]').fill('2900 kg');
  await page.locator('[name="need.loads.0.centre_from_front"]').fill('100');
  for (const [name, value] of Object.entries({
    kerb: '700 kg', gross: '900 kg', limit_braked: '300 kg', limit_unbraked: '200 kg', coupling_limit: '15 kg', body_width: '1000',
  })) await page.locator(`[name="need.towing_vehicles.0.${name}"]`).fill(value);
  await nextPage(page, () => page.getByRole('button', { name: 'Save and go on to the trailer' }).click());
}

test('many failing checks: counted, by area, answered by keyboard, kept in the calculation', async () => {
  const page = await place.newPage({ javaScriptEnabled: false });
  await wrongTrailer(page);
  await page.goto(`${jobs[0]}/price`);
  const counts = await page.locator('[data-test="check-counts"]').innerText();
  const failing = Number(counts.match(/(\d+) fail/)?.[1] ?? 0);
  assert.ok(failing >= 6, `only these fail: ${counts}`);
  await screenshot(page, 'checks-many');
  // The count leads to the first that fails.
  await page.locator('[data-test="check-counts"] a').first().click();
  assert.match(page.url(), /#check-/);
  const answer = page.locator('textarea[name="answer"]').first();
  await answer.focus();
  await page.keyboard.type('The clay is carried in two trips; the customer agreed.');
  await page.keyboard.press('Tab');
  await nextPage(page, () => page.keyboard.press('Enter'));
  await page.locator('.answered', { hasText: 'in two trips' }).waitFor();
  assert.match(await page.locator('[data-test="check-counts"]').innerText(), /1 answered/);
  await page.goto(`${jobs[0]}/calculation`);
  await page.locator('.entry .answered', { hasText: 'in two trips' }).waitFor();
  await page.locator('td', { hasText: 'in two trips' }).waitFor();
});

test('what cannot be told says what is missing and leads to its field', async () => {
  const page = await place.newPage();
  for (const job of jobs) {
    await page.goto(`${job}/price`);
    const links = await page.locator('[data-test="missing"] a').evaluateAll(all => all.map(link => link.href));
    for (const href of links) {
      await page.goto(href);
      const { hash } = new URL(href);
      if (hash) assert.equal(await page.locator(`[id="${decodeURIComponent(hash.slice(1))}"]`).count(), 1, href);
    }
  }
});

test('the calculation prints with page numbers on every sheet', async () => {
  const page = await place.newPage();
  await page.goto(`${jobs[1]}/calculation`);
  const pdf = await page.pdf({ preferCSSPageSize: true, format: 'A4' });
  const folder = new URL('../../target/screens/', import.meta.url).pathname;
  await mkdir(folder, { recursive: true });
  await writeFile(`${folder}/calculation.pdf`, pdf);
  const pages = execFileSync('pdftotext', ['-layout', `${folder}/calculation.pdf`, '-'], { encoding: 'utf8' }).split('\f').slice(0, -1);
  assert.ok(pages.length > 4, `${pages.length} pages`);
  pages.forEach((text, index) => {
    assert.match(text, new RegExp(`Page ${index + 1} of ${pages.length}`), `page ${index + 1}`);
    assert.match(text, /Not a certification/, `page ${index + 1}`);
  });
  assert.match(pages[0], /Contents/);
  assert.match(pages.at(-1), /Signature/);
});
