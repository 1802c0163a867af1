// The page of `fillmark sheet --html` in a real browser: `node bench_sheet.mjs FILLMARK`.
//
// Its facts are two files written by hand: a run file with blanks (blank.yaml), and the same with its readings typed in
// (typed.yaml). What the page saves must be the second, byte for byte.

import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const here = dirname(fileURLToPath(import.meta.url));
const fillmark = resolve(process.argv[2]);
const axe = createRequire(import.meta.url).resolve('axe-core/axe.min.js');
const folder = mkdtempSync(join(tmpdir(), 'fillmark-browser-'));
const run = (...words) => execFileSync(fillmark, words, { stdio: ['ignore', 'pipe', 'inherit'] });
const page_of = (file) => pathToFileURL(join(folder, file)).href;

// What is typed at each entry, in the order of the page.
const readings = [
  ['date', '2026-03-04'],
  ['analysts', 'R. Example, T. Sample'],
  ['conditions.liquid', '21.3'],
  ['solutions.A.weighed.mass', '26.91'],
  ['solutions.B.weighed.mass', '5.20'],
  ['weighings.water.1.empty', '31.20'],
  ['weighings.water.1.filled', '56.14'],
  ['weighings.water.2.empty', '31.21'],
  ['weighings.water.2.filled', '56.17'],
  ['weighings.A.1.empty', '31.20'],
  ['weighings.A.1.filled', '57.96'],
  ['weighings.A.2.empty', '31.22'],
  ['weighings.A.2.filled', '57.96'],
  ['weighings.B.1.empty', '31.20'],
  ['weighings.B.1.filled', '57.04'],
  ['weighings.B.2.empty', '31.20'],
  ['weighings.B.2.filled', '57.01'],
  ['weighings.unknown.1.empty', '31.21'],
  ['weighings.unknown.1.filled', '57.40'],
  ['weighings.unknown.2.empty', '31.20'],
  ['weighings.unknown.2.filled', '57.42'],
  ['practice.rinsed', '3'],
  ['practice.mixed', 'inverted ten times'],
];

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || '/usr/bin/chromium',
  args: [
    '--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
    '--disable-background-networking', '--disable-component-update', '--disable-sync',
  ],
});

// A fresh browser in which nothing is kept; whatever is asked for but the page itself is noted.
const opened = async (file, options = {}) => {
  const context = await browser.newContext({ acceptDownloads: true, ...options });
  const page = await context.newPage();
  const asked = [];
  const failed = [];
  page.on('request', (request) => {
    if (!/^(file|blob|data):/.test(request.url())) asked.push(request.url());
  });
  page.on('pageerror', (error) => failed.push(String(error)));
  page.on('console', (message) => message.type() === 'error' && failed.push(message.text()));
  await page.goto(page_of(file));
  const close = async () => {
    assert.deepEqual(asked, [], 'nothing is asked for');
    assert.deepEqual(failed, [], 'nothing fails');
    await context.close();
  };
  return { page, close };
};
const field = (page, entry) => page.locator(`input[data-entry="${entry}"]`);
const told = async (page, entry) =>
  page.evaluate((entry) => {
    const input = document.querySelector(`input[data-entry="${entry}"]`);
    return document.getElementById(input.getAttribute('aria-describedby')).textContent;
  }, entry);
