// Starts the program as somebody would, and ends it.
import { spawn, spawnSync } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const root = new URL('../../', import.meta.url).pathname;
export const images = join(root, 'images');

const calib = join(root, 'calib');

// Of known size, by the calibration's camera, and none of the pictures that it was made from.
export const pin = Buffer.concat([readFileSync(join(calib, 'pin-1.9998-3.jpg')), Buffer.from('x')]);

// A port that nobody has.
function freePort() {
  return new Promise((resolve) => {
    const server = createServer().listen(0, '127.0.0.1', () => {
      const { port } = server.address();
      server.close(() => resolve(port));
    });
  });
}

async function start(program, options, port) {
  const child = spawn(program, ['serve', '--port', String(port), ...options], { cwd: root, stdio: ['ignore', 'pipe', 'inherit'] });
  await new Promise((resolve, reject) => {
    child.stdout.on('data', (text) => String(text).includes('Open http') && resolve());
    child.on('exit', (status) => reject(new Error(`serve ended with ${status}`)));
  });
  return async () => {
    const ended = new Promise((done) => child.on('exit', done));
    child.removeAllListeners('exit');
    child.on('exit', () => {});
    child.kill('SIGTERM');
    await Promise.race([ended, new Promise((done) => setTimeout(done, 5000))]);
  };
}

// Its camera is a folder: a drill that is turned for a while, then one that is as it should be.
function fillCamera(folder) {
  for (let i = 0; i < 220; i++) symlinkSync(join(images, i < 12 ? 'trap-lips-turned.png' : 'good-118.png'), join(folder, `${1000 + i}.png`));
}

export async function startDemo(program) {
  const port = await freePort();
  const folder = mkdtempSync(join(tmpdir(), 'whetsight-browser-'));
  fillCamera(folder);
  const stop = await start(program, ['--demo', '--camera', `files:${folder}`, '--rate', '30'], port);
  return {
    base: `http://127.0.0.1:${port}`,
    stop: async () => {
      await stop();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

export const password = 'not-to-be-guessed';

// On the network, with an account of each role.
export async function startLan(program) {
  const port = await freePort();
  const folder = mkdtempSync(join(tmpdir(), 'whetsight-browser-'));
  const archive = join(folder, 'archive');
  const cards = join(folder, 'cards');
  mkdirSync(cards);
  for (const name of readdirSync(images)) if (name.endsWith('.tool') || name.endsWith('.dxf')) cpSync(join(images, name), join(cards, name));
  cpSync(join(calib, 'bench-2.calib'), join(cards, 'bench-2.calib'));
  writeFileSync(join(cards, 'setup.conf'), '[view drill-side]\ncalibration = bench-2.calib\n');
  for (const role of ['operator', 'toolroom', 'quality']) {
    const made = spawnSync(program, ['serve', '--archive', archive, '--account', role, '--role', role], { input: `${password}\n` });
    if (made.status !== 0) throw new Error(`no account: ${made.stderr}`);
  }
  const stop = await start(program, ['--archive', archive, '--cards', cards, '--lan', '--jobs', '1'], port);
  return {
    base: `https://127.0.0.1:${port}`,
    stop: async () => {
      await stop();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
