// Wrong input in the real forms: a message beside the field and in the summary, a link that leads to the field, and
// nothing that was typed is lost or kept.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { assertFocused, assertSound, nextPage, shop } from './support.mjs';

const hooks = [];
let page;
let job;
before(async () => {
  const place = await shop({ after: hook => hooks.push(hook) });
  page = await place.newPage();
  await page.goto(`${place.url}/jobs/new`);
  await page.getByLabel('What it is for').fill('Trailer for two rowing machines');
  await page.locator('#f-customer').fill('Tern Ergometers');
  await nextPage(page, () => page.getByRole('button', { name: 'Make the job' }).click());
  job = page.url().replace(/\/need$/, '');
});
after(async () => { for (const hook of hooks.reverse()) await hook(); });

const field = label => page.getByLabel(label, { exact: false }).first();

async function put(label, text) {
  const one = field(label);
  if (await one.evaluate(element => element.tagName) === 'SELECT') await one.selectOption({ label: text });
  else await one.fill(text);
}

/// Types into the design, saves, and checks how the form comes back: `said` about the field `wrong`.
async function assertRefused(typed, wrong, said) {
  await page.goto(`${job}/trailer`);
  const keptBefore = await page.locator('input[name="version"]').inputValue();
  for (const folded of await page.locator('details.others').all()) await folded.evaluate(part => { part.open = true; });
  const entries = { 'Colour': 'heron grey', ...typed };
  for (const [label, text] of Object.entries(entries)) await put(label, text);
  const answer = await nextPage(page, () => page.getByRole('button', { name: 'Save the design' }).click());
  assert.equal(answer.status(), 422);
  const summary = page.locator('#faults');
  await assertFocused(summary, 'the summary has not the focus');
  assert.match(await summary.innerText(), said);
  await summary.getByRole('link', { name: wrong }).first().click();
  const target = field(wrong);
  await assertFocused(target, `the link does not lead to ${wrong}`);
  assert.equal(await target.isVisible(), true);
  assert.equal(await target.getAttribute('aria-invalid'), 'true');
  const beside = page.locator(`[id="${await target.getAttribute('id')}-fault"]`);
  assert.match(await beside.innerText(), said);
  assert.ok((await target.getAttribute('aria-describedby')).split(' ').includes(await beside.getAttribute('id')));
  for (const [label, text] of Object.entries(entries)) {
    const one = field(label);
    const shown = await one.evaluate(element => element.tagName === 'SELECT' ? element.selectedOptions[0].label : element.value);
    assert.equal(shown, text, `${label} was typed and is lost`);
  }
  await page.goto(`${job}/trailer`);
  assert.equal(await page.locator('input[name="version"]').inputValue(), keptBefore, 'something wrong was kept');
}

const bed = 'Bed length';
for (const [what, typed, wrong, said] of [
  ['an empty length', { [bed]: '' }, bed, /entered.*800 mm to 8000 mm/s],
  ['a negative length', { [bed]: '-3' }, bed, /“-3” is too small.*800 mm to 8000 mm/s],
  ['a huge length', { [bed]: '99999999999999999999' }, bed, /too large.*800 mm to 8000 mm/s],
  ['letters for a length', { [bed]: 'long' }, bed, /“long” is not a length/],
  ['a mass for a length', { [bed]: '2400 kg' }, bed, /“kg” is not a unit for a length/],
  ['a word that is no section', { 'Side rails': 'banana' }, 'Side rails', /“banana” is not a kind of section/],
  ['a section whose walls meet', { 'Side rails': 'rhs 60x40x30' }, 'Side rails', /wall|thick/],
  ['an axle outside the bed', { 'Axle place': "distance from the bed's front edge", "Axle place, behind the bed's front": '2600 mm' },
    "Axle place, behind the bed's front", /puts the axle outside the bed/],
  ['a ramp longer than its stowage', { 'Ramp': 'loose, stowed under the bed', 'Ramp length': '4000 mm' }, 'Ramp length', /longer than its stowage/],
]) {
  test(`${what} is refused in words, and nothing typed is lost`, () => assertRefused(typed, wrong, said));
}

test('a form with faults is sound in every size', async () => {
  await page.goto(`${job}/trailer`);
  await put(bed, 'long');
  await put('Side rails', 'banana');
  await nextPage(page, () => page.getByRole('button', { name: 'Save the design' }).click());
  assert.equal(await page.locator('#faults li').count(), 2);
  await assertSound(page, 'trailer-faults');
});

test('a load of no mass is refused in the need, and the other loads stay', async () => {
  await page.goto(`${job}/need`);
  await nextPage(page, () => page.getByRole('button', { name: 'Add a load' }).click());
  await nextPage(page, () => page.getByRole('button', { name: 'Add a load' }).click());
  await assertFocused(page.locator('[name="need.loads.1.name"]'), 'typing does not go on in the new load');
  await page.locator('[name="need.loads.0.name"]').fill('rowing machine, left');
  await page.locator('[name="need.loads.1.name"]').fill('rowing machine, right');
  await page.locator('[name="need.loads.1.mass"]').fill('0');
  await nextPage(page, () => page.getByRole('button', { name: 'Save the need' }).click());
  assert.match(await page.locator('#faults').innerText(), /Mass of the load.*“0” is too small/s);
  assert.equal(await page.locator('[name="need.loads.0.name"]').inputValue(), 'rowing machine, left');
  assert.equal(await page.locator('[name="need.loads.1.name"]').inputValue(), 'rowing machine, right');
  await page.locator('[name="need.loads.1.mass"]').fill('31.5 kg');
  await nextPage(page, () => page.getByRole('button', { name: 'Save the need' }).click());
  assert.equal(await page.locator('#faults').count(), 0);
});

test('a job without a customer and a price that is no price are refused', async () => {
  await page.goto(new URL('/jobs/new', job).href);
  await page.getByLabel('What it is for').fill('Nameless');
  await nextPage(page, () => page.getByRole('button', { name: 'Make the job' }).click());
  assert.ok(await page.locator('#f-customer-fault').isVisible());
  assert.equal(await page.getByLabel('What it is for').inputValue(), 'Nameless');
  await page.goto(new URL('/rates', job).href);
  const price = page.getByRole('textbox', { name: /^Price of/ }).first();
  await price.fill('cheap');
  const answer = await nextPage(page, () => price.press('Enter'));
  assert.equal(answer.status(), 422);
  assert.match(await page.locator('main').innerText(), /cheap/);
});
