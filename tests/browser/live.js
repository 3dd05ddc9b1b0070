/* Tests of `dovetell live` in Chromium. Each test gets a folder, a server and a page of its own; a request to anything
 * but that server, a dialog, an error or a log line fails it. */
'use strict';
const assert = require('node:assert');
const {spawn} = require('node:child_process');
const fs = require('node:fs');
const path = require('node:path');
const {watch, runAll, load} = require('./harness');

const [program, root, work] = process.argv.slice(2);
const tests = [];
const test = (name, body, options = {}) => tests.push({name, body, options});

const bytesOf = (draft) => fs.readFileSync(path.join(root, draft));
const HERON = 'corpus/demo/heron-1.svg', OTHER = 'corpus/demo/heron-2.svg', HOSTILE = 'tests/cli/drafts/hostile.svg';
const HOSTILE_NAME = '<img src=x onerror=alert(1)>"\'&.svg';

/* As an editor saves: a file beside it, then a rename. */
function save(bench, name, bytes) {
  const beside = path.join(bench.folder, '.saving');
  fs.writeFileSync(beside, bytes);
  fs.renameSync(beside, path.join(bench.folder, name));
}

async function startServer(folder) {
  const child = spawn(program, ['live', folder], {stdio: ['ignore', 'pipe', 'inherit']});
  const address = await new Promise((found, failed) => {
    let text = '';
    child.stdout.on('data', (data) => {
      text += data;
      const match = text.match(/http:\/\/127\.0\.0\.1:\d+\//);
      if (match) found(match[0]);
    });
    child.on('exit', () => failed(new Error('the server ended before it gave its address')));
  });
  return {child, address};
}
function endServer(child) {
  if (child.exitCode != null) return Promise.resolve(child.exitCode);
  return new Promise((done) => {
    child.on('exit', (code, signal) => done(signal || code));
    child.kill('SIGINT');
  });
}

const ready = (page, name, words = 'points') =>
  page.waitForSelector(`.cards li:has-text("${name}") .line:has-text("${words}")`);
const versionOf = (page) => page.evaluate(() => document.querySelector('meta[name=dovetell-version]').content);
/* In the page. While it is loaded anew it has no version, nor anything else, for a moment. */
const isNewerThan = (v) => ![undefined, v].includes(document.querySelector('meta[name=dovetell-version]')?.content);
async function openDraft(bench, name) {
  await bench.page.goto(bench.address);
  await ready(bench.page, name);
  await bench.page.click(`.cards a:has-text("${name}")`);
  await bench.page.waitForSelector('#follow:has-text("follows each save")');
}
/* A file let fall on the page, as the browser reports it. */
const dropFile = (page, name, text) => page.evaluate(([n, t]) => {
  const data = new DataTransfer();
  data.items.add(new File([t], n, {type: 'image/svg+xml'}));
  for (const type of ['dragover', 'drop'])
    document.body.dispatchEvent(new DragEvent(type, {dataTransfer: data, bubbles: true, cancelable: true}));
}, [name, text]);

test('the list follows the folder', async (bench) => {
  const {page} = bench;
  await page.goto(bench.address);
  await page.waitForSelector('text=There is no draft in the folder yet');
  save(bench, 'heron.svg', bytesOf(HERON));
  await ready(page, 'heron.svg');
  assert.ok(await page.locator('.cards .mini path').count() > 50);
  save(bench, 'half.svg', '<svg half');
  await page.waitForSelector('.cards .broken:has-text("half.svg") .trouble');
  fs.unlinkSync(path.join(bench.folder, 'half.svg'));
  await page.waitForFunction(() => document.querySelectorAll('.cards li').length === 1);
});

test('a save arrives, and view and picked piece are kept', async (bench) => {
  const {page} = bench;
  save(bench, 'heron.svg', bytesOf(HERON));
  await openDraft(bench, 'heron.svg');
  await page.click('#tab-joints');
  const asked = [];
  await page.evaluate(() => {
    window.dovetell.pick(11);
    window.dovetell.map.view = {x: 20, y: 30, w: 80};
  });
  await page.evaluate(() => { document.getElementById('panel').scrollTop = 120; });
  const before = await versionOf(page), start = Date.now();
  page.on('request', (request) => asked.push(new URL(request.url()).pathname.split('/')[1]));
  save(bench, 'heron.svg', bytesOf(OTHER));
  await page.waitForFunction(isNewerThan, before);
  await page.waitForFunction(() => window.dovetell && window.dovetell.picked >= 0);
  console.log('    a save of 57 pieces shown after ' + (Date.now() - start) + ' ms; ' + load());
  /* what the page needs to hear of it: its state when the analysis begins and ends, then itself, once */
  assert.strictEqual(asked.filter((what) => what === 'draft').length, 1, asked.join(' '));
  assert.ok(asked.indexOf('draft') <= 2, asked.join(' '));
  const state = await page.evaluate(() => window.dovetell.state());
  assert.strictEqual(state.scrolled, 120);
  assert.strictEqual(state.tab, 'joints');
  assert.strictEqual(state.picked, 11);
  for (const [key, value] of Object.entries({x: 20, y: 30, w: 80}))
    assert.ok(Math.abs(state.view[key] - value) < 0.01, key + ' is ' + state.view[key]);
});

test('what is being done with a large draft is told, on the list and on its page', async (bench) => {
  const {page} = bench;
  save(bench, 'large.svg', bytesOf('corpus/knobbed-5000.svg'));
  await page.goto(bench.address);
  await page.waitForSelector('.cards .waiting .work:not(:empty)', {state: 'attached'});
  assert.match(await page.textContent('.cards .work'), /^[a-z ]+(, \d+ %)?$/);
  await page.waitForSelector('.cards .ready .line:has-text("5000 pieces")');
  await page.click('.cards a');
  await page.waitForSelector('#follow');
  save(bench, 'large.svg', Buffer.concat([bytesOf('corpus/knobbed-5000.svg'), Buffer.from('\n')]));
  await page.waitForSelector('#follow:has-text("comparing pieces and places")');
});

test('a broken save shows why and the last good state; the next good one shows again', async (bench) => {
  const {page} = bench;
  save(bench, 'heron.svg', bytesOf(HERON));
  await openDraft(bench, 'heron.svg');
  const before = await versionOf(page);
  save(bench, 'heron.svg', bytesOf(HERON).subarray(0, 3000));
  await page.waitForSelector('#trouble:has-text("cannot be read; this is the one before")');
  assert.match(await page.textContent('#trouble'), /heron\.svg/);
  assert.ok(await page.locator('#pieces path').count() > 50);
  save(bench, 'heron.svg', bytesOf(OTHER));
  await page.waitForFunction(isNewerThan, before);
  await page.waitForSelector('#trouble', {state: 'hidden'});
  fs.unlinkSync(path.join(bench.folder, 'heron.svg'));
  await page.waitForSelector('#trouble:has-text("no longer in the folder")');
});

test('drawings are dropped on the list and on a draft, and not stored', async (bench) => {
  const {page} = bench;
  save(bench, 'heron.svg', bytesOf(HERON));
  await page.goto(bench.address);
  await dropFile(page, 'reed & rush.svg', bytesOf(OTHER).toString());
  await page.waitForURL(/\/dropped\/1$/);
  assert.match(await page.textContent('header .name'), /All drafts.*reed & rush\.svg.*memory/);
  await openDraft(bench, 'heron.svg');
  await dropFile(page, 'again.svg', bytesOf(OTHER).toString());
  await page.waitForURL(/\/dropped\/2$/);
  await page.click('header .name a');
  await page.setInputFiles('#pick', {name: 'picked.svg', mimeType: 'image/svg+xml', buffer: bytesOf(HERON)});
  await page.waitForURL(/\/dropped\/3$/);
  await page.goto(bench.address);
  await dropFile(page, 'no.svg', 'no drawing at all');
  await page.waitForSelector('#dropping:has-text("no.svg")');
  assert.deepStrictEqual(fs.readdirSync(bench.folder), ['heron.svg']);
}, {mayLog: /422/});

test('a game is not lost to a save', async (bench) => {
  const {page} = bench;
  save(bench, 'heron.svg', bytesOf(HERON));
  await openDraft(bench, 'heron.svg');
  const before = await versionOf(page);
  await page.click('#tab-play');
  await page.evaluate(() => window.dovetell.play.start(2));
  save(bench, 'heron.svg', bytesOf(OTHER));
  await page.waitForSelector('#follow:has-text("newer save")');
  assert.strictEqual(await versionOf(page), before);
  await page.evaluate(() => window.dovetell.play.stop());
  await page.waitForFunction(isNewerThan, before);
});

test('nothing that a name or a draft holds can run', async (bench) => {
  const {page} = bench;
  save(bench, HOSTILE_NAME, bytesOf(HOSTILE));
  await page.goto(bench.address);
  await page.waitForSelector('.cards .ready');
  assert.strictEqual(await page.textContent('.cards .name'), HOSTILE_NAME);
  await page.click('.cards a');
  await page.waitForFunction(() => window.dovetell);
  for (const tab of ['faults', 'places', 'joints', 'difficulty', 'play']) await page.click('#tab-' + tab);
  for (let id = 0; id < 3; id++) await page.evaluate((i) => window.dovetell.pick(i), id);
  save(bench, HOSTILE_NAME, '<svg ' + HOSTILE_NAME);
  await page.waitForSelector('#trouble:has-text("cannot be read")');
  assert.strictEqual(await page.locator('img').count(), 0);
  await dropFile(page, HOSTILE_NAME, bytesOf(HOSTILE).toString());
  await page.waitForURL(/\/dropped\/1$/);
  assert.strictEqual(await page.locator('img').count(), 0);
  assert.ok((await page.textContent('header .name')).includes(HOSTILE_NAME));
});

test('the program ends at Ctrl-C with status 0 while pages are open, and they say so', async (bench) => {
  const {page} = bench;
  save(bench, 'heron.svg', bytesOf(HERON));
  await openDraft(bench, 'heron.svg');
  assert.strictEqual(await endServer(bench.child), 0);
  await page.waitForSelector('#trouble:has-text("does not answer")');
}, {mayLog: /ERR_|net::/});

test('list and draft fit a phone', async (bench) => {
  const {page} = bench;
  save(bench, 'heron.svg', bytesOf(HERON));
  save(bench, 'half-' + 'x'.repeat(120) + '.svg', '<svg half');
  await page.goto(bench.address);
  await ready(page, 'heron.svg');
  await page.waitForSelector('.broken');
  const fits = () => page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth);
  assert.ok(await fits(), 'list');
  await page.click('.broken a');
  await page.waitForSelector('.news');
  assert.ok(await fits(), 'broken draft');
  await openDraft(bench, 'heron.svg');
  assert.ok(await fits(), 'draft');
}, {viewport: {width: 390, height: 844}});

async function runTest(browser, {body, options}) {
  const {mayLog, ...contextOptions} = options;
  const folder = fs.mkdtempSync(path.join(work, 'live-'));
  const {child, address} = await startServer(folder);
  const context = await browser.newContext({viewport: {width: 1280, height: 800}, ...contextOptions});
  const page = await context.newPage(), wrong = watch(page, (url) => url.startsWith(address), mayLog);
  page.setDefaultTimeout(60000); /* a hung page, not a slow machine */
  try {
    await body({folder, address, child, page});
    assert.deepStrictEqual(wrong, []);
  } finally {
    await context.close();
    const status = await endServer(child);
    fs.rmSync(folder, {recursive: true});
    assert.strictEqual(status, 0);
  }
}

runAll('live', tests, runTest);
