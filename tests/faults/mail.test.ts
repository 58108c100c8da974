import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { fileURLToPath } from 'node:url';
import { afterEach, expect, test } from 'vitest';
import { MINUTE } from '../../server/core/clock.ts';
import { tell } from '../../server/core/messages.ts';
import { countMail, sendDueMail } from '../../server/core/outbox.ts';
import { aMailServer, type Got } from '../helpers/mail-server.ts';
import { aStudio, type Person } from '../helpers/studio.ts';

const MAIL_PROCESS = fileURLToPath(new URL('mail-process.ts', import.meta.url));
const started = new Set<ChildProcess>();
const kill = async (child: ChildProcess) => {
  if (child.exitCode !== null || child.signalCode !== null) return;
  child.kill('SIGKILL');
  await once(child, 'exit');
};
afterEach(async () => {
  for (const child of started) await kill(child);
  started.clear();
});

const setting = async () => {
  const server = await aMailServer();
  const env = { SMTP_URL: server.url, MAIL_FROM: 'glaze@millrace.example' };
  const s = await aStudio(env);
  const say = (words: string, to: Person[]) =>
    s.as(s.people.technician, (act) =>
      tell(act, { personIds: to.map(({ id }) => id), kind: 'came-out', words, href: '/ware/3' }),
    );
  async function aProcess(): Promise<ChildProcess> {
    const child = spawn(process.execPath, ['--import', 'tsx', MAIL_PROCESS], {
      env: { ...process.env, ...env, DATABASE_URL: s.services.config.databaseUrl ?? '' },
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    started.add(child);
    for await (const chunk of child.stdout) if (String(chunk).includes('works')) break;
    child.stdout.resume();
    return child;
  }
  const waiting = async () => (await countMail(s.database.db)).waiting;
  /** What is left is sent once the claims of dead processes have run out. */
  async function finish(): Promise<void> {
    while ((await waiting()) > 0) {
      s.clock.forward(6 * MINUTE);
      await sendDueMail(s.services);
    }
  }
  return { ...s, server, say, aProcess, waiting, finish };
};

const distinct = (got: readonly Got[]) => new Set(got.map(({ messageId }) => messageId)).size;

test('a process that dies between commit and sending loses no mail', async () => {
  const { people, say, aProcess, server, waiting } = await setting();
  server.answers.data = { code: 451, words: 'Not now' };
  const first = await aProcess();
  await say('Piece 1 is fired.', [people.member]);
  await kill(first);
  expect(await waiting()).toBe(1);
  server.answers.data = null;
  // The other comes up later and finds it by itself, at the latest with its next try.
  await aProcess();
  await expect.poll(waiting, { timeout: 90_000, interval: 200 }).toBe(0);
  expect(server.got.map(({ subject }) => subject)).toEqual(['Piece 1 is fired (Millrace Clay Commons)']);
}, 120_000);

test('a process that dies after the server took a mail sends it again under the same Message-ID', async () => {
  const { people, say, aProcess, server, waiting, finish } = await setting();
  let died: Promise<void> | null = null;
  const child = await aProcess();
  server.beforeSaying = () => {
    // It is in the mailbox, and nobody was told so.
    died ??= kill(child);
    return died;
  };
  await say('Piece 1 is fired.', [people.member]);
  await expect.poll(() => server.got.length, { timeout: 30_000, interval: 50 }).toBe(1);
  await died;
  expect(await waiting()).toBe(1);
  await finish();
  expect(server.got).toHaveLength(2);
  expect(distinct(server.got)).toBe(1);
}, 60_000);

test('processes killed at any moment: every mail arrives, each under one Message-ID, and each person’s in order', async () => {
  const { people, aPerson, say, aProcess, server, waiting, finish } = await setting();
  const persons = [people.member, people.manager, await aPerson()];
  const ACTS = 12;
  let killed = 0;
  let child = await aProcess();
  for (let act = 1; act <= ACTS; act++) {
    await say(`Piece ${act} is fired.`, persons);
    if (act % 4 !== 0) continue;
    const before = server.got.length;
    await expect
      .poll(() => server.got.length > before || killed === 2, { timeout: 30_000, interval: 20 })
      .toBe(true);
    await kill(child);
    killed += 1;
    if (killed < 3) child = await aProcess();
  }
  await finish();
  expect(await waiting()).toBe(0);
  expect(distinct(server.got)).toBe(ACTS * persons.length);
  for (const { email } of persons) {
    const once = new Map(
      server.got.filter(({ to }) => to === email).map((one) => [one.messageId, one.subject]),
    );
    expect([...once.values()].map((subject) => Number(/\d+/.exec(subject)?.[0]))).toEqual(
      Array.from({ length: ACTS }, (_, i) => i + 1),
    );
  }
}, 120_000);

test('two processes at once send what is due once', async () => {
  const { people, aPerson, say, aProcess, server, waiting } = await setting();
  const persons = [people.member, people.manager, await aPerson(), await aPerson()];
  for (let act = 1; act <= 5; act++) await say(`Piece ${act} is fired.`, persons);
  await Promise.all([aProcess(), aProcess()]);
  await expect.poll(waiting, { timeout: 60_000, interval: 100 }).toBe(0);
  expect(server.got).toHaveLength(20);
  expect(distinct(server.got)).toBe(20);
}, 90_000);
