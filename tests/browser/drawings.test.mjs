// Drawings on sheets: whole on a phone, larger by a tap or a key, printed at their true size.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdir, writeFile } from 'node:fs/promises';
import { after, before, test } from 'node:test';
import { assertAccessible, assertFits, assertSound, becomes, nextPage, PHONE, screenshot, shop } from './support.mjs';

const hooks = [];
let place, drawings;
before(async () => {
  place = await shop({ after: hook => hooks.push(hook) });
  const page = await place.newPage();
  await page.goto(place.url);
  await page.goto(`${place.url}/jobs`);
  await nextPage(page, () => page.locator('main table a').first().click());
  drawings = `${page.url()}/drawings`;
});
after(async () => { for (const hook of hooks.reverse()) await hook(); });

const wide = svg => svg.evaluate(element => element.getBoundingClientRect().width);

for (const javaScriptEnabled of [true, false]) {
  test(`a drawing is whole on a phone and larger by a tap or a key, ${javaScriptEnabled ? 'with' : 'without'} scripts`, async () => {
    const page = await place.newPage({ viewport: PHONE, javaScriptEnabled });
    await page.goto(drawings);
    const first = page.locator('[data-test=sheet]').first();
    const svg = first.locator('.paper-sheet');
    assert.ok(await wide(svg) <= PHONE.width, 'whole at first');
    await svg.click();
    assert.ok(await wide(svg) > 2 * PHONE.width, 'as large as its paper after a tap');
    await assertFits(page, 'with a large drawing');
    const sheet = first.locator('.drawing-sheet[tabindex]');
    await sheet.focus();
    await page.keyboard.press('ArrowRight');
    await becomes(() => sheet.evaluate(element => element.scrollLeft > 0), 'the keyboard moves it');
    await screenshot(page, `drawing-large-${javaScriptEnabled ? 'script' : 'plain'}`);
    await first.getByRole('checkbox').focus();
    await page.keyboard.press('Space');
    assert.ok(await wide(svg) <= PHONE.width, 'whole again by the space bar');
    if (javaScriptEnabled) await assertAccessible(page);
  });
}

test('on a phone views are read at once: on the sheets page, beside the fields and on the copy', async () => {
  const page = await place.newPage({ viewport: PHONE });
  /// Heights of the letters that are shown, in px.
  const letters = () => page.locator('main svg:not(.paper-sheet) text').evaluateAll(texts => texts
    .filter(text => text.checkVisibility())
    .map(text => {
      const { a, b } = text.getScreenCTM();
      return parseFloat(getComputedStyle(text).fontSize) * Math.hypot(a, b);
    }));
  for (const path of [drawings, `${drawings}/parts`, drawings.replace('drawings', 'trailer')]) {
    await page.goto(path);
    const shown = await letters();
    assert.ok(shown.length > 10, path);
    assert.ok(Math.min(...shown) >= 9, `${path}: letters of ${Math.min(...shown)} px`);
    await assertFits(page, path);
  }
  await page.setViewportSize({ width: 1280, height: 900 });
  assert.equal(await page.locator('svg.in-narrow').first().isVisible(), false, 'a desk has its own');
  assert.equal(await page.locator('svg.in-wide').first().isVisible(), true);
});

test('arrangement and parts are sound in every size and led to each other', async () => {
  const page = await place.newPage();
  await page.goto(drawings);
  await assertSound(page, 'drawings');
  await nextPage(page, () => page.getByRole('link', { name: 'Part drawings' }).click());
  await assertSound(page, 'part-drawings');
  const dxf = page.waitForEvent('download');
  await page.getByRole('link', { name: / as DXF$/ }).first().click();
  assert.match((await dxf).suggestedFilename(), /^[A-Z0-9-]+\.dxf$/);
});

test('what was asked for is drawn: the frame without deck and loads, marks, other paper', async () => {
  const page = await place.newPage();
  await page.goto(drawings);
  const texts = () => page.locator('.paper-sheet text').allTextContents();
  assert.ok(!(await texts()).includes('DK1'));
  for (const [name, value] of [['Deck', 'left out'], ['Loads', 'left out'], ['Marks', 'shown'], ['Paper', 'A3']]) {
    await page.getByLabel(name, { exact: true }).selectOption({ label: value });
  }
  await nextPage(page, () => page.getByRole('button', { name: 'Draw' }).click());
  const marked = await texts();
  assert.ok(marked.includes('DL1') && !marked.includes('DK1'), 'marks of members, not of the deck that is left out');
  assert.ok(marked.includes('A3'));
  assert.match(await page.locator('[data-test=pdf]').getAttribute('href'), /\/drawings\.pdf\?paper=A3$/);
});

test('each sheet prints on a page of its own paper', async () => {
  const page = await place.newPage();
  await page.goto(drawings);
  const count = await page.locator('[data-test=sheet]').count();
  const folder = new URL('../../target/screens/', import.meta.url).pathname;
  await mkdir(folder, { recursive: true });
  await writeFile(`${folder}/drawings.pdf`, await page.pdf({ preferCSSPageSize: true }));
  const info = execFileSync('pdfinfo', ['-f', '1', '-l', '99', `${folder}/drawings.pdf`], { encoding: 'utf8' });
  const pages = [...info.matchAll(/Page +\d+ size: +([\d.]+) x ([\d.]+)/g)];
  assert.equal(pages.length, count, info);
  for (const [, width, height] of pages) assert.ok(Math.abs(width - 841.9) < 1 && Math.abs(height - 595.3) < 1, info);
});
