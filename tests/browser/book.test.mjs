// The shop's books in a browser: a supplier's long list with faulty rows, a rise of a class and what it does to open quotes, and two
// people who edit one design. HITCHWRIGHT_ROWS=5000 makes the list as long as a merchant's.

import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { assertQuiet, assertSoundOnPhone, DESK, nextPage, screenshot, shop } from './support.mjs';

const hooks = [];
let place;
before(async () => { place = await shop({ after: hook => hooks.push(hook) }); });
after(async () => { for (const hook of hooks.reverse()) await hook(); });

const press = (page, name) => nextPage(page, () => page.getByRole('button', { name, exact: false }).first().click());
const rows = (page, table) => page.locator(`[data-test="${table}"] tbody tr`);
const amount = text => Number(text.replace(/[^\d.]/g, ''));

/// A list of so many rows, of which eight in a thousand are faulty in four ways; and what is wrong with each, by line.
function list(count) {
  const lines = ['code;kind;name;class;unit;price (comma);section;grade;lengths;supplier'];
  const wrong = new Map();
  for (let row = 0; row < count; row += 1) {
    const [price, section, says] = {
      7: ['cheap', 'shs 50x50x3', /“cheap”/], 132: ['-4,00', 'shs 50x50x3', /-4/], 257: ['5,10', 'shs 50x50x30', /50x50x30/], 382: ['', 'shs 50x50x3', /price/],
    }[row % 500] ?? ['5,10', 'shs 50x50x3', undefined];
    lines.push(`N-${row};bar;Tube ${row};hollow-section;metre;${price};${section};S235;6000;Quay Metals`);
    if (says) wrong.set(String(row + 2), says);
  }
  return { text: lines.join('\n'), wrong };
}

test('of a long list every faulty row is named with its line, field and reason, and the others are written', async t => {
  const count = Number(process.env.HITCHWRIGHT_ROWS ?? 500);
  const { text, wrong } = list(count);
  const page = await place.newPage();
  await page.goto(`${place.url}/rates/list`);
  await page.locator('#f-file').setInputFiles({ name: 'quay metals.csv', mimeType: 'text/csv', buffer: Buffer.from(text) });
  const began = Date.now();
  await press(page, 'Show what it would do');
  t.diagnostic(`${count} rows of ${Math.round(text.length / 1024)} kB sent, judged and shown in ${Date.now() - began} ms`);
  assert.equal(await page.locator('[data-test=counts]').innerText(), `${count - wrong.size} new, 0 changed, 0 same, ${wrong.size} refused. Nothing is written yet.`);
  const refused = await rows(page, 'refused').evaluateAll(found => found.map(row => [...row.cells].map(cell => cell.innerText)));
  assert.deepEqual(refused.map(([line]) => line), [...wrong.keys()]);
  for (const [line, code, says] of refused) {
    assert.equal(code, `N-${Number(line) - 2}`);
    assert.match(says, wrong.get(line), `line ${line}`);
  }
  t.diagnostic(`each fate: ${[...new Set(refused.map(([, , says]) => says))].join(' | ')}`);
  await page.setViewportSize(DESK);
  await page.screenshot({ path: (await screenshotPath(page, 'price-list')), clip: { x: 0, y: 0, width: DESK.width, height: DESK.height } });
  const writing = Date.now();
  await press(page, 'Write these');
  t.diagnostic(`written in ${Date.now() - writing} ms`);
  assert.equal(new URL(page.url()).pathname, '/rates');
  await page.goto(`${place.url}/rates?search=N-${count - 1}`);
  assert.equal(await page.locator('[data-test=found]').innerText(), '1 item');
  assert.equal((await page.request.get(`${place.url}/rates/items/N-257`)).status(), 404, 'a refused row was written');
  assertQuiet(page);
});

/// Leaves a whole picture, and says where one of the window goes.
async function screenshotPath(page, name) {
  await screenshot(page, `${name}-whole`);
  return new URL(`../../target/screens/${name}.png`, import.meta.url).pathname;
}

