/* What the browser tests share: Chromium without a network of its own, and a watch over a page for whatever should not
 * happen. */
'use strict';
const os = require('node:os');
const {chromium} = require('playwright-core');

const FLAGS = ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
  '--disable-component-update', '--disable-sync'];

/* The list of what went wrong on the page from now on: errors, dialogs, what it logs, requests that mayAsk does not
 * allow. */
function watch(page, mayAsk, mayLog) {
  const wrong = [];
  page.on('pageerror', (error) => wrong.push('error: ' + error.message));
  page.on('dialog', (dialog) => { wrong.push('dialog: ' + dialog.message()); dialog.dismiss(); });
  page.on('console', (message) => {
    if (!mayLog || !mayLog.test(message.text())) wrong.push('log: ' + message.text());
  });
  page.on('request', (request) => { if (!mayAsk(request.url())) wrong.push('request: ' + request.url()); });
  return wrong;
}

/* Runs every test (or those whose name holds ONLY) by run(browser, test), says which failed, and ends the process with
 * 0 when none did. */
async function runAll(what, tests, run) {
  const browser = await chromium.launch({executablePath: process.env.CHROMIUM || '/usr/bin/chromium', args: FLAGS});
  let failed = 0;
  const chosen = tests.filter((test) => test.name.includes(process.env.ONLY || ''));
  for (const test of chosen) {
    try {
      await run(browser, test);
    } catch (error) {
      failed++;
      console.log('FAILED: ' + test.name + '\n    ' + error.message.split('\n').join('\n    '));
    }
  }
  await browser.close();
  console.log('browser, ' + what + ': ' + (chosen.length - failed) + ' passed, ' + failed + ' failed');
  process.exit(failed ? 1 : 0);
}

/* What a time was measured under. */
const load = () => 'load of the machine ' + os.loadavg()[0].toFixed(1) + ' on ' + os.cpus().length + ' cores';

module.exports = {watch, runAll, load};
