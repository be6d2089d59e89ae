// What every browser test needs: a server of its own on a free port with a database of its own, and a Chromium.
// tests/run sets HITCHWRIGHT (the binary), CHROMIUM (the browser) and installs the packages in target/browser.

import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { mkdtemp, mkdir, readFile, rm } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../../', import.meta.url));
const packages = createRequire(join(root, 'target/browser/package.json'));
const { chromium } = packages('playwright-core');
const jsqr = packages('jsqr');
const readCode = jsqr.default ?? jsqr;
const axeSource = await readFile(packages.resolve('axe-core/axe.min.js'), 'utf8');

const binary = process.env.HITCHWRIGHT ?? join(root, 'target/debug/hitchwright');
const screens = join(root, 'target/screens');

/// Chromium without anything that would leave this machine or need a display. Pages are drawn by the processor at once, not by one that
/// plays a graphics card; only what asks for WebGL is.
const flags = ['--no-sandbox', '--disable-gpu', '--enable-unsafe-swiftshader', '--disable-quic', '--no-first-run', '--disable-background-networking',
  '--disable-component-update', '--disable-sync'];

/// Whether the long trials are asked for (`tests/run --long`).
export const LONG = process.env.HITCHWRIGHT_LONG === '1';

/// Window sizes: a phone and a desk.
export const PHONE = { width: 360, height: 740 };
export const DESK = { width: 1280, height: 900 };

/// Starts the server; it is stopped, and its folder removed, when the test `t` ends.
/// Returns { url, database, stop() }. `args` are added to the command line.
export async function serve(t, { args = [], env = {} } = {}) {
  const folder = await mkdtemp(join(tmpdir(), 'hitchwright-'));
  const database = join(folder, 'shop.sqlite');
  const server = spawn(binary, ['serve', '--listen', '127.0.0.1:0', '--database', database, ...args], {
    env: { ...process.env, ...env }, stdio: ['ignore', 'pipe', 'pipe'],
  });
  let said = '';
  const ended = new Promise(resolve => server.once('exit', resolve));
  const stop = async () => {
    if (server.exitCode === null && server.signalCode === null) server.kill('SIGTERM');
    await ended;
  };
  t.after(async () => {
    await stop();
    await rm(folder, { recursive: true, force: true });
  });
  server.stderr.on('data', text => { said += text; });
  const url = await new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error(`the server did not open within 60 s: ${said}`)), 60_000);
    let printed = '';
    server.once('error', reject);
    ended.then(code => reject(new Error(`the server ended with ${code}: ${said}`)));
    server.stdout.on('data', text => {
      printed += text;
      const found = printed.match(/http:\/\/[^/\s]+/);
      if (found) {
        clearTimeout(late);
        resolve(found[0]);
      }
    });
  });
  return { url, database, stop };
}

/// Waits until `ask()` answers yes; works on a page without scripts too.
export async function becomes(ask, what, times = 50) {
  for (let tries = 0; tries < times; tries += 1) {
    if (await ask()) return;
    await new Promise(resolve => setTimeout(resolve, 200));
  }
  assert.fail(what);
}

/// Waits until a part of the page looks other than `before` (a picture of it) and no longer changes; gives its new picture.
/// Drawing by software takes its time on a busy machine, so it is looked at again, not after a fixed while.
export async function otherLook(part, before, what) {
  let last = before;
  for (let tries = 0; tries < 60; tries += 1) {
    const now = (await part.screenshot()).toString('base64');
    if (now !== before && now === last) return now;
    last = now;
    await part.page().waitForTimeout(200);
  }
  return assert.fail(what);
}

/// Opens a browser; it is closed when the test `t` ends. `newPage(options)` gives a page in a context of its own, with
/// what its console complained about in `page.complaints`. With `cookies` somebody is signed in from the start; of
/// `newPage({ nobody: true })` nobody is.
export async function browser(t, cookies = []) {
  const chrome = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: flags });
  t.after(() => chrome.close());
  return {
    async newPage({ nobody = false, ...options } = {}) {
      const context = await chrome.newContext({ viewport: DESK, ...options });
      if (!nobody) await context.addCookies(cookies);
      context.setDefaultTimeout(30_000);
      const page = await context.newPage();
      page.complaints = [];
      page.on('console', message => {
        // A form that comes back with its faults is answered 422, and Chromium notes that: it is no complaint.
        const isFormBack = message.text().includes('the server responded with a status of 422');
        if (['error', 'warning'].includes(message.type()) && !isFormBack) page.complaints.push(message.text());
      });
      page.on('pageerror', error => page.complaints.push(String(error)));
      return page;
    },
  };
}

