// The bench page in a real browser.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { images, password, pin, startDemo, startLan } from './bench.mjs';

const [, , program, modules] = process.argv;
const require = createRequire(join(modules, 'here.js'));
const { chromium } = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

const phone = { viewport: { width: 390, height: 844 }, isMobile: true, hasTouch: true };
const desktop = { viewport: { width: 1280, height: 800 } };
const longest = 60000;

const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });
let passed = 0;
let failed = 0;

// Whatever a page says on its console is a mistake: a policy that it breaks, a script that fails.
async function open(options = desktop, more = {}) {
  const context = await browser.newContext({ locale: 'en-GB', reducedMotion: 'reduce', ignoreHTTPSErrors: true, ...options, ...more });
  context.setDefaultTimeout(longest);
  const page = await context.newPage();
  page.told = [];
  page.on('console', (message) => message.type() === 'error' && !/status of 4\d\d/.test(message.text()) && page.told.push(message.text()));
  page.on('pageerror', (error) => page.told.push(error.message));
  return page;
}

async function test(name, options, body, more = {}) {
  const begun = Date.now();
  const page = await open(options, more);
  try {
    await body(page);
    assert.deepEqual(page.told, []);
    passed++;
    console.log(`ok   ${name} (${Date.now() - begun} ms)`);
  } catch (error) {
    failed++;
    console.log(`FAIL ${name}: ${error.stack}`);
  }
  await page.context().close();
}

const json = async (page, path) => (await page.request.get(path)).json();
const inspections = async (page, base) => (await json(page, `${base}/api/inspections`)).inspections;
const words = { accept: 'ACCEPT', undecided: 'UNDECIDED', reject: 'REJECT', retake: 'RETAKE' };

// What the page shows is the record's verdict and no other's, and can be read from two metres.
async function checkVerdict(page, base) {
  await page.waitForURL(/\/inspections\/[^?]+$/);
  const id = new URL(page.url()).pathname.split('/')[2];
  const { verdict } = await json(page, `${base}/api/inspections/${id}`);
  const shown = page.locator('.verdict');
  assert.equal(await shown.getAttribute('class'), `verdict ${verdict}`);
  assert.equal(await shown.locator('h1').innerText(), words[verdict]);
  assert.equal(await shown.locator('svg').count(), 1);
  const box = await shown.boundingBox();
  assert.ok(box.height >= page.viewportSize().height / 3, `${box.height} px high`);
  assert.ok(box.y + box.height <= page.viewportSize().height, 'the verdict is seen without scrolling');
  if (verdict !== 'accept') assert.equal(await page.locator('.verdict.accept, .verdict .accept').count(), 0);
  assert.ok((await page.locator('.reason').innerText()).length > 10);
  return verdict;
}

async function checkAccess(page, where) {
  await page.evaluate(axe);
  const found = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ['violations'], runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }));
  const grave = found.violations.filter(({ impact }) => impact === 'serious' || impact === 'critical');
  assert.deepEqual(grave.map(({ id, nodes }) => `${where}: ${id}: ${nodes[0].html}`), []);
}

// A phone has about 6 px to the millimetre: 12 mm for gloves.
async function checkTargets(page, where) {
  const small = await page.evaluate(() =>
    [...document.querySelectorAll('button, .way, .main, nav a, footer a, .tool, .choice, select, input:not([type=hidden], [type=radio], [type=checkbox])')]
      .map((one) => [one, one.getBoundingClientRect()])
      .filter(([, box]) => box.height > 0 && (box.height < 72 || box.width < 72))
      .map(([one, box]) => `${one.outerHTML.slice(0, 80)} ${box.width} x ${box.height}`));
  assert.deepEqual(small, [], where);
}

const demo = await startDemo(program);
const { base } = demo;

await test('a first visit comes to a verdict in 4 clicks', phone, async (page) => {
  let clicks = 0;
  const tap = async (what) => {
    clicks++;
    await what.tap();
  };
  await page.goto(base);
  await tap(page.locator('.tool', { hasText: 'QT-D-0118' }).first());
  await tap(page.locator('.samples button').first());
  await checkVerdict(page, base);
  assert.ok(clicks <= 4, `${clicks} clicks`);
});

