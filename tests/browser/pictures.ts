import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdir, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { DEMO_PEOPLE } from '../../seed/millrace.ts';
import { findChromium, launch } from './browser.ts';

// The pictures of README.md, taken from a fresh demo: node --import tsx tests/browser/pictures.ts

const FOLDER = '.pictures';
const WALL = {
  file: 'wall.png',
  path: '/wall',
  width: 1280,
  height: 800,
  scale: 1,
  fullPage: true,
  as: 'member',
};
/** The load that the demo proposes. */
const LOAD = {
  ...WALL,
  file: 'load.png',
  path: '/kilns/loads/5',
  height: 1250,
  fullPage: false,
  as: 'technician',
};
const BUCKET = {
  file: 'bucket-phone.png',
  path: '/buckets/HG',
  width: 390,
  height: 844,
  scale: 2,
  fullPage: false,
  as: 'member',
};

const executable = findChromium();
if (!executable) throw new Error('No Chromium found.');
const dataDir = await mkdtemp(join(tmpdir(), 'wareboard-pictures-'));
const demo = spawn(process.execPath, ['--import', 'tsx', 'server/main.ts', '--demo'], {
  env: { ...process.env, PORT: '0', DATA_DIR: dataDir, LOG_LEVEL: 'error' },
  stdio: ['ignore', 'pipe', 'inherit'],
});
try {
  const browser = await launch(executable);
  try {
    const site = await addressOf(demo.stdout);
    await mkdir(FOLDER, { recursive: true });
    for (const { file, path, width, height, scale, fullPage, as } of [WALL, BUCKET, LOAD]) {
      const page = await browser.newPage({
        baseURL: site,
        viewport: { width, height },
        deviceScaleFactor: scale,
      });
      const person = DEMO_PEOPLE.find(({ role }) => role === as);
      await page.goto(`/sign-in?next=${path}`);
      await page.getByLabel('E-mail address').fill(person?.email ?? '');
      await page.getByLabel('Password').fill(person?.password ?? '');
      await page.getByRole('button', { name: 'Sign in' }).click();
      await page.waitForURL((url) => url.pathname === path);
      await page.mouse.move(0, 0);
      await page.screenshot({ path: join(FOLDER, file), fullPage });
      await page.close();
    }
  } finally {
    await browser.close();
  }
} finally {
  if (demo.exitCode === null && demo.kill('SIGTERM')) await once(demo, 'exit');
  await rm(dataDir, { recursive: true, force: true });
}

/** Where the demo says that it is. */
async function addressOf(output: NodeJS.ReadableStream): Promise<string> {
  for await (const line of createInterface(output)) {
    const address = /^Wareboard is at (\S+)$/.exec(line)?.[1];
    if (address) return address;
  }
  throw new Error('The demo ended before it was ready.');
}
