// The rack's whole flow with real pieces: they come in, a plan takes them, they are reserved, cut at the release, and what is left
// returns; then two jobs planned together.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { Keyboard, Pointer } from './hands.mjs';
import { assertSound, assertSoundOnPhone, nextPage, PHONE, shop, signedIn, WORKSHOP } from './support.mjs';

const hooks = [];
let place;
before(async () => { place = await shop({ after: hook => hooks.push(hook) }); });
after(async () => { for (const hook of hooks.reverse()) await hook(); });

const button = (page, name) => page.getByRole('button', { name, exact: true });
const link = (page, name) => page.getByRole('link', { name, exact: true });
const go = (hand, target) => nextPage(hand.page, () => hand.press(target));

/// The path of a demo job, by its title.
async function jobCalled(page, title) {
  await page.goto(`${place.url}/jobs`);
  await nextPage(page, () => link(page, title).click());
  return page.url();
}

/// Equal bars of this steel come in.
async function receive(hand, steel, count, length) {
  const { page } = hand;
  const [, section, grade] = steel.match(/^(.*) (\S+)$/);
  await page.goto(`${place.url}/rack`);
  await go(hand, link(page, 'Receive pieces'));
  await hand.fill(page.getByLabel('How many'), String(count));
  await hand.fill(page.locator('#f-length'), length);
  await hand.fill(page.getByLabel('Section'), section);
  await hand.choose(page.getByLabel('Grade'), grade);
  await hand.fill(page.getByLabel('Where it lies'), 'bay 2');
  await hand.fill(page.getByLabel('Where from'), 'left of an old order');
  await hand.fill(page.getByLabel('Worth of each'), '0.01');
  await go(hand, button(page, 'Receive'));
}

/// The tags that a table lists.
const tags = page => page.locator('[data-test="taken"] tbody th').allInnerTexts();

test('pieces come in, are reserved and cut for a job, and what is left returns, with the keyboard on a phone', async () => {
  const page = await place.newPage({ viewport: PHONE });
  const hand = new Keyboard(page);
  const job = await jobCalled(page, 'Boat trailer for four sculls');
  await page.goto(`${job}/cutting`);
  const steel = await page.locator('section.at-the-saw h2').first().innerText();
  await page.goto(`${place.url}/rack`);
  const before = Number.parseInt(await page.locator('[data-test="found"]').innerText(), 10);
  await receive(hand, steel, 2, '6 m');
  const found = await page.locator('[data-test="found"]').innerText();
  assert.equal(Number.parseInt(found, 10), before + 2, found);
  await assertSoundOnPhone(page, 'rack');

  await page.goto(`${job}/rack`);
  const taken = await tags(page);
  assert.ok(taken.length > 0);
  await assertSoundOnPhone(page, 'job-rack');
  await go(hand, button(page, 'Reserve these pieces'));
  assert.match(await page.locator('[data-test="reserved"]').innerText(), /All of them are reserved/);
  await page.goto(`${place.url}/rack/pieces/${taken[0]}`);
  await assertSoundOnPhone(page, 'rack-piece-reserved');

  await page.goto(`${job}/rack`);
  await go(hand, link(page, 'Release to the workshop'));
  assert.deepEqual(await tags(page), taken);
  await assertSoundOnPhone(page, 'job-release');
  await go(hand, button(page, 'Release to the workshop'));
  assert.match(await page.locator('[data-test="released"]').innerText(), new RegExp(`Booked as cut: ${taken.join(', ')}\\.`));
  const left = await page.locator('[data-test="left"] tbody tr').count();
  assert.ok(left > 0, 'something is left');
  await assertSoundOnPhone(page, 'job-rack-released');
  // What is not there is not returned, and without a place nothing is.
  await hand.press(page.locator('[name="keep"]').first());
  await go(hand, button(page, 'Return to the rack'));
  assert.match(await page.locator('#faults').innerText(), /Where they lie/);
  await hand.fill(page.getByLabel('Where they lie'), 'under the stair');
  await go(hand, button(page, 'Return to the rack'));
  await page.goto(`${place.url}/rack?search=under+the+stair`);
  assert.equal(await page.locator('[data-test="rack"] tbody tr').count(), left - 1);
});