await test('the same by keyboard alone', desktop, async (page) => {
  const reach = async (sought) => {
    for (let i = 0; i < 60; i++) {
      await page.keyboard.press('Tab');
      if (await page.evaluate((text) => document.activeElement.innerText?.includes(text), sought)) return;
    }
    throw new Error(`no way by Tab to ${sought}`);
  };
  await page.goto(base);
  await page.keyboard.press('Tab');
  assert.equal(await page.evaluate(() => document.activeElement.className), 'skip');
  await reach('QT-D-0100');
  await page.keyboard.press('Enter');
  await page.waitForURL(/measure/);
  await reach('chip');
  await page.keyboard.press('Enter');
  assert.equal(await checkVerdict(page, base), 'reject');
});

await test('without scripts a file comes to its verdict', phone, async (page) => {
  await page.goto(`${base}/measure/QT-D-0118?view=drill-side`);
  await page.locator('#picture').setInputFiles(join(images, 'good-118.png'));
  await page.locator('form.measure button.main').tap();
  assert.equal(await checkVerdict(page, base), 'accept');
}, { javaScriptEnabled: false });

await test('without scripts nothing sent is told', phone, async (page) => {
  await page.goto(`${base}/measure/QT-D-0118`);
  await page.locator('form.measure button.main').tap();
  assert.match(await page.locator('[role=alert]').innerText(), /No picture/);
}, { javaScriptEnabled: false });

await test('the camera goes on by itself', phone, async (page) => {
  await page.goto(`${base}/measure/QT-D-0118?view=drill-side`);
  await page.locator('#camera').setInputFiles(join(images, 'good-118.png'));
  assert.equal(await checkVerdict(page, base), 'accept');
  const larger = page.getByRole('button', { name: 'Larger' });
  const before = (await page.locator('.pan img').boundingBox()).width;
  await larger.tap();
  assert.ok((await page.locator('.pan img').boundingBox()).width > 1.9 * before);
});

await test('several are sent with their progress', desktop, async (page) => {
  await page.goto(`${base}/measure/QT-D-0118?view=drill-side`);
  await page.locator('#picture').setInputFiles([{ name: 'good-118.png', mimeType: 'image/png', buffer: readFileSync(join(images, 'good-118.png')) }, { name: 'broken.png', mimeType: 'image/png', buffer: readFileSync(join(images, 'good-118.png')).subarray(0, 9000) }, { name: 'words.png', mimeType: 'image/png', buffer: Buffer.from('<script>alert(1)</script>') }]);
  await page.locator('form.measure button.main').click();
  await page.locator('.progress li:nth-child(3) .badge').waitFor();
  const lines = await page.locator('.progress li').allInnerTexts();
  assert.match(lines[0], /ACCEPT/);
  assert.doesNotMatch(lines[1] + lines[2], /ACCEPT/);
});

await test('what is too large is refused in words', desktop, async (page) => {
  const bomb = Buffer.concat([readFileSync(join(images, 'good-118.png')).subarray(0, 16), Buffer.from([0, 1, 0x86, 0xa0, 0, 1, 0x86, 0xa0]), readFileSync(join(images, 'good-118.png')).subarray(24)]);
  await page.goto(`${base}/measure/QT-D-0118?view=drill-side`);
  await page.locator('#picture').setInputFiles({ name: 'wide.png', mimeType: 'image/png', buffer: bomb });
  await page.locator('form.measure button.main').click();
  await page.locator('.verdict').waitFor();
  assert.equal(await page.locator('.progress .accept, .verdict.accept').count(), 0);
  const huge = await page.request.post(`${base}/api/tools/QT-D-0118/inspections`, { headers: { 'Content-Type': 'image/png', Origin: base, 'X-Whetsight-Token': (await json(page, `${base}/api/session`)).token }, data: Buffer.alloc(70e6) }).catch(() => null);
  assert.ok(huge === null || huge.status() === 413);
  assert.equal((await page.goto(base)).status(), 200);
});

await test('a tool goes to the toolroom and comes back ground', phone, async (page) => {
  await page.goto(`${base}/tools/QT-D-0100`);
  await Promise.all([page.waitForEvent('framenavigated'), page.getByRole('button', { name: 'Hand to the toolroom' }).tap()]);
  await page.waitForLoadState();
  await page.goto(`${base}/toolroom`);
  const job = page.locator('.job', { hasText: 'QT-D-0100' });
  await job.getByLabel('Ground by').fill('T. Grinder');
  await job.getByLabel('What was ground off').fill('0.3 mm off both lips');
  await job.getByRole('button', { name: 'Mark as ground' }).tap();
  await page.waitForURL(/tools\/QT-D-0100/);
  assert.match(await page.locator('main').innerText(), /T\. Grinder: 0\.3 mm off both lips/);
  await page.goto(`${base}/toolroom`);
  assert.equal(await page.locator('.job', { hasText: 'QT-D-0100' }).count(), 0);
});

