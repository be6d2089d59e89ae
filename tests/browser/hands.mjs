// Two ways of working a page, with the same actions: a pointer (mouse or finger) and a keyboard alone.

import assert from 'node:assert/strict';

/// Works with a mouse or a finger.
export class Pointer {
  constructor(page) {
    this.page = page;
  }

  async fill(target, text) {
    await target.fill(text);
  }

  async choose(target, words) {
    await target.selectOption({ label: words });
  }

  async press(target) {
    await target.click();
  }
}

/// Works with Tab, Enter, Space and typing only: what Tab does not reach cannot be done.
export class Keyboard {
  constructor(page) {
    this.page = page;
  }

  /// Tab until the focus is on the target, which must then be in sight.
  async reach(target) {
    const wanted = await target.elementHandle();
    const isThere = () => wanted.evaluate(element => element === document.activeElement);
    for (let steps = 0; steps < 400; steps += 1) {
      if (await isThere()) {
        assert.ok(await wanted.evaluate(element => {
          const { top, bottom, width } = element.getBoundingClientRect();
          return width > 1 && bottom > 0 && top < globalThis.innerHeight;
        }), 'what has the focus is out of sight');
        return;
      }
      await this.page.keyboard.press('Tab');
    }
    assert.fail(`Tab does not reach ${target}`);
  }

  async fill(target, text) {
    await this.reach(target);
    await this.page.keyboard.press('ControlOrMeta+A');
    await this.page.keyboard.type(text);
  }

  async choose(target, words) {
    await this.reach(target);
    await this.page.keyboard.type(words);
    assert.equal(await target.evaluate(list => list.selectedOptions[0].label), words);
  }

  async press(target) {
    await this.reach(target);
    const isTick = await target.evaluate(element => element.type === 'checkbox');
    await this.page.keyboard.press(isTick ? 'Space' : 'Enter');
  }
}
