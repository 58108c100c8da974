import { mkdtemp, readdir, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { examine } from '../../server/cli/examine.ts';
import { keepBackups } from '../../server/core/backups.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

const YEAR = 365 * DAY;

describe('the clock jumps a year ahead, and back', () => {
  let s: Studio;
  let code: string;
  beforeAll(async () => {
    s = await aStudio();
    code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 60 });
  });

  /** What people do all day, each of it well; signed in by token, since a session of a year ago has ended. */
  async function aDay(): Promise<void> {
    const { member, technician } = s.people;
    const posts: [string, object][] = [
      [`/buckets/${code}/stirs`, {}],
      [
        `/buckets/${code}/readings`,
        { method: 'weighed', grams: 1460, millilitres: 1000, stirred: true, confirm: true },
      ],
      ['/safety-log', { kind: 'spill', place: 'Sink', what: 'A litre', action: 'Mopped wet' }],
      ['/pieces', { form: 'bowl', howMany: 2, ownClay: 'From the river', kind: 'bisque', cone: '04' }],
    ];
    for (const [path, body] of posts) {
      const answer = await s.api(member, 'POST', path, body);
      expect([path, answer.statusCode]).toEqual([path, 201]);
    }
    for (const path of [`/buckets/${code}`, `/buckets/${code}/events`, '/pieces', '/loads', '/safety-log'])
      expect([path, (await s.api(technician, 'GET', path)).statusCode]).toEqual([path, 200]);
  }

  const pages = ['/today', '/wall', '/ware', '/kilns', '/safety', '/fees', '/me', '/people'];

  it('no fault of ours, nothing lost, and the ledgers say what was done in which order', async () => {
    await aDay();
    const visits = async (expected: number) => {
      for (const page of [...pages, `/buckets/${code}`]) {
        const { statusCode } = await s.visit(s.people.manager, page);
        expect([page, statusCode]).toEqual([page, expected]);
      }
    };
    await visits(200);
    s.clock.forward(YEAR);
    await aDay();
    // Whoever was signed in a year ago signs in again.
    const own = await s.services.sessions.start(s.people.manager.id);
    s.people.manager.cookie = own.split(';')[0] ?? '';
    await visits(200);
    s.clock.forward(-YEAR);
    await aDay();
    await visits(200);
    const { events } = (await s.api(s.people.member, 'GET', `/buckets/${code}/events?limit=50`)).json();
    const numbers = (events as { number: number }[]).map(({ number }) => number).sort((a, b) => a - b);
    expect(numbers).toEqual(numbers.map((_, i) => i + 1));
    expect((await examine(s.database)).faults).toEqual([]);
  });

  it('a token that ends is over while it is a year later, and serves again once that was a mistake', async () => {
    const { member } = s.people;
    const made = await s.submit(member, '/me/tokens', { name: 'Scale', expires: '30', may: 'everything' });
    const token = /name="token"[^>]*value="([\w-]{20,})"/.exec(made.body)?.[1];
    const look = async () =>
      (await s.api({ ...member, token: token ?? '' }, 'GET', `/buckets/${code}`)).statusCode;
    expect(await look()).toBe(200);
    s.clock.forward(YEAR);
    expect(await look()).toBe(401);
    s.clock.forward(-YEAR);
    expect(await look()).toBe(200);
  });

  it('backups go on, and those of the wrong day stay', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'wareboard-clock-'));
    whenFileIsDone(() => rm(folder, { recursive: true }));
    const now = s.clock.now();
    const keep = (at: number) => keepBackups({ url: s.ownerUrl, folder, days: 3, now: at });
    const made = [
      await keep(now),
      await keep(now + YEAR),
      await keep(now + MINUTE),
      await keep(now + DAY + HOUR),
    ];
    expect(made.map((one) => one?.file !== null)).toEqual([true, true, false, true]);
    expect(await readdir(folder)).toHaveLength(3);
  });
});