await test('a label leads to its tool', phone, async (page) => {
  const pdf = await page.request.get(`${base}/labels.pdf?tool=QT-D-0127`);
  const label = spawnSync('pdftoppm', ['-png', '-r', '100', '-singlefile', '-'], { input: await pdf.body(), maxBuffer: 1e8 }).stdout;
  await page.goto(base);
  await page.locator('#label').setInputFiles({ name: 'label.png', mimeType: 'image/png', buffer: label });
  await page.waitForURL(/measure\/QT-D-0127/);
  await page.goto(base);
  await page.locator('#label').setInputFiles(join(images, 'good-118.png'));
  await page.locator('[role=alert]').waitFor();
  assert.match(await page.locator('[role=alert]').innerText(), /No label/);
});

await test('the bench camera takes its picture by itself', desktop, async (page) => {
  await page.goto(`${base}/measure/QT-D-0118`);
  await page.getByText('Look through the bench camera').click();
  await page.waitForURL(/live/);
  // The picture changes while one looks: both are waited for at once.
  await Promise.all([
    page.locator('.words:text-matches("turned: by 1[0-9]")').waitFor(),
    page.locator('.arrow', { hasText: '↻' }).waitFor(),
  ]);
  await page.locator('[data-rate]').waitFor();
  const { rate, delay } = await page.locator('.live').evaluate((section) => ({ ...section.dataset }));
  console.log(`     live: ${rate} frames a second, drawn ${delay} ms after they were taken`);
  await checkAccess(page, 'live');
  await checkVerdict(page, base);
});

await test('papers are there', desktop, async (page) => {
  const [newest] = await inspections(page, base);
  const report = await page.request.get(`${base}/api/inspections/${newest.id}/report.pdf`);
  const labels = await page.request.get(`${base}/labels.pdf`);
  for (const paper of [report, labels]) assert.equal((await paper.body()).subarray(0, 5).toString(), '%PDF-');
  const table = await (await page.request.get(`${base}/inspections.csv?tool=QT-D-0118`)).text();
  assert.match(table, /QT-D-0118/);
  assert.doesNotMatch(table, /QT-B-/);
});

await test('before and after a regrind are laid on each other, and the toolroom has a sheet', desktop, async (page) => {
  // The demo's history is measured while pages are opened already.
  while (!(await inspections(page, base)).some(({ tool, view }) => tool === 'QT-F-0114' && view === 'part-surface')) await page.waitForTimeout(500);
  await page.goto(`${base}/tools/QT-F-0114`);
  await page.locator('#regrind img.chart').waitFor();
  assert.ok(await page.locator('#regrind img.chart').evaluate((image) => image.complete && image.naturalWidth > 0));
  const row = await page.locator('#regrind tbody tr').first().innerText();
  assert.match(row, /^1\tground off\t≥ 0\.0[23]\d* ± 0\.0\d+ mm/);
  const told = await json(page, `${base}/api/tools/QT-F-0114/regrind`);
  assert.equal(told.places.length, await page.locator('#regrind tbody tr').count());
  // A part that chattered says nothing of the tool that made it.
  assert.match(await page.locator('p.action').first().innerText(), /^fit: form-plan accept$/);
  await page.goto(`${base}/tools/QT-B-0032`);
  assert.match(await page.locator('#regrind').innerText(), /Shorter than before: 0\.4\d+ ± 0\.0\d+ mm/);
  assert.match(await page.locator('main').innerText(), /Regrinds left: 26\n/);
  const sheet = await page.request.get(`${base}/api/tools/QT-D-0080/grind-sheet.pdf`);
  assert.equal((await sheet.body()).subarray(0, 5).toString(), '%PDF-');
});

await test('language and units stay as they were chosen', desktop, async (page) => {
  await page.goto(`${base}/preferences`);
  await page.getByLabel('Deutsch').check();
  await page.getByLabel('Inches').check();
  await page.locator('button.main').click();
  await page.goto(base);
  assert.equal(await page.locator('html').getAttribute('lang'), 'de');
  const [one] = (await inspections(page, base)).filter(({ view, verdict }) => view === 'drill-side' && verdict === 'accept');
  await page.goto(`${base}/inspections/${one.id}`);
  assert.match(await page.locator('table').first().innerText(), /\tin\t/);
});

