// Every page of the shop and of the customer's copy, with the demo shop: sound for everyone who uses it, and on paper.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { assertSound, assertSoundOnPhone, DESK, LONG, PHONE, screenshot, shop, codeSays } from './support.mjs';

const hooks = [];
let place;
let page;
before(async () => {
  place = await shop({ after: hook => hooks.push(hook) });
  page = await place.newPage();
});
after(async () => { for (const hook of hooks.reverse()) await hook(); });

/// Opens a page of the shop, which must answer with `status`.
async function open(path, status = 200) {
  const answer = await page.goto(new URL(path, place.url).href);
  assert.equal(answer.status(), status, path);
  if (status !== 200) page.complaints = page.complaints.filter(text => !text.includes(`status of ${status}`));
}

/// The addresses that a page links to and that fit a pattern, each once.
async function linked(pattern) {
  const found = await page.locator('a[href]').evaluateAll(links => links.map(link => link.getAttribute('href')));
  return [...new Set(found)].filter(path => pattern.test(path));
}

/// The pages of a job: those of the open group, and of each group that it leads to. Not the calculation, which is so large
/// that looking at it takes minutes, and has tests of its own.
async function pagesOf(job) {
  await open(job);
  const own = new RegExp(`^${job}(/[a-z]+)?$`);
  const found = new Set(await linked(own));
  for (const group of [...found]) {
    await open(group);
    for (const path of await linked(own)) found.add(path);
  }
  return [...found].filter(path => !path.endsWith('/calculation'));
}

