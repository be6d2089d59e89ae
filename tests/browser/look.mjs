// Not a test: leaves pictures of every page of the app and of the customer's copy in target/eyes, to be looked at by a person.
// Each page at 360, 768 and 1440 px, light and dark, and as it prints; `sheet-*.png` hold many pages side by side.
//
//     HITCHWRIGHT=target/debug/hitchwright node tests/browser/look.mjs [PATTERN]
//
// With a pattern only the pages whose names fit it. Packages and browser as for the tests (see support.mjs).

import { mkdir, readFile, rm, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { becomes, nextPage, shop } from './support.mjs';

const eyes = fileURLToPath(new URL('../../target/eyes/', import.meta.url));
const wanted = new RegExp(process.argv[2] ?? '');

/// Width of a window, how a page looks in it, and how large it stands on the sheets.
const LOOKS = [360, 768, 1440].flatMap(width => ['light', 'dark'].map(scheme => (
  { look: `${width}-${scheme}`, width, media: { media: 'screen', colorScheme: scheme }, scale: width > 400 ? 0.5 : 0.75 })));
// A sheet of A4 with margins of 14 mm, at 96 px to the inch.
LOOKS.push({ look: 'print', width: Math.floor((210 - 28) / 25.4 * 96), media: { media: 'print', colorScheme: 'light' }, scale: 0.6 });

/// What is taller is cut off: a browser draws no larger surface.
const TALLEST = 8000;

const hooks = [];
const place = await shop({ after: hook => hooks.push(hook) });
const page = await place.newPage();
// A person looks at leisure: so may a busy machine.
page.context().setDefaultTimeout(300_000);
const stranger = await place.newPage({ nobody: true });
const pictures = [];

async function look(name, at = page) {
  if (!wanted.test(name)) return;
  for (const { look, width, media, scale } of LOOKS) {
    await at.setViewportSize({ width, height: 900 });
    await at.emulateMedia(media);
    const file = `${name}-${look}.png`;
    await at.screenshot({ path: join(eyes, file), clip: { x: 0, y: 0, width, height: Math.min(TALLEST, await at.evaluate(() => document.documentElement.scrollHeight)) }, fullPage: true });
    pictures.push({ name, look, file, scale });
  }
  await writeFile(join(eyes, `${name}.pdf`), await at.pdf({ preferCSSPageSize: true, format: 'A4' }));
  await at.emulateMedia({ media: 'screen', colorScheme: 'light' });
  console.log(name);
}

async function linked(pattern) {
  const found = await page.locator('a[href]').evaluateAll(links => links.map(link => link.getAttribute('href')));
  return [...new Set(found)].filter(path => pattern.test(path));
}

const nameOf = path => path.replace(/^\//, '').replace(/[?#].*$/, '').replaceAll(/[^a-z0-9]+/gi, '-') || 'start';
const open = (path, at = page) => at.goto(new URL(path, place.url).href);

async function lookAt(path, name = nameOf(path), at = page) {
  if (!wanted.test(name)) return;
  await open(path, at);
  await look(name, at);
}

/// The pages of a job, also those to which only a group leads.
async function lookAtJob(job, name) {
  await open(job);
  const own = new RegExp(`^${job}(/[a-z]+)?$`);
  const found = new Set(await linked(own));
  for (const group of [...found]) {
    await open(group);
    for (const path of await linked(own)) found.add(path);
  }
  await open(`${job}/revisions`);
  for (const path of await linked(new RegExp(`^${job}/revisions/\\d+$`))) {
    found.add(path);
    for (const more of ['copy', 'drawings', 'cutting', 'changed']) found.add(`${path}/${more}`);
  }
  await open(`${job}/price`);
  const [overrule] = await linked(/\/overrule\?/);
  for (const path of [...found, `${job}/drawings/parts`, `${job}/cutting/choices`, ...overrule ? [overrule] : []]) {
    await lookAt(path, `${name}${path.slice(job.length).replace(/\?.*$/, '').replaceAll('/', '-')}`);
  }
}

/// A second revision, with a longer bed and a discount: then there is something to compare.
async function issueAgain(job) {
  await open(`${job}/trailer`);
  const bed = page.locator('[name="design.bed.length"]');
  await bed.fill(`${parseInt(await bed.inputValue(), 10) + 100} mm`);
  await press('Save the design');
  await open(`${job}/price`);
  await page.locator('[name="offer.discount"]').fill('50');
  await nextPage(page, () => page.locator('#offer .actions button.main').click());
  await open(`${job}/revisions`);
  await press('Issue revision 2');
  // It is issued by itself when its plans are made.
  await becomes(async () => {
    await open(`${job}/revisions`);
    return (await linked(/revisions\/2$/)).length > 0;
  }, 'revision 2 was not issued', 300);
}

/// A new link to the newest revision of a job. A busy machine may lose a press while a page is still being drawn: then once more.
async function linkOf(job) {
  await open(`${job}/revisions`);
  const number = path => Number(path.match(/\d+$/)[0]);
  const [newest] = (await linked(new RegExp(`^${job}/revisions/\\d+$`))).sort((a, b) => number(b) - number(a));
  const link = page.locator('[data-test="link"]');
  for (let tries = 0; tries < 3; tries += 1) {
    await open(newest);
    const button = page.getByRole('button', { name: 'Make a link' });
    if (await button.count() === 0) break;
    await button.click({ timeout: 30_000 }).catch(fault => console.log(`${newest}: ${fault.message}`));
    if (await link.waitFor({ timeout: 30_000 }).then(() => true, () => false)) return link.getAttribute('href');
  }
  throw new Error(`${newest} makes no link: ${await page.locator('main').innerText()}`);
}

/// Sends a form of the customer's copy and waits for what comes back.
async function send(action, fields) {
  const form = stranger.locator(`form[action$="/${action}"]`);
  for (const [name, value] of Object.entries(fields)) {
    await form.locator(`[name=${name}]`).evaluate((field, put) => { if (field.type === 'checkbox') field.checked = put; else field.value = put; }, value);
  }
  await nextPage(stranger, () => form.evaluate(one => one.submit()));
}

async function lookAtCopy(job, name) {
  const link = await linkOf(job);
  await lookAt(link, `copy-${name}`, stranger);
  return link;
}

const press = (name, at = page) => nextPage(at, () => at.getByRole('button', { name, exact: true }).first().click());

/// The trailer turned on the screen; waits until the picture is drawn.
async function lookAtScene(path, name, at = page) {
  if (!wanted.test(name)) return;
  await open(path, at);
  await at.locator('[data-open]').click();
  await at.locator('.viewer canvas').waitFor();
  await at.waitForTimeout(2000);
  await look(name, at);
}

/// What comes after a form of the shop: each page leads on to the one that is looked at.
async function lookAtAnswers() {
  if (wanted.test('rates-bulk-lines')) {
    await open('/rates/bulk');
    await page.locator('#f-percent').fill('8.5');
    await press('Show every line');
    await look('rates-bulk-lines');
  }
  if (wanted.test('rates-list-sent')) {
    const sample = await (await page.request.get(new URL('/rates/sample.csv', place.url).href)).body();
    await open('/rates/list');
    await page.locator('#f-file').setInputFiles({ name: 'sample.csv', mimeType: 'text/csv', buffer: sample });
    await press('Show what it would do');
    await look('rates-list-sent');
  }
  if (wanted.test('people-link') || wanted.test('people-set-up')) {
    await open('/people');
    await page.locator('#f-name').fill('Ebba Rusk');
    await press('Add and show the link');
    await look('people-link');
    await lookAt(await page.locator('[data-test="link"]').getAttribute('href'), 'people-set-up', stranger);
  }
}

/// Several accepted jobs under one plan: choosing them, and the plan.
async function lookAtTogether() {
  await lookAt('/rack/together');
  if (!wanted.test('rack-together-plan')) return;
  await open('/rack/together');
  for (const tick of await page.locator('#together [name="job"]').all()) await tick.check();
  await press('Plan them together');
  await page.locator('[data-test="counts"]').waitFor();
  await look('rack-together-plan');
}

async function walk() {
  await lookAt('/sign-in', 'sign-in', stranger);
  for (const path of ['/', '/jobs', '/jobs?search=nothing+like+it', '/jobs/new', '/rack', '/rack/receive', '/rack/tags', '/purchase-list', '/purchase-list/orders', '/purchase-list/orders/1',
    '/rates', '/rates/new', '/rates/bulk',
    '/rates/index', '/rates/list', '/rates/open-quotes', '/shop', '/copies', '/people', '/me', '/components', '/no-such-page']) await lookAt(path, path.includes('?') ? 'jobs-none' : nameOf(path));
  for (const [list, one, name] of [['/rates', /^\/rates\/items\//, 'rates-item'], ['/rack', /^\/rack\/pieces\//, 'rack-piece']]) {
    await open(list);
    await lookAt((await linked(one))[0], name);
  }
  await lookAtAnswers();

  const jobs = [];
  await open('/jobs');
  for (const path of await linked(/^\/jobs\/\d+$/)) {
    await open(path);
    jobs.push({ path, stage: await page.locator('.page-head .stage').innerText(), title: await page.locator('h1').innerText() });
  }
  const at = stage => jobs.find(job => job.stage === stage).path;
  await lookAtJob(at('in the shop'), 'job');
  for (const stage of new Set(jobs.map(job => job.stage))) await lookAt(at(stage), `job-${stage.replaceAll(' ', '-')}`);
  const quad = jobs.find(job => job.title.startsWith('Quad')).path;
  if (wanted.test('quad-revisions-2-changed')) await issueAgain(quad);
  await lookAtJob(quad, 'quad');
  await lookAtScene(`${at('in the shop')}/trailer`, 'job-trailer-scene');

  for (const stage of ['accepted', 'in the shop', 'handed over', 'declined']) await lookAtCopy(at(stage), stage.replaceAll(' ', '-'));
  for (const [nth, job] of jobs.filter(job => job.stage === 'quoted').entries()) {
    const link = await lookAtCopy(job.path, `quoted-${nth + 1}`);
    await open(link, stranger);
    if (await stranger.locator('[name=with]').count() > 0) await lookAt(`${link}?with=1`, 'copy-chosen', stranger);
    await open(link, stranger);
    await send('accept', {});
    await look(`copy-faults-${nth + 1}`, stranger);
    await send('accept', { accept_name: 'Fenna Mire', agree: true });
    await look(`copy-said-yes-${nth + 1}`, stranger);
    await open(link, stranger);
    await send('ask', { ask_name: 'Fenna Mire', question: 'Can the rails be hot-dip galvanised too?' });
    await look(`copy-asked-${nth + 1}`, stranger);
  }
  await lookAt('/q/no-such-link', 'copy-unknown', stranger);
  await lookAtScene(await linkOf(at('in the shop')), 'copy-scene', stranger);
  // Now more jobs are accepted than the demo begins with.
  await lookAtTogether();
}

const STRIP = 1400;
const SHEET = 1560;
/// The pictures of one look in strips beside each other, on sheets small enough to be looked at as a whole.
async function layOut(look, shown) {
  const strips = [];
  for (const { name, file, scale } of shown) {
    const png = await readFile(join(eyes, file));
    const [width, height] = [png.readUInt32BE(16) * scale, png.readUInt32BE(20) * scale];
    for (let from = 0; from < height; from += STRIP) {
      const part = Math.min(STRIP, height - from);
      strips.push({ width, html: `<figure style="width:${width}px"><figcaption>${name}</figcaption><div style="height:${part}px;background:url('${file}') 0 ${-from}px/${width}px auto"></div></figure>` });
    }
  }
  const sheets = [[]];
  let room = SHEET;
  for (const { width, html } of strips) {
    if (width + 8 > room && sheets.at(-1).length > 0) {
      sheets.push([]);
      room = SHEET;
    }
    sheets.at(-1).push(html);
    room -= width + 8;
  }
  for (const [nth, sheet] of sheets.entries()) {
    const path = join(eyes, 'sheet.html');
    await writeFile(path, `<style>body{display:flex;gap:8px;margin:0;background:#888;font:12px sans-serif}figure{margin:0;flex:none}</style>${sheet.join('')}`);
    await stranger.setViewportSize({ width: SHEET, height: 300 });
    await stranger.goto(pathToFileURL(path).href);
    await stranger.screenshot({ path: join(eyes, `sheet-${look}-${String(nth + 1).padStart(2, '0')}.png`), fullPage: true });
    await rm(path);
  }
}

await mkdir(eyes, { recursive: true });
try {
  await walk();
  for (const { look } of LOOKS) await layOut(look, pictures.filter(picture => picture.look === look));
} finally {
  for (const hook of hooks.reverse()) await hook();
}