// Types with keys, as somebody does, and waits until something is said or nothing is.
const typed = async (page, entry, text, pattern) => {
  await field(page, entry).fill('');
  await field(page, entry).pressSequentially(text);
  await page.waitForFunction(
    ([entry, pattern]) => {
      const input = document.querySelector(`input[data-entry="${entry}"]`);
      const told = document.getElementById(input.getAttribute('aria-describedby')).textContent;
      return pattern ? new RegExp(pattern).test(told) : told === '';
    },
    [entry, pattern],
    { timeout: 5000 },
  );
};
const saved = async (page, name, press) => {
  const [download] = await Promise.all([page.waitForEvent('download'), press()]);
  assert.equal(download.suggestedFilename(), 'bath.yaml');
  mkdirSync(join(folder, name), { recursive: true });
  await download.saveAs(join(folder, name, 'bath.yaml'));
  return readFileSync(join(folder, name, 'bath.yaml'));
};
// What axe-core finds at widths of a phone and a desk, in light and dark.
const sound = async (file) => {
  const { page, close } = await opened(file);
  await page.addScriptTag({ path: axe });
  for (const [width, colorScheme] of [[420, 'light'], [420, 'dark'], [1200, 'light'], [1200, 'dark']]) {
    await page.setViewportSize({ width, height: 900 });
    await page.emulateMedia({ colorScheme });
    const found = await page.evaluate(async () => {
      const { violations } = await window.axe.run();
      return violations.map((v) => `${v.id}: ${v.nodes.slice(0, 3).map((node) => node.html).join(' | ')}`);
    });
    assert.deepEqual(found, [], `${file} at ${width} px, ${colorScheme}`);
    const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    assert.ok(over <= 0, `${file} at ${width} px is ${over} px too wide`);
  }
  await close();
};