test('a price that counts on the rack says on what', async () => {
  const page = await place.newPage();
  await page.goto(`${place.url}/shop`);
  await page.getByLabel('A quote may count on the rack').check();
  await nextPage(page, () => button(page, "Save the shop's settings").click());
  const job = await jobCalled(page, 'Mower and chipper trailer');
  await page.goto(`${job}/cutting`);
  await receive(new Pointer(page), await page.locator('section.at-the-saw h2').first().innerText(), 1, '6 m');
  await page.goto(`${job}/price`);
  assert.match(await page.locator('[data-test="counted"]').innerText(), /counts on \d pieces? of the rack, worth £/);
  await assertSound(page, 'price-with-rack');
});

/// The customer of a quoted demo job accepts.
async function accept(page, job) {
  await page.goto(`${job}/revisions/1`);
  await nextPage(page, () => button(page, 'Make a link').click());
  await page.goto(await page.locator('[data-test="link"]').getAttribute('href'));
  await page.locator('#f-accept_name').fill('Fenna Mire');
  await page.locator('#f-agree').check();
  await nextPage(page, () => page.getByRole('button', { name: /^Accept/ }).click());
  await page.locator('[data-test="accepted"]').waitFor();
}

test('accepted jobs are planned together; the workshop sees the plan without money', async () => {
  const page = await place.newPage();
  for (const title of ['Quad trailer for the fell', 'Hive trailer for the heather']) await accept(page, await jobCalled(page, title));
  await page.goto(`${place.url}/rack`);
  await nextPage(page, () => link(page, 'Plan several jobs together').click());
  await assertSound(page, 'together-choose');
  const ticks = page.locator('#together [name="job"]');
  await ticks.first().check();
  await nextPage(page, () => button(page, 'Plan them together').click());
  assert.match(await page.locator('#faults').innerText(), /1 chosen/);
  assert.ok(await ticks.first().isChecked(), 'the tick stays');
  await assertSound(page, 'together-one');
  const chosen = await ticks.count();
  for (const tick of await ticks.all()) await tick.check();
  await nextPage(page, () => button(page, 'Plan them together').click());
  // A debug build works at it for a while; the page opens anew by itself.
  await page.locator('[data-test="counts"]').waitFor({ timeout: 120_000 });
  assert.match(await page.locator('[data-test="says"]').innerText(), /one by one/);
  assert.equal(await page.locator('[data-test="costs"] tbody tr').count(), chosen);
  await page.getByText('How it is shared out').click();
  await assertSound(page, 'together-plan');
  await assertSoundOnPhone(page, 'together-plan-phone');
  const plan = page.url();

  const bench = await place.newPage({ nobody: true });
  await bench.context().addCookies(await signedIn(place.url, WORKSHOP));
  await bench.goto(plan);
  assert.equal(await bench.locator('[data-test="counts"]').count(), 1);
  assert.ok(!(await bench.locator('main').innerText()).includes('£'), 'the workshop sees no money');
  assert.equal(await bench.locator('#release').count(), 0, 'the workshop releases nothing');
  await assertSoundOnPhone(bench, 'together-plan-workshop');

  // Released by this plan, by keyboard on a phone; each job shows it with its own parts marked.
  await page.setViewportSize(PHONE);
  const hand = new Keyboard(page);
  await hand.fill(page.getByLabel('Note for the trail'), 'Both on Monday.');
  await go(hand, button(page, 'Release together'));
  assert.match(await page.locator('[data-test="gone"]').innerText(), /their own pages/);
  const jobs = await page.locator('[data-test="jobs"] a').evaluateAll(all => all.map(job => [job.href, job.textContent]));
  for (const [path, number] of jobs) {
    await page.goto(path);
    assert.match(await page.locator('[data-test="with-others"]').innerText(), /Released together with/);
    const marks = await page.locator('[data-test="saw-list"] tbody th').allInnerTexts();
    assert.ok(marks.some(mark => mark.startsWith(number) && mark.includes('this job')), marks.join(', '));
    assert.ok(marks.some(mark => !mark.startsWith(number) && !mark.includes('this job')), marks.join(', '));
  }
  await assertSoundOnPhone(page, 'cutting-together');
  await page.goto(jobs[0][0].replace(/cutting$/, 'rack'));
  assert.match(await page.locator('[data-test="together"]').innerText(), /one plan for/);
  await assertSoundOnPhone(page, 'job-rack-together');
});