test('a rise of 12 % on hollow sections says what it does to each open quote before it is applied', async t => {
  const page = await place.newPage();
  await page.goto(`${place.url}/rates/open-quotes`);
  const before = await rows(page, 'quotes').allInnerTexts();
  assert.ok(before.length >= 3, `${before.length} open quotes`);
  await page.goto(`${place.url}/rates/bulk`);
  await page.locator('#f-class').selectOption('hollow-section');
  await page.locator('#f-percent').fill('12');
  await press(page, 'Show every line');
  await press(page, 'Show what this does');
  t.diagnostic(await page.locator('[data-test=effect]').innerText());
  const cells = await rows(page, 'quotes').evaluateAll(found => found.map(row => [...row.cells].map(cell => cell.innerText)));
  assert.equal(cells.length, before.length);
  for (const [job, what, was, then, price, marginWas, marginThen] of cells) {
    t.diagnostic(`${job.replace('\n', ' ')}: ${what}: cost ${was} to ${then.replace('\n', ' ')}, price ${price}, margin ${marginWas} to ${marginThen.replace('\n', ' ')}`);
    assert.ok(amount(then.split(/[+−]/)[0]) >= amount(was), `${job}: ${was} to ${then}`);
    // What was issued keeps its price, so its margin gives way.
    if (what.includes('revision')) assert.ok(parseFloat(marginThen) <= parseFloat(marginWas), `${job}: ${marginWas} to ${marginThen}`);
  }
  await screenshot(page, 'rise-of-hollow-sections');
  assertQuiet(page);
  await page.goto(`${place.url}/rates/open-quotes`);
  assert.deepEqual(await rows(page, 'quotes').allInnerTexts(), before, 'what was only looked at changed nothing');
});

test('of two people who edit one design the second is told, sees both sides and loses nothing', async () => {
  const [mine, theirs] = [await place.newPage(), await place.newPage()];
  await mine.goto(`${place.url}/jobs?search=folding`);
  const job = new URL(await mine.locator('main table a').first().getAttribute('href'), place.url).href;
  const length = page => page.locator('[name="design.bed.length"]');
  const width = page => page.locator('[name="design.bed.width"]');
  for (const page of [mine, theirs]) await page.goto(`${job}/trailer`);
  const was = await width(mine).inputValue();
  await length(theirs).fill('2610');
  assert.equal((await press(theirs, 'Save the design')).status(), 200);
  await length(mine).fill('2720');
  await width(mine).fill('1410');
  assert.equal((await press(mine, 'Save the design')).status(), 409);
  assert.match(await mine.locator('h1').innerText(), /someone else/);
  const sides = await mine.locator('[data-test=conflict] tbody tr').evaluateAll(found => found.map(row => [...row.cells].map(cell => cell.innerText.trim())));
  const side = label => sides.find(([name]) => name.includes(label)) ?? assert.fail(`${label} is not shown: ${JSON.stringify(sides)}`);
  assert.match(side('Bed length')[1], /2,?610/);
  assert.match(side('Bed length')[2], /2720/);
  assert.match(side('Bed length')[0], /both changed it/);
  assert.match(side('Bed width')[2], /1410/);
  mine.complaints = mine.complaints.filter(text => !text.includes('409'));
  await assertSoundOnPhone(mine, 'two-edit-one-design');
  await mine.locator('[name="keep:design.bed.length"][value=theirs]').check();
  await press(mine, 'Save as chosen above');
  await theirs.goto(`${job}/trailer`);
  assert.match(await length(theirs).inputValue(), /^2,?610/);
  assert.match(await width(theirs).inputValue(), /^1,?410/);
  assert.notEqual(await width(theirs).inputValue(), was);

  // Pressed in the same moment: one is kept, the other is asked.
  for (const page of [mine, theirs]) await page.goto(`${job}/trailer`);
  await length(mine).fill('2500');
  await length(theirs).fill('2400');
  const answers = await Promise.all([mine, theirs].map(page => press(page, 'Save the design')));
  assert.deepEqual(answers.map(answer => answer.status()).sort(), [200, 409]);
});
