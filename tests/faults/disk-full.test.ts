import { spawnSync } from 'node:child_process';
import { chmod, mkdtemp, open, rm, rmdir, statfs } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { examine } from '../../server/cli/examine.ts';
import { examineTables } from '../../server/cli/examine-tables.ts';
import { migrate } from '../../server/core/database.ts';
import { type BundledServer, startBundled } from '../../server/core/postgres.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { appOn, aStudio } from '../helpers/studio.ts';

const SIZE = 160 * 2 ** 20;

/** A disk of its own, in memory; null where this may not be mounted. */
async function aSmallDisk(): Promise<string | null> {
  const folder = await mkdtemp(join(tmpdir(), 'wareboard-full-'));
  const options = ['-t', 'tmpfs', '-o', `size=${SIZE},mode=755`, 'tmpfs', folder];
  if (process.geteuid?.() !== 0 || spawnSync('mount', options).status !== 0) {
    await rmdir(folder);
    return null;
  }
  whenFileIsDone(async () => {
    spawnSync('umount', ['-l', folder]);
    await rm(folder, { recursive: true, force: true });
  });
  await chmod(folder, 0o755);
  return folder;
}

/** Takes what is left of the disk; answers how to give it back. */
async function fill(disk: string): Promise<() => Promise<void>> {
  const file = join(disk, 'ballast');
  const handle = await open(file, 'w');
  const piece = Buffer.alloc(2 ** 16);
  try {
    for (;;) {
      const { bytesWritten } = await handle.write(piece);
      if (bytesWritten === 0) break;
    }
  } catch (error) {
    expect((error as NodeJS.ErrnoException).code).toBe('ENOSPC');
  } finally {
    await handle.close();
  }
  return () => rm(file);
}

it('a full disk: said so, nothing recorded, nothing lost, and on again once there is room', {
  timeout: 300_000,
}, async ({ skip }) => {
  const disk = await aSmallDisk();
  if (disk === null) return skip('not run: only root may mount a small disk');
  const dataDir = join(disk, 'data');
  let hasEnded = false;
  const start = (): Promise<BundledServer> =>
    startBundled({
      dataDir,
      mark: 'test',
      onExit: () => {
        hasEnded = true;
      },
    });
  let server = await start();
  whenFileIsDone(() => server.stop());
  await migrate(server.ownerUrl, server.appUrl);
  let s = await aStudio({}, server);
  const code = await s.aBucket({ sg: 1.46 });
  const acknowledged: number[] = [];
  const stir = async (note: string) => {
    const answer = await s.api(s.people.member, 'POST', `/buckets/${code}/stirs`, { note });
    if (answer.statusCode === 201) acknowledged.push(answer.json().event.number);
    return answer;
  };
  await stir('while there is room');

  const empty = await fill(disk);
  expect((await statfs(disk)).bavail).toBe(0);
  let refused = await stir('the first');
  for (let i = 0; refused.statusCode === 201 && i < 20_000; i++) refused = await stir('x'.repeat(500));
  expect(refused.statusCode).toBe(503);
  expect(refused.headers['retry-after']).toBe('5');
  if (refused.json().detail.includes('disk'))
    expect(refused.json().detail).toBe(
      'The disk of the database is full. Nothing was recorded. Whoever runs this server has to make room on it.',
    );
  // Reading needs no room, as long as Postgres itself did not give up for want of it.
  const page = await s.visit(s.people.member, `/buckets/${code}`);
  expect([200, 503]).toContain(page.statusCode);
  await empty();

  if (hasEnded) {
    await server.stop();
    server = await start();
    s = { ...s, ...(await appOn(server.appUrl)) };
  }
  await expect
    .poll(async () => (await stir('there is room again')).statusCode, { timeout: 60_000 })
    .toBe(201);
  expect((await examine(s.database)).faults).toEqual([]);
  expect((await examineTables(s.database)).faults).toEqual([]);
  const rows = await s.database.client.unsafe<{ number: number }[]>(
    'select number from bucket_events where bucket_id = (select id from buckets where code = $1) order by number',
    [code],
  );
  const there = rows.map(({ number }) => number);
  expect(there).toEqual(there.map((_, i) => i + 1));
  expect(acknowledged.filter((number) => !there.includes(number))).toEqual([]);
});