const nameOf = path => path.replace(/^\//, '').replace(/\?.*$/, '').replaceAll('/', '-') || 'start';

/// Nothing is cut off on an A4 sheet of 210 mm with margins of 14 mm, at 96 px to the inch.
async function assertPrints(name) {
  await page.setViewportSize({ width: Math.floor((210 - 28) / 25.4 * 96), height: 1000 });
  await page.emulateMedia({ media: 'print' });
  for (const hidden of ['header.site', 'nav.local', 'main button']) {
    for (const one of await page.locator(hidden).all()) assert.equal(await one.isVisible(), false, `${name}: ${hidden} is printed`);
  }
  const cut = await page.evaluate(() => {
    const room = document.documentElement.clientWidth + 1;
    const seen = [...document.querySelectorAll('main *')].filter(element => element.checkVisibility() && !element.closest('.unseen, .both .other'));
    return seen.filter(element => {
      const { right, left, width } = element.getBoundingClientRect();
      return width > 1 && (right > room || left < -1);
    }).map(element => `${element.tagName} ${element.className?.baseVal ?? element.className} ${(element.textContent ?? '').trim().slice(0, 60)}`);
  });
  assert.deepEqual(cut, [], `${name}: cut off on paper`);
  await screenshot(page, `${name}-print`);
  await page.emulateMedia({ media: 'screen' });
  await page.setViewportSize(DESK);
}

/// The number of a demo job at this stage.
async function jobAt(stage) {
  await open('/jobs');
  for (const path of await linked(/^\/jobs\/\d+$/)) {
    await open(path);
    if (await page.locator('.page-head .stage').innerText() === stage) return path;
  }
  return assert.fail(`the demo has no job that is ${stage}`);
}

/// A new link to the customer's copy of a job's only or first revision.
async function makeLink(job) {
  await open(`${job}/revisions/1`);
  const name = page.locator('#name-link');
  if (await name.count() > 0) await name.fill('Ann Weld');
  await page.getByRole('button', { name: 'Make a link' }).click();
  return page.locator('[data-test="link"]').getAttribute('href');
}

for (const path of ['/', '/jobs', '/jobs/new', '/rack', '/rack/receive', '/rack/tags', '/purchase-list', '/purchase-list/orders', '/purchase-list/orders/1', '/rates', '/rates/new', '/rates/bulk', '/shop', '/copies']) {
  test(`${path} is sound`, async () => {
    await open(path);
    await assertSound(page, nameOf(path));
  });
}

test('every page of one job is sound in every size, in light and dark', async () => {
  const job = await jobAt('in the shop');
  const paths = await pagesOf(job);
  assert.ok(paths.length >= 12, `${paths}`);
  await open(`${job}/price`);
  const [overrule] = await linked(/\/overrule\?/);
  assert.ok(overrule, 'no line of the build-up can be overruled');
  for (const path of [...paths, `${job}/revisions/1`, overrule, `/jobs/new?from=${job.split('/').pop()}`]) {
    await open(path);
    const name = path.replace(job, '/job');
    await assertSound(page, name.startsWith('/jobs/new') ? 'jobs-new-from' : nameOf(name));
  }
});

test('the pages of the other jobs are sound on a phone', async () => {
  await open('/jobs');
  const jobs = await linked(/^\/jobs\/\d+$/);
  assert.ok(jobs.length >= 6, `${jobs}`);
  const seen = new Map();
  for (const [turn, job] of jobs.entries()) {
    const paths = await pagesOf(job);
    await open(`${job}/revisions`);
    paths.push(...await linked(new RegExp(`^${job}/revisions/\\d+$`)));
    for (const [number, path] of paths.entries()) {
      // Outside the long trials each kind of page is looked at for some of the jobs, and some pages of each job.
      if (!LONG && (number + turn) % 4 !== 0) continue;
      await open(path);
      await assertSoundOnPhone(page, nameOf(path));
      seen.set(path.replace(job, ''), job);
    }
  }
  assert.ok(seen.size >= 12, `${[...seen.keys()]}`);
});

test('an item of the rate book and a bulk change are sound', async () => {
  await open('/rates');
  const [item] = await linked(/^\/rates\/items\//);
  await open(item);
  await assertSound(page, 'rates-item');
  await open('/rates/bulk');
  await page.getByLabel('Change').fill('4');
  await page.getByRole('button', { name: 'Show every line' }).click();
  await page.locator('[data-test="bulk"]').waitFor();
  await assertSound(page, 'rates-bulk-preview');
});

test('the letters of the balance picture are as large as small print, at a desk and on a phone', async () => {
  await open(`${await jobAt('quoted')}/weights`);
  const svg = page.locator('[data-test=balance-picture] svg');
  for (const [size, least, most] of [[DESK, 12, 15.5], [PHONE, 9.5, 15.5]]) {
    await page.setViewportSize(size);
    const px = await svg.evaluate(element => parseFloat(element.querySelector('text').getAttribute('font-size')) * element.getScreenCTM().a);
    assert.ok(px >= least && px <= most, `letters of ${px} px at ${size.width} px`);
  }
  await page.setViewportSize(DESK);
});

test('the purchase list comes whole onto paper, and tags at their true size, ten to a sheet', async () => {
  await open('/purchase-list');
  assert.ok(await page.locator('section.order').count() >= 3, 'the demo buys of fewer than three');
  await assertPrints('purchase-list');
  await open('/purchase-list/orders/1');
  await assertPrints('purchase-list-order');
  await open('/rack/tags');
  await assertPrints('rack-tags');
  await page.emulateMedia({ media: 'print' });
  const mm = 96 / 25.4;
  const tags = await page.locator('.tags li').evaluateAll(all => all.map(tag => { const { width, height } = tag.getBoundingClientRect(); return [width, height]; }));
  assert.ok(tags.length > 10, `${tags.length} tags`);
  for (const [width, height] of tags) assert.ok(Math.abs(width - 90 * mm) < 2 && Math.abs(height - 50 * mm) < 2, `${width / mm} × ${height / mm} mm`);
  for (const format of ['A4', 'Letter']) {
    const file = (await page.pdf({ format })).toString('latin1');
    assert.equal(file.match(/\/Type\s*\/Page\b/g).length, Math.ceil(tags.length / 10), `sheets of ${format}`);
  }
  // As printed, each code leads to the page of its own piece, and the sheet says where that opens.
  for (const tag of [page.locator('.tags li').first(), page.locator('.tags li').last()]) {
    const number = await tag.locator('.tag-number').innerText();
    assert.equal(await codeSays(tag.locator('.tag-code')), `${place.url}/rack/pieces/${number}`);
  }
  assert.equal(await page.locator('[data-test="where"]').count(), Math.ceil(tags.length / 10));
  assert.match(await page.locator('[data-test="where"]').first().innerText(), /opens only on the machine/);
  await page.emulateMedia({ media: 'screen' });
});

test('errors are sound', async () => {
  for (const [path, name] of [['/nowhere', 'error-page'], ['/jobs/99999', 'error-job'], ['/rates/items/none', 'error-item'], ['/q/unknown', 'copy-unknown']]) {
    await open(path, 404);
    await assertSound(page, name);
  }
});

test("the customer's copy is sound, on the screen and on paper, while it is open and after its link was revoked", async () => {
  const job = await jobAt('quoted');
  const address = await makeLink(job);
  await assertSound(page, 'link');
  await open(address);
  await assertSound(page, 'copy-open');
  await assertPrints('copy-open');
  // The picture of the whole trailer leaves most of a desk's screen to the rest, and fits on a phone.
  const still = page.locator('[data-test=still] svg');
  const size = () => still.evaluate(svg => { const { width, height } = svg.getBoundingClientRect(); return { width, height }; });
  await page.setViewportSize(DESK);
  assert.ok((await size()).height <= DESK.height / 2, `as tall as ${(await size()).height} px`);
  await page.setViewportSize(PHONE);
  const whole = (await size()).width;
  assert.ok(whole > PHONE.width / 2 && whole <= PHONE.width, `as wide as ${whole} px`);
  await still.click();
  assert.ok((await size()).width > 2 * whole, 'larger after a tap');
  await still.click();
  await page.setViewportSize(DESK);
  await page.getByRole('button', { name: /^Accept for/ }).click();
  await page.locator('#faults').waitFor();
  await assertSound(page, 'copy-faults');
  await open(`${job}/revisions/1`);
  await page.getByRole('button', { name: 'Revoke its links' }).click();
  await page.waitForLoadState();
  const answer = await page.goto(address);
  assert.ok(answer.status() >= 400, 'a revoked link still opens');
  page.complaints = page.complaints.filter(text => !text.includes('server responded'));
  assert.equal(await page.getByRole('button', { name: /^Accept/ }).count(), 0);
  await assertSound(page, 'copy-revoked');
});

test('the results of a job come whole onto paper', async () => {
  const job = await jobAt('in the shop');
  for (const tab of ['cutting', 'parts', 'hours', 'price', 'weights', 'restraint', 'electrics', 'revisions/1']) {
    await open(`${job}/${tab}`);
    await assertPrints(`job-${tab.replace('/', '-')}`);
  }
});