/// What a QR code on a page says, read back from its picture by a reader that is not ours.
export async function codeSays(code) {
  const picture = (await code.screenshot()).toString('base64');
  const blank = await code.page().context().newPage();
  const { data, width, height } = await blank.evaluate(async picture => {
    const image = new Image();
    image.src = `data:image/png;base64,${picture}`;
    await image.decode();
    const canvas = Object.assign(document.createElement('canvas'), { width: image.width, height: image.height });
    const brush = canvas.getContext('2d');
    brush.drawImage(image, 0, 0);
    return { data: [...brush.getImageData(0, 0, image.width, image.height).data], width: image.width, height: image.height };
  }, picture);
  await blank.close();
  return readCode(Uint8ClampedArray.from(data), width, height)?.data;
}

/// The demo's people, as the sign-in page shows them.
export const OWNER = { name: 'Mara Holloway', password: 'demo owner at wick sands' };
export const WORKSHOP = { name: 'Jory Pell', password: 'demo workshop at wick sands' };

/// The cookies of a browser in which this person is signed in.
export async function signedIn(url, person = OWNER) {
  const answer = await fetch(`${url}/sign-in`, { method: 'POST', body: new URLSearchParams(person), redirect: 'manual' });
  assert.equal(answer.status, 303, await answer.text());
  const [, name, value] = answer.headers.get('set-cookie').match(/^([^=]+)=([^;]+)/);
  return [{ name, value, url }];
}

/// A server with the demo shop, and a browser in which its owner is signed in.
export async function shop(t, options) {
  const server = await serve(t, options);
  return { ...server, ...(await browser(t, await signedIn(server.url))) };
}

/// Asserts that `wanted` has the focus, or gets it: the browser moves it (to what asks for it, to a link's target) only when
/// it next draws, which on a busy machine is after the page has loaded.
export async function assertFocused(wanted, message) {
  await wanted.and(wanted.page().locator(':focus')).waitFor({ timeout: 5000 }).catch(() => assert.fail(message ?? `${wanted} has not the focus`));
}

/// Does what leads to another page, and waits until that page is there; answers the response to its request.
export async function nextPage(page, act) {
  const there = page.waitForEvent('domcontentloaded');
  const answered = page.waitForResponse(response => response.request().isNavigationRequest() && response.status() !== 303);
  await act();
  await there;
  return answered;
}

// Only what is wrong is reported: finding a selector for all that is right takes most of the time on a large page.
const REPORT = { resultTypes: ['violations'], selectors: false };
const RULES = { ...REPORT, runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] };
/// What a colour scheme can break: the other rules look at the same document in both.
const COLOURS = { ...REPORT, runOnly: { type: 'rule', values: ['color-contrast', 'link-in-text-block'] } };

/// Fails where the page breaks a rule of WCAG 2.2 AA that a program can see.
export async function assertAccessible(page, where = page.url(), rules = RULES) {
  if (!await page.evaluate(() => 'axe' in globalThis)) await page.evaluate(axeSource);
  const { violations } = await page.evaluate(asked => globalThis.axe.run(document, asked), rules);
  const found = violations.map(({ id, help, nodes }) => `${id}: ${help}\n    ${nodes.map(node => `${node.html} ${node.failureSummary}`).join('\n    ')}`);
  assert.deepEqual(found, [], `${where} is not accessible`);
}

/// Fails where the page is wider than its window (what is too wide scrolls inside its own region).
export async function assertFits(page, where = page.url()) {
  const [content, window] = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]);
  assert.ok(content <= window, `${where} is ${content} px wide in a window of ${window} px`);
}

/// Fails where the browser's console complained: a blocked script or style, a missing file, an error.
export function assertQuiet(page, where = page.url()) {
  assert.deepEqual(page.complaints, [], `${where}: the console complains`);
}

/// Everything that holds for every page, at phone and desk width, in light and dark; leaves pictures in target/screens/.
export async function assertSound(page, name) {
  for (const [size, viewport] of Object.entries({ phone: PHONE, desk: DESK })) {
    await page.setViewportSize(viewport);
    for (const [colorScheme, rules] of [['light', RULES], ['dark', COLOURS]]) {
      await page.emulateMedia({ colorScheme });
      await assertAccessible(page, `${name} (${size}, ${colorScheme})`, rules);
    }
    await page.emulateMedia({ colorScheme: null });
    await assertFits(page, `${name} (${size})`);
    await screenshot(page, `${name}-${size}`);
  }
  assertQuiet(page, name);
}

/// All that holds for every page, on a phone only: for pages whose kind is looked at in every size elsewhere.
export async function assertSoundOnPhone(page, name) {
  await page.setViewportSize(PHONE);
  await assertAccessible(page, name);
  await assertFits(page, name);
  await screenshot(page, `${name}-phone`);
  assertQuiet(page, name);
}

/// Leaves a picture of the whole page in target/screens/.
export async function screenshot(page, name) {
  await mkdir(screens, { recursive: true });
  await page.screenshot({ path: join(screens, `${name}.png`), fullPage: true });
}
