// The built trailer in three dimensions: valid by the validator of the standard's own body, turned in the browser when asked for.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtemp, readdir, readFile, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { createRequire } from 'node:module';
import { assertAccessible, assertFits, assertFocused, assertQuiet, nextPage, otherLook, PHONE, screenshot, shop } from './support.mjs';

const validator = createRequire(new URL('../../target/browser/package.json', import.meta.url))('gltf-validator');
const hooks = [];
let place, trailer;
before(async () => {
  place = await shop({ after: hook => hooks.push(hook) });
  const page = await place.newPage();
  await page.goto(`${place.url}/jobs`);
  await nextPage(page, () => page.locator('main table a').first().click());
  trailer = `${page.url()}/trailer`;
});
after(async () => { for (const hook of hooks.reverse()) await hook(); });

test('glTF of every demo trailer is valid: no error, no warning', async () => {
  const demo = new URL('../../seed-data/demo/', import.meta.url).pathname;
  const folder = await mkdtemp(join(tmpdir(), 'scene-'));
  const files = (await readdir(demo)).filter(name => name.endsWith('.json'));
  assert.ok(files.length >= 8);
  for (const name of files) {
    const { spec } = JSON.parse(await readFile(join(demo, name), 'utf8'));
    const [from, to] = [join(folder, name), join(folder, `${name}.glb`)];
    await writeFile(from, JSON.stringify(spec));
    execFileSync(process.env.HITCHWRIGHT, ['scene', from, '--output', to]);
    const { issues, info } = await validator.validateBytes(new Uint8Array(await readFile(to)));
    assert.deepEqual([issues.numErrors, issues.numWarnings], [0, 0], `${name}: ${JSON.stringify(issues.messages.slice(0, 3))}`);
    assert.ok(info.totalTriangleCount > 1000, name);
  }
});

test('the viewer is fetched when asked for, turned by keyboard, and shows layers', async () => {
  const page = await place.newPage({ viewport: PHONE });
  const asked = [];
  page.on('request', request => asked.push(new URL(request.url()).pathname));
  await page.goto(trailer);
  const fetched = () => asked.filter(path => path.endsWith('.glb') || path.includes('three'));
  await page.waitForLoadState('networkidle');
  assert.deepEqual(fetched(), [], 'nothing before it is asked for');
  await page.getByRole('button', { name: 'Turn it in 3-D' }).click();
  const canvas = page.locator('.viewer canvas');
  await canvas.waitFor();
  assert.equal(fetched().length, 2);
  const begun = await otherLook(canvas, '', 'the trailer is drawn');
  await assertFocused(canvas);
  await page.keyboard.press('ArrowLeft');
  await page.keyboard.press('ArrowLeft');
  const turned = await otherLook(canvas, begun, 'the arrow keys turn it');
  await page.getByRole('button', { name: 'Frame only' }).click();
  await otherLook(canvas, turned, 'without the deck it looks otherwise');
  assert.equal(await page.getByRole('button', { name: 'Frame only' }).getAttribute('aria-pressed'), 'true');
  await assertFits(page, 'the viewer');
  await assertAccessible(page);
  await canvas.scrollIntoViewIfNeeded();
  await screenshot(page, 'viewer-phone');
});

test('the page scrolls over the viewer until the trailer is taken in hand, and Tab leads on', async () => {
  const page = await place.newPage({ viewport: PHONE, hasTouch: true, isMobile: true });
  await page.goto(trailer);
  await page.getByRole('button', { name: 'Turn it in 3-D' }).click();
  const canvas = page.locator('.viewer canvas');
  await canvas.waitFor();
  const wire = await page.context().newCDPSession(page);
  const top = () => page.evaluate(() => Math.round(scrollY));
  /// A finger strokes up across the middle of the view; how far the page moved.
  const stroke = async () => {
    await canvas.evaluate(element => element.scrollIntoView({ block: 'center' }));
    const before = await top();
    const box = await canvas.boundingBox();
    const touch = (type, ...points) => wire.send('Input.dispatchTouchEvent', { type, touchPoints: points });
    const at = share => ({ x: box.x + box.width / 2, y: box.y + box.height * share });
    await touch('touchStart', at(0.8));
    for (let share = 0.75; share > 0.2; share -= 0.05) {
      await touch('touchMove', at(share));
      await page.waitForTimeout(30);
    }
    await touch('touchEnd');
    await page.waitForTimeout(400);
    return await top() - before;
  };
  await page.evaluate(() => { document.body.style.paddingBottom = '1000px'; });
  assert.ok(await stroke() > 60, 'a stroke that begins on it moves the page');
  const begun = await otherLook(canvas, '', 'the trailer is drawn');
  await canvas.tap();
  assert.equal(await stroke(), 0, 'once it is tapped, a stroke no longer moves the page');
  await otherLook(canvas, begun, 'but turns the trailer');
  await page.keyboard.press('Escape');
  assert.ok(await stroke() > 60, 'Esc gives the stroke back to the page');
  await page.keyboard.press('Tab');
  await assertFocused(page.getByRole('button', { name: 'Frame only' }), 'Tab leads on');
  await page.keyboard.press('Shift+Tab');
  await assertFocused(canvas, 'and back');
});

test('without scripts the picture stands in its place and no button does nothing', async () => {
  const page = await place.newPage({ javaScriptEnabled: false });
  await page.goto(trailer);
  assert.equal(await page.getByRole('button', { name: 'Turn it in 3-D' }).isVisible(), false);
  assert.ok(await page.locator('svg [class^=ink-]').count() > 50);
});

test("a customer's copy comes with less than 250 kB, and its trailer turns on their phone", async () => {
  const desk = await place.newPage();
  await desk.goto(`${place.url}/jobs/5/revisions/1`);
  await desk.getByRole('button', { name: 'Make a link' }).click();
  const link = await desk.locator('[data-test="link"]').getAttribute('href');
  const page = await place.newPage({ viewport: PHONE, nobody: true });
  const wire = await page.context().newCDPSession(page);
  await wire.send('Network.enable');
  let bytes = 0;
  wire.on('Network.loadingFinished', ({ encodedDataLength }) => { bytes += encodedDataLength; });
  await page.goto(link, { waitUntil: 'networkidle' });
  assert.ok(bytes > 20_000 && bytes < 250_000, `${bytes} bytes`);
  await page.getByRole('button', { name: 'Turn it in 3-D' }).click();
  const canvas = page.locator('.viewer canvas');
  await canvas.waitFor();
  await assertFocused(canvas);
  await assertFits(page, 'the copy with its viewer');
  await assertAccessible(page);
  assertQuiet(page, 'the copy with its viewer');
  await screenshot(page, 'copy-viewer-phone');
});
