// How much the bench page does: many clients send one picture over and over, and `measure` does as
// many of it with as many jobs, before and after.
//   node tests/browser/load.mjs PROGRAM PICTURE CARD MM_PER_PX [SECONDS [CLIENTS]]
// Prints pictures a second of both, how long an answer took, how often it was busy, and the memory of
// the page with its workers. Anything but a record or "busy, come again" is an error.
import assert from 'node:assert/strict';
import { spawn, spawnSync } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, loadavg, tmpdir } from 'node:os';
import { basename, join, resolve } from 'node:path';

const [, , program, pictureName, cardName, scale, seconds = '60', clients = '50'] = process.argv;
const [picture, card] = [resolve(pictureName), resolve(cardName)];
const jobs = availableParallelism();
const port = 8429;
const base = `http://127.0.0.1:${port}`;
const folder = mkdtempSync(join(tmpdir(), 'whetsight-load-'));
const tool = readFileSync(card, 'utf8').match(/^id *= *(\S+)/m)[1];
const bytes = readFileSync(picture);
const pause = (ms) => new Promise((done) => setTimeout(done, ms));

// As many as make some ten seconds.
function batch(n) {
  const archive = mkdtempSync(join(folder, 'batch-'));
  const plan = join(folder, 'plan.csv');
  writeFileSync(plan, `picture,card,view,scale\n${`${picture},${card},drill-side,${scale}\n`.repeat(n)}`);
  const begun = Date.now();
  const { status, stderr } = spawnSync(program, ['measure', '--plan', plan, '--archive', join(archive, 'a'), '--jobs', String(jobs)], { maxBuffer: 1e9 });
  assert.ok(status <= 3, String(stderr));
  return (1000 * n) / (Date.now() - begun);
}

// The proportional share of all, kB: what workers have in common counts once.
function memory(process) {
  const all = readdirSync('/proc').filter((name) => /^\d+$/.test(name));
  let sum = 0;
  for (const id of all)
    try {
      const parent = readFileSync(`/proc/${id}/stat`, 'utf8').split(') ')[1].split(' ')[1];
      if (Number(id) === process.pid || Number(parent) === process.pid) sum += Number(readFileSync(`/proc/${id}/smaps_rollup`, 'utf8').match(/^Pss: *(\d+)/m)[1]);
    } catch {
      // It ended meanwhile.
    }
  return sum;
}

async function client(token, until, told) {
  while (Date.now() < until) {
    const begun = Date.now();
    const answer = await fetch(`${base}/api/tools/${tool}/inspections?view=drill-side&name=${basename(picture)}`, { method: 'POST', headers: { 'X-Whetsight-Token': token, 'Content-Type': 'application/octet-stream' }, body: bytes });
    const text = await answer.text();
    if (answer.status === 201) told.took.push(Date.now() - begun);
    else if ((answer.status === 503 || answer.status === 429) && answer.headers.get('retry-after')) {
      told.busy++;
      await pause(1000 * Number(answer.headers.get('retry-after')));
    } else told.errors.push(`${answer.status} ${text.slice(0, 200)}`);
  }
}

mkdirSync(join(folder, 'cards'));
copyFileSync(card, join(folder, 'cards', basename(card)));
writeFileSync(join(folder, 'cards', 'setup.conf'), `[view drill-side]\nscale = ${scale}\n`);
console.log(`load ${loadavg()[0].toFixed(1)}, ${jobs} jobs, ${bytes.length} bytes`);
const before = batch(12);
const server = spawn(program, ['serve', '--archive', join(folder, 'archive'), '--cards', join(folder, 'cards'), '--port', String(port), '--jobs', String(jobs)], { stdio: ['ignore', 'pipe', 'inherit'] });
await new Promise((resolve) => server.stdout.on('data', (text) => String(text).includes('Open http') && resolve()));
const { token } = await (await fetch(`${base}/api/session`)).json();
const told = { took: [], busy: 0, errors: [] };
const begun = Date.now();
let most = 0;
const watch = setInterval(() => { most = Math.max(most, memory(server)); }, 500);
await Promise.all(Array.from({ length: Number(clients) }, () => client(token, begun + 1000 * Number(seconds), told).catch((error) => told.errors.push(String(error.cause ?? error)))));
clearInterval(watch);
const rate = (1000 * told.took.length) / (Date.now() - begun);
server.kill('SIGTERM');
const after = batch(12);
const verified = spawnSync(program, ['archive', 'verify', join(folder, 'archive')]);
told.took.sort((a, b) => a - b);
const at = (share) => (told.took[Math.min(told.took.length - 1, Math.floor(share * told.took.length))] / 1000).toFixed(1);
console.log(`batch ${before.toFixed(2)} and ${after.toFixed(2)} pictures a second, page ${rate.toFixed(2)}: ${((2 * rate) / (before + after)).toFixed(2)} of it`);
console.log(`${told.took.length} measured, median ${at(0.5)} s, 95 of 100 in ${at(0.95)} s; ${told.busy} times busy; ${told.errors.length} errors; ${Math.round(most / 1024)} MB; archive ${verified.status === 0 ? 'clean' : 'NOT CLEAN'}; load ${loadavg()[0].toFixed(1)}`);
for (const error of told.errors.slice(0, 5)) console.log(error);
rmSync(folder, { recursive: true, force: true });
process.exit(told.errors.length > 0 || verified.status !== 0 ? 1 : 0);