try {
  const hand = readFileSync(join(here, 'typed.yaml'));
  copyFileSync(join(here, 'blank.yaml'), join(folder, 'bath.yaml'));
  run('sheet', join(folder, 'bath.yaml'), '--html');
  mkdirSync(join(folder, 'hand'));
  copyFileSync(join(here, 'typed.yaml'), join(folder, 'hand', 'bath.yaml'));

  {
    const { page, close } = await opened('bath.sheet.html');
    for (const [entry, text] of readings) await typed(page, entry, text, '');

    // What is wrong is told as it is typed, and no longer once it is put right.
    await typed(page, 'weighings.A.1.empty', '31.2', '^The balance shows 0\\.01 g: write 31\\.20, not 31\\.2');
    await typed(page, 'weighings.A.1.empty', '31.204', 'has more digits than it shows');
    await typed(page, 'weighings.A.1.empty', '60.00', 'empty vessel must be lighter');
    assert.match(await told(page, 'weighings.A.1.filled'), /empty vessel must be lighter/);
    await typed(page, 'weighings.A.1.empty', '31.20', '');
    assert.equal(await told(page, 'weighings.A.1.filled'), '');
    await typed(page, 'conditions.liquid', '70', 'unlikely temperature');
    await typed(page, 'conditions.liquid', '700', 'must be between');
    await typed(page, 'conditions.liquid', '21.3 °C', 'Leave out the unit');
    await typed(page, 'conditions.liquid', 'warm', 'Write a number');
    await typed(page, 'conditions.liquid', '21.3 ± 0.2', '');
    await typed(page, 'conditions.liquid', '21,3', '');
    assert.equal(await field(page, 'conditions.liquid').inputValue(), '21.3', 'a comma is taken as a point');
    await typed(page, 'practice.rinsed', 'often', 'must be a whole number');
    await typed(page, 'practice.rinsed', '3', '');
    await typed(page, 'date', '2026-02-30', 'no such day');
    await typed(page, 'date', '2026-03-04', '');
    assert.equal(await page.locator('input[aria-invalid]').count(), 0);

    // All is kept, ticks too.
    await page.locator('label.tick input').first().check();
    await page.reload();
    for (const [entry, text] of readings) {
      assert.equal(await field(page, entry).inputValue(), text, `${entry} is kept`);
    }
    assert.ok(await page.locator('label.tick input').first().isChecked());
    assert.ok(!(await page.locator('label.tick input').nth(1).isChecked()));

    const bytes = await saved(page, 'page', () => page.getByRole('button', { name: 'Save' }).click());
    assert.equal(bytes.toString(), hand.toString(), 'saved as typed by hand');
    assert.ok(bytes.equals(hand));
    assert.match(await page.getByRole('status').textContent(), /Saved as bath\.yaml: 23 of 23 entries/);
    await close();
  }
  for (const name of ['page', 'hand']) run('report', join(folder, name, 'bath.yaml'), '--quiet');
  const report = (name) => readFileSync(join(folder, name, 'bath.pdf'));
  assert.ok(report('page').equals(report('hand')), 'the same report');

  // By keyboard alone: Tab to the first field, then typing and Enter, Space at the boxes.
  {
    const { page, close } = await opened('bath.sheet.html');
    const values = new Map(readings);
    const at = () =>
      page.evaluate(() => {
        const here = document.activeElement;
        return { kind: here.type || here.tagName, entry: here.dataset.entry || '', text: here.textContent };
      });
    let here = await at();
    for (let tabs = 0; here.kind !== 'text'; tabs += 1) {
      assert.ok(tabs < 60, 'a field is reached by Tab');
      await page.keyboard.press('Tab');
      here = await at();
    }
    let ticked = 0;
    while (here.kind !== 'button') {
      if (here.kind === 'checkbox') {
        await page.keyboard.press('Space');
        ticked += 1;
      } else {
        assert.ok(values.has(here.entry), `${here.entry} is reached once`);
        await page.keyboard.type(values.get(here.entry));
        values.delete(here.entry);
      }
      await page.keyboard.press('Enter');
      here = await at();
    }
    assert.deepEqual([...values.keys()], [], 'every field is reached');
    assert.equal(await page.locator('label.tick input:checked').count(), ticked);
    assert.match(here.text, /Save/);
    const bytes = await saved(page, 'keyboard', () => page.keyboard.press('Enter'));
    assert.equal(bytes.toString(), hand.toString(), 'saved by keyboard as typed by hand');
    await close();
  }

  // What is saved half filled in is the file with these blanks filled, and the rest as it was.
  {
    const { page, close } = await opened('bath.sheet.html');
    const blank = readFileSync(join(here, 'blank.yaml'), 'utf8');
    assert.equal(
      (await saved(page, 'none', () => page.getByRole('button', { name: 'Save' }).click())).toString(),
      blank,
      'nothing typed, nothing changed',
    );
    await typed(page, 'solutions.B.weighed.mass', '5.20', '');
    const half = await saved(page, 'half', () => page.getByRole('button', { name: 'Save' }).click());
    const lines = half.toString().split('\n').filter((line, index) => line !== blank.split('\n')[index]);
    assert.deepEqual(lines, ['      mass: 5.20                              # Weighed into a tared vessel. Planned: 5.19 g.']);
    await close();
  }

  // Nobody is shut out: this page, those of every way to a density, and a report.
  await sound('bath.sheet.html');
  for (const way of ['weighings', 'cumulative', 'pycnometer', 'readings']) {
    run('start', join(folder, `${way}.yaml`), '--density', way, '--dilutions', '1', '--replicates', '2');
    run('sheet', join(folder, `${way}.yaml`), '--html');
    await sound(`${way}.sheet.html`);
  }
  run('report', join(folder, 'hand', 'bath.yaml'), '--force', '--also', 'html', '--quiet');
  await sound('hand/bath.html');
  // The largest sample, which has every kind of table and formula.
  copyFileSync(join(here, '../../sample_runs/creamery_brine_bath.yaml'), join(folder, 'creamery.yaml'));
  run('report', join(folder, 'creamery.yaml'), '--also', 'html', '--quiet');
  await sound('creamery.html');
  // On a phone, the answer stands before the contents, and the letters of a plot are large enough to be read.
  {
    const { page, close } = await opened('hand/bath.html', { viewport: { width: 420, height: 900 } });
    const seen = await page.evaluate(() => {
      const top = (found) => found.getBoundingClientRect().top;
      const letters = [...document.querySelectorAll('figure.plot text')];
      return {
        answer: top(document.querySelector('main h2')),
        contents: top(document.querySelector('nav')),
        lowest: Math.min(...letters.map((text) => text.getBoundingClientRect().height)),
        dark: getComputedStyle(document.body).backgroundColor,
      };
    });
    assert.ok(seen.answer < seen.contents, 'the answer stands before the contents');
    assert.ok(seen.lowest >= 9, `letters of a plot are ${seen.lowest} px high`);
    await page.emulateMedia({ colorScheme: 'dark' });
    const dark = await page.evaluate(() => getComputedStyle(document.body).backgroundColor);
    assert.notEqual(dark, seen.dark, 'dark where that is wanted');
    await close();
  }
  console.log('browser: all is well');
} finally {
  await browser.close();
  rmSync(folder, { recursive: true, force: true });
}