const some = async (page) => {
  const all = await inspections(page, base);
  return Object.keys(words).map((verdict) => all.find((one) => one.verdict === verdict)).filter(Boolean).map(({ id }) => `/inspections/${id}`);
};
const plain = ['/', '/measure/QT-D-0118', '/inspections', '/tools/QT-F-0114', '/toolroom', '/quality', '/quality/study', '/quality/plant', '/accounts', '/preferences', '/nowhere'];

for (const [name, options, more, paths] of [
  ['on a phone', phone, {}],
  ['on a desktop, dark', desktop, { colorScheme: 'dark' }, ['/', '/measure/QT-D-0118', '/tools/QT-F-0114', '/toolroom', '/quality']],
  ['in German', phone, { locale: 'de-DE' }, ['/', '/measure/QT-D-0118', '/toolroom', '/quality', '/accounts']],
])
  await test(`every page can be used by everyone ${name}`, options, async (page) => {
    for (const path of paths ?? [...plain, ...(await some(page))]) {
      await page.goto(base + path);
      if (name !== 'in German') await checkAccess(page, path);
      else assert.equal(await page.locator('html').getAttribute('lang'), 'de');
      if (options === phone) await checkTargets(page, path);
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${path} is wider than the screen`);
    }
  }, more);

await test('every inspection shows its own verdict', phone, async (page) => {
  for (const { id } of (await inspections(page, base)).slice(0, 5)) {
    await page.goto(`${base}/inspections/${id}`);
    await checkVerdict(page, base);
  }
});
await demo.stop();

const lan = await startLan(program);
const signIn = async (page, account, secret) => {
  await page.goto(lan.base);
  await page.waitForURL(/sign-in/);
  await page.getByLabel('Name').fill(account);
  await page.getByLabel('Password').fill(secret);
  await page.locator('button.main').click();
};

await test('signing in, and what a role may not', desktop, async (page) => {
  await signIn(page, 'operator', 'something else');
  assert.match(await page.locator('[role=alert]').innerText(), /wrong/);
  await checkAccess(page, 'sign-in');
  await signIn(page, 'operator', password);
  await page.locator('.tool').first().waitFor();
  assert.equal((await page.goto(`${lan.base}/accounts`)).status(), 403);
  await page.goto(`${lan.base}/toolroom`);
  assert.equal(await page.getByRole('button', { name: 'Mark as ground' }).count(), 0);
  await page.getByRole('button', { name: 'Sign out' }).click();
  await page.waitForURL(/sign-in/);
  await page.goto(`${lan.base}/inspections`);
  assert.match(page.url(), /sign-in/);
});

await test('quality makes an account, verifies and seals', desktop, async (page) => {
  await signIn(page, 'quality', password);
  await page.goto(`${lan.base}/accounts`);
  await page.getByLabel('Name').fill('novice');
  await page.getByLabel(/Password/).fill('ten or more of them');
  await page.getByLabel('Why').fill('new at the bench');
  await page.locator('button.main').click();
  await page.getByRole('rowheader', { name: 'novice' }).waitFor();
  await page.goto(`${lan.base}/quality`);
  await page.getByRole('button', { name: 'Verify all of it' }).click();
  assert.match(await page.locator('h1').innerText(), /as it was written/);
  await page.goto(`${lan.base}/quality`);
  await page.getByRole('button', { name: 'Seal it' }).click();
  assert.match(await page.locator('pre').innerText(), /^whetsight-seal\/1 /);
});

await test('the morning check says whether the calibration holds', phone, async (page) => {
  await signIn(page, 'operator', password);
  await page.locator('.tool').first().waitFor();
  await page.goto(`${lan.base}/quality`);
  await page.getByRole('link', { name: 'Morning check' }).click();
  await page.getByText('Never checked').waitFor();
  await page.getByLabel('Its diameter, mm').fill('1.9998');
  await page.getByLabel('Choose its picture').setInputFiles({ name: 'pin.jpg', mimeType: 'image/jpeg', buffer: pin });
  await page.getByRole('button', { name: 'Check by this picture' }).click();
  await page.getByText('Passed: the calibration holds').waitFor();
  await checkAccess(page, 'check');
  await checkTargets(page, 'check');
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), 'wider than the screen');
});
await lan.stop();
await browser.close();
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed > 0 ? 1 : 0);
