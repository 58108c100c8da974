import { execFileSync, spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { existsSync } from 'node:fs';
import { chmod, mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterAll, beforeAll, describe, expect, onTestFinished, test } from 'vitest';
import { DESKTOP, findChromium, launch, Visitor } from '../browser/browser.ts';
import { descendants, type Running, survivors } from './processes.ts';

const NO_REGISTRY = 'not run: no registry';
const NO_REPOSITORY = 'not run: this is no git repository';
/** What npm says when an answer of the registry was at fault, and not what was asked. */
const ANSWERED_WRONGLY =
  /npm error (code (E5\d\d|E429|ECONN|ETIMEDOUT|EAI_AGAIN|EINTEGRITY|ERR_SOCKET)|network)/;

/** What somebody's own terminal would hold: nothing that npm, vitest or another test put in. */
function ownTerminal(): NodeJS.ProcessEnv {
  const ours =
    /^(npm_(package|lifecycle|command|execpath|config_local_prefix)|VITEST|TEST|NODE_ENV$|NODE_OPTIONS$)/;
  const settings = /^(PORT|HOST|DATA_DIR|DATABASE_|LOG_LEVEL$)/;
  const kept = Object.entries(process.env).filter(([name]) => !ours.test(name) && !settings.test(name));
  const path = (process.env.PATH ?? '').split(delimiter).filter((place) => !place.includes('node_modules'));
  return { ...Object.fromEntries(kept), PATH: path.join(delimiter) };
}

interface Typed {
  pid: number;
  output: () => string;
  hasEnded: () => boolean;
  ended: Promise<unknown>;
  /** As the terminal does it: whatever runs in the foreground is told. */
  ctrlC: () => void;
}

/** Groups of processes that a failure left running. */
const left = new Set<number>();
process.on('exit', () => {
  for (const pid of left) kill(pid, 'SIGKILL');
});

function kill(group: number, signal: NodeJS.Signals): void {
  try {
    process.kill(-group, signal);
  } catch {
    // all of it has ended
  }
}

/** A line, as it is typed at a shell's prompt in `folder`. */
function type(line: string, folder: string, env: NodeJS.ProcessEnv = {}): Typed {
  const child = spawn('sh', ['-c', line], {
    cwd: folder,
    env: { ...ownTerminal(), ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
    detached: true,
  });
  const pid = child.pid as number;
  left.add(pid);
  let output = '';
  let hasEnded = false;
  for (const stream of [child.stdout, child.stderr])
    stream.on('data', (chunk: Buffer) => {
      output += chunk;
    });
  const ended = once(child, 'close').then(() => {
    hasEnded = true;
    left.delete(pid);
  });
  return { pid, output: () => output, hasEnded: () => hasEnded, ended, ctrlC: () => kill(pid, 'SIGINT') };
}

const root = new URL('../..', import.meta.url).pathname;

/** npm's own question, asked once. */
const registryAnswers = () =>
  spawnSync('npm', ['view', 'zod', 'name', '--fetch-retries=0', '--fetch-timeout=10000', '--prefer-online'], {
    cwd: tmpdir(),
    env: ownTerminal(),
  }).status === 0;

describe('whoever has just found this', () => {
  let folder: string;
  let commands: string[];
  const place = () => join(folder, 'wareboard');
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'wareboard-first-run-'));
    // For root, Postgres runs as another account: it must be able to come in.
    await chmod(folder, 0o755);
    if (!existsSync(join(root, '.git'))) return;
    execFileSync('git', ['clone', '--quiet', root, place()], { stdio: 'pipe' });
    const readme = await readFile(join(place(), 'README.md'), 'utf8');
    const [, part = ''] = /^## Try it$(.*?)^## /ms.exec(readme) ?? [];
    commands = [...part.matchAll(/^ {4}(.+)$/gm)].map(([, line = '']) => line);
  });
  afterAll(() => rm(folder, { recursive: true, force: true }));

  /** The reporter says that a test was skipped, not always why. */
  const notRun = (why: string, skip: (note: string) => void) => {
    process.stderr.write(`first run: ${why}\n`);
    skip(why);
  };

  test('is told two commands, and the second is what the gate calls', async ({ skip }) => {
    if (!existsSync(join(root, '.git'))) return notRun(NO_REPOSITORY, skip);
    expect(commands).toHaveLength(2);
    const [demo = '', tests = ''] = commands;
    expect(demo).toMatch(/^npm ci && npm run \w+$/);
    const gate = await readFile(join(place(), '.ci/run'), 'utf8');
    // The gate asks a second time where a registry answers wrongly, and keeps what was printed.
    const called = [...gate.matchAll(/^(?:retry )?(npm (?:ci|test)\b[^|>&\n]*?)(?= *(?:\d?>|\||&|$))/gm)];
    expect(called.map(([, line]) => line)).toEqual(tests.split(' && '));
  });

  test('types the first, signs in, and stops it without a trace', { timeout: 360_000 }, async ({ skip }) => {
    if (!existsSync(join(root, '.git'))) return notRun(NO_REPOSITORY, skip);
    if (!registryAnswers()) return notRun(NO_REGISTRY, skip);
    const [line = '', tests = ''] = commands;
    const { demo, address } = await started(line, place());
    const family: Running[] = descendants(demo.pid);
    expect(family.length).toBeGreaterThan(5);

    const [, email, password] = /^ +member +(\S+@\S+) +(.+)$/m.exec(demo.output()) ?? [];
    if (!email || !password) throw new Error(`No member's sign-in was printed:\n${demo.output()}`);
    expect((await fetch(address)).url).toContain('/sign-in');
    const executable = findChromium();
    if (executable) {
      const browser = await launch(executable);
      onTestFinished(() => browser.close());
      const context = await browser.newContext({ baseURL: address, serviceWorkers: 'block' });
      const visitor = new Visitor(context, await context.newPage());
      await visitor.page.setViewportSize(DESKTOP);
      await visitor.open('/');
      await visitor.signIn({ email, password });
      await visitor.heading('Glaze wall');
      await visitor.sees('Harbour Grey');
      expect(visitor.faults).toEqual([]);
      await context.close();
    } else if (process.env.REQUIRE_BROWSER === '1') throw new Error('not run: no Chromium found');

    demo.ctrlC();
    await demo.ended;
    expect(await survivors(family, 30_000), demo.output()).toEqual([]);

    // All of them run here already: one file shows that the command works in this folder.
    const [, runner = ''] = tests.split(' && ');
    const run = type(`${runner} -- tests/unit/units.test.ts`, place(), { NO_COLOR: '1' });
    await run.ended;
    expect(run.output()).toMatch(/^ +Test Files +1 passed \(1\)$/m);
  });
});

/** The demo, once it says where it is. */
async function started(line: string, folder: string): Promise<{ demo: Typed; address: string }> {
  for (let tries = 1; ; tries++) {
    const demo = type(line, folder, { PORT: '0' });
    onTestFinished(() => kill(demo.pid, 'SIGKILL'));
    while (!demo.hasEnded()) {
      const [, address] = /Wareboard is at (\S+)/.exec(demo.output()) ?? [];
      if (address && /Stop with Ctrl-C/.test(demo.output())) return { demo, address };
      await sleep(100);
    }
    if (tries === 3 || !ANSWERED_WRONGLY.test(demo.output()))
      throw new Error(`${line} did not start:\n${demo.output()}`);
    await sleep(5_000);
  }
}
