import { createReadStream } from 'node:fs';
import { mkdir, mkdtemp, readdir, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { text } from 'node:stream/consumers';
import { createGunzip } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { keepBackups } from '../../server/core/backups.ts';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { aDatabase } from '../helpers/studio.ts';

const NOON = Date.parse('2026-11-28T12:00:00Z');
let url: string;
let folder: string;

beforeAll(async () => {
  // The application's own role: it may read everything, and a backup is nothing more.
  url = (await aDatabase()).appUrl;
  folder = join(await mkdtemp(join(tmpdir(), 'backups-')), 'kept');
});
afterAll(() => rm(join(folder, '..'), { recursive: true }));

const keep = (now: number, days = 14) => keepBackups({ url, folder, days, now });

describe('a backup a day', () => {
  it('is taken once, however many processes look at the same time', async () => {
    const made = await Promise.all([keep(NOON), keep(NOON), keep(NOON)]);
    const file = join(folder, 'wareboard-2026-11-28-1200.backup');
    expect(made.flatMap((one) => one?.file ?? [])).toEqual([file]);
    expect(await readdir(folder)).toEqual(['wareboard-2026-11-28-1200.backup']);
    expect((await stat(file)).mode & 0o777).toBe(0o600);
    expect((await stat(folder)).mode & 0o777).toBe(0o700);
    const lines = (await text(createReadStream(file).pipe(createGunzip()))).split('\n');
    expect(lines.at(-2)).toMatch(/^\{"sequences":/);
  });

  it('is not due again before a day is over, nor kept for ever', async () => {
    expect(await keep(NOON + 22 * HOUR)).toEqual({ at: NOON, file: null });
    for (const day of [1, 2, 3])
      expect(await keep(NOON + day * DAY, 2)).toMatchObject({
        at: NOON + day * DAY,
        file: expect.any(String),
      });
    await writeFile(join(folder, 'letter.txt'), 'mine');
    expect((await keep(NOON + 4 * DAY, 2))?.file).toContain('2026-12-02');
    expect((await readdir(folder)).sort()).toEqual([
      'letter.txt',
      // The first of November and of December, and the last two days.
      'wareboard-2026-11-28-1200.backup',
      'wareboard-2026-12-01-1200.backup',
      'wareboard-2026-12-02-1200.backup',
    ]);
  });

  it('is taken although a clock that was wrong once left one of a day to come', async () => {
    const wrong = join(folder, '..', 'wrong');
    await mkdir(wrong);
    await writeFile(join(wrong, 'wareboard-2099-01-01-0000.backup'), 'kept');
    const today = await keepBackups({ url, folder: wrong, days: 1, now: NOON });
    const tomorrow = await keepBackups({ url, folder: wrong, days: 1, now: NOON + DAY });
    expect([today?.at, tomorrow?.at]).toEqual([NOON, NOON + DAY]);
    expect((await readdir(wrong)).sort()).toEqual([
      // The first of its month, today's, and what is not of the past.
      'wareboard-2026-11-28-1200.backup',
      'wareboard-2026-11-29-1200.backup',
      'wareboard-2099-01-01-0000.backup',
    ]);
  });

  it('clears away what a process left that ended in the middle of one, and nothing of others', async () => {
    const broken = join(folder, '..', 'broken');
    await mkdir(broken);
    for (const name of ['wareboard-2026-11-27-0300.backup.part', 'letter.part'])
      await writeFile(join(broken, name), 'half');
    await keepBackups({ url, folder: broken, days: 2, now: NOON });
    expect((await readdir(broken)).sort()).toEqual(['letter.part', 'wareboard-2026-11-28-1200.backup']);
  });

  it('leaves nothing half done where it cannot be written', async () => {
    const blocked = join(folder, '..', 'blocked');
    await mkdir(join(blocked, 'wareboard-2026-12-05-1200.backup.part'), { recursive: true });
    await expect(keepBackups({ url, folder: blocked, days: 2, now: NOON + 7 * DAY })).rejects.toThrow();
    expect(await readdir(blocked)).toEqual(['wareboard-2026-12-05-1200.backup.part']);
  });
});
