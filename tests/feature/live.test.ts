import { setTimeout as sleep } from 'node:timers/promises';
import postgres from 'postgres';
import { afterEach, beforeAll, describe, expect, it, onTestFinished, vi } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { changesSince, forgetOldChanges } from '../../server/core/changes.ts';
import { DAY } from '../../server/core/clock.ts';
import { tell } from '../../server/core/messages.ts';
import { endDevice } from '../../server/members/service/devices.ts';
import { changeActivity, changeRole } from '../../server/members/service/people.ts';
import { whenFileIsDone } from '../helpers/closing.ts';
import { aScreen as open, type Screen } from '../helpers/screen.ts';
import { appOn, aStudio, type Person, type Studio } from '../helpers/studio.ts';
import { aTablet } from '../helpers/tablet.ts';

let s: Studio;
let site: string;
/** A second process on the same database, as far as the database can tell. */
let other: Awaited<ReturnType<typeof appOn>>;
let otherSite: string;
let owner: postgres.Sql;
/** A bucket that says how far the streams are. */
let mark: string;
const screens: Screen[] = [];

const listenOn = (app: Studio['app']) => app.listen({ host: '127.0.0.1', port: 0 });

beforeAll(async () => {
  s = await aStudio();
  site = await listenOn(s.app);
  const appUrl = s.services.config.databaseUrl as string;
  other = await appOn(appUrl);
  otherSite = await listenOn(other.app);
  mark = await s.aBucket();
  owner = postgres(s.ownerUrl, { max: 3, onnotice: () => {} });
  whenFileIsDone(() => owner.end());
});

afterEach(() => {
  for (const screen of screens.splice(0)) screen.cut();
});

async function aScreen(
  person: Person | null,
  watch: string,
  more: { at?: string; lastId?: string | null; since?: string } = {},
) {
  const query = new URLSearchParams({ watch, ...(more.since !== undefined && { since: more.since }) });
  const screen = await open(more.at ?? site, `/live?${query}`, {
    cookie: person?.cookie,
    lastId: more.lastId ?? null,
  });
  screens.push(screen);
  return screen;
}

/** A screen that was told of all that happened so far: looks are in order, so what came before the last was told. */
async function settled(person: Person, watch: string, at = site): Promise<Screen & { from: number }> {
  const [screen, marker] = await Promise.all([
    aScreen(person, watch, { at }),
    aScreen(s.people.manager, `bucket.${mark}`, { at }),
  ]);
  await marker.until(({ lastId }) => lastId !== null);
  // By its signals, not by its mark, which waits for any transaction that another test has open on the server.
  const before = marker.signals.length;
  await stir(mark);
  await marker.until(({ signals }) => signals.length > before);
  await screen.until(({ lastId }) => lastId !== null);
  marker.cut();
  return Object.assign(screen, { from: screen.signals.length });
}

const reached = (id: string | null, than: string | null) =>
  Number(id?.split('-')[1]) > Number(than?.split('-')[1]);

const heard = (screen: Screen & { from: number }) => screen.signals.slice(screen.from);

async function listeners(): Promise<number> {
  const [row] = await owner`
    select count(*)::int as count from pg_stat_activity
    where datname = current_database() and application_name = 'wareboard-listening'`;
  return row?.count;
}

const stir = (code: string) => s.as(s.people.member, (act) => recordAct(act, code, 'stirs', {} as never));

describe('a screen', () => {
  it('is told that what it watches changed, by name, and nothing of what changed', async () => {
    const [code, another] = [await s.aBucket(), await s.aBucket()];
    const wall = await settled(s.people.member, 'wall');
    const one = await settled(s.people.member, `bucket.${code}`);
    const two = await settled(s.people.member, `bucket.${another}`);
    expect(wall.type).toContain('text/event-stream');
    await stir(code);
    await wall.until(() => heard(wall).length > 0);
    await one.until(() => heard(one).length > 0);
    expect(new Set(heard(wall))).toEqual(new Set(['changed-wall']));
    expect(heard(one)).toEqual(['changed-bucket']);
    await stir(another);
    await two.until(() => heard(two).length > 0);
    expect(heard(one)).toEqual(['changed-bucket']);
    expect(one.words.replaceAll(/^id: .*$/gm, '')).not.toContain(code);
    expect(one.words).toMatch(/^event: changed-bucket\ndata:\nid: [\d.]+-\d+\n\n/m);
  });

  it('of another process is told the same', async () => {
    const code = await s.aBucket();
    const here = await settled(s.people.member, 'wall');
    const there = await settled(s.people.member, 'wall', otherSite);
    await stir(code);
    await here.until(() => heard(here).includes('changed-wall'));
    await there.until(() => heard(there).includes('changed-wall'));
  });

  it('is told of its own person’s messages only', async () => {
    const [mine, theirs] = [await s.aPerson(), await s.aPerson()];
    const screen = await settled(mine, 'kilns');
    const neighbour = await settled(theirs, 'kilns');
    await s.as(s.people.technician, (act) =>
      tell(act, { personIds: [mine.id], kind: 'load-approved', words: 'Approved.', href: '/ware' }),
    );
    await screen.until(() => heard(screen).length > 0);
    expect(heard(screen)).toEqual(['changed-me']);
    expect(heard(neighbour)).toEqual([]);
  });

  it('is told once of a storm, and of its end', async () => {
    const code = await s.aBucket();
    const screen = await settled(s.people.member, `bucket.${code}`);
    for (let i = 0; i < 40; i++) await stir(code);
    const last = await changesSince(s.database.db, null);
    await screen.until(({ lastId }) => !reached(last.mark, lastId));
    expect(heard(screen).length).toBeLessThan(40);
  });
});

describe('nothing is lost', () => {
  it('of what is committed late with an early number', async () => {
    const [slow, quick] = [await s.aBucket(), await s.aBucket()];
    const first = await settled(s.people.member, `bucket.${slow}`);
    const second = await settled(s.people.member, `bucket.${quick}`);
    let commit = () => {};
    const held = new Promise<void>((resolve) => {
      commit = resolve;
    });
    let written = () => {};
    const isWritten = new Promise<void>((resolve) => {
      written = resolve;
    });
    const late = owner.begin(async (tx) => {
      await tx`update buckets set name = 'Slow' where code = ${slow}`;
      written();
      await held;
    });
    await isWritten;
    await stir(quick);
    await second.until(() => heard(second).length > 0);
    const early = heard(first);
    commit();
    await late;
    expect(early).toEqual([]);
    await first.until(() => heard(first).length > 0);
  });

  it('while the connection that listens was gone', async () => {
    const code = await s.aBucket();
    const screen = await settled(s.people.member, `bucket.${code}`);
    const killed = await owner`
      select pg_terminate_backend(pid) from pg_stat_activity
      where datname = current_database() and application_name = 'wareboard-listening'`;
    expect(killed.length).toBeGreaterThan(0);
    await stir(code);
    await screen.until(() => heard(screen).includes('changed-bucket'));
  });

  it('between the page and its stream', async () => {
    const code = await s.aBucket();
    await settled(s.people.member, 'wall');
    const page = await s.visit(s.people.member, '/wall');
    const [, since = ''] = /since=([\d.-]+)/.exec(page.body) ?? [];
    expect(since).toMatch(/^\d+\.\d+-\d+$/);
    await stir(code);
    const late = await aScreen(s.people.member, 'wall', { since });
    await late.until(({ signals }) => signals.includes('changed-wall'));
  });

  it('while the network was, whichever process it comes back to', async () => {
    const code = await s.aBucket();
    const before = await settled(s.people.member, `bucket.${code}`);
    const { lastId } = before;
    before.cut();
    await stir(code);
    for (const at of [site, otherSite]) {
      const back = await aScreen(s.people.member, `bucket.${code}`, { at, lastId });
      await back.until(({ signals }) => signals.includes('changed-bucket'));
    }
  });

  it('and nothing is told where nothing changed', async () => {
    const code = await s.aBucket();
    const before = await settled(s.people.member, `bucket.${code}`);
    const wall = await settled(s.people.member, 'wall');
    const back = await aScreen(s.people.member, `bucket.${code}`, { lastId: wall.lastId });
    await back.until(({ lastId }) => lastId !== null);
    expect(back.signals).toEqual([]);
    expect(heard(before)).toEqual([]);
  });

  it.each([
    ['of another server', (id: string) => id.replace(/^\d+\.\d+/, '1.1')],
    ['that was not given out yet', (id: string) => `${id}000`],
    ['that is no mark', () => 'yesterday'],
    ['older than what is kept', (id: string) => id.replace(/\d+$/, '3')],
  ])('after a mark %s: then all is told', async (_, change) => {
    const code = await s.aBucket();
    // The first change of all is no longer there, as after three days.
    await owner`delete from changes where id = 1`;
    const { lastId } = await settled(s.people.member, `bucket.${code}`);
    const back = await aScreen(s.people.member, `bucket.${code}`, { lastId: change(lastId as string) });
    await back.until(({ signals }) => signals.includes('changed-bucket'));
  });

  it('when old changes are forgotten: the oldest kept says how far back they reach', async () => {
    await s.aBucket();
    const { mark } = await changesSince(s.database.db, null);
    await owner`update changes set at = at - interval '4 days'`;
    await s.aBucket();
    await forgetOldChanges(s.database.db, s.clock.now());
    const [kept] = await owner`select count(*)::int as count, min(at) as oldest from changes`;
    expect(kept?.count).toBeGreaterThan(0);
    expect(Number(kept?.oldest)).toBeGreaterThan(s.clock.now() - 3 * DAY);
    const [era] = mark.split('-');
    const [{ oldest, newest }] = (await owner`
      select min(xid)::text as oldest, max(xid)::text as newest from changes`) as never as [
      { oldest: string; newest: string },
    ];
    // Another test's transaction, however old, is open on the same server: marks wait for it.
    await expect
      .poll(async () => Number((await changesSince(s.database.db, null)).mark.split('-')[1]), {
        timeout: 20_000,
      })
      .toBeGreaterThan(Number(newest));
    expect((await changesSince(s.database.db, `${era}-${oldest}`)).changes).not.toBeNull();
    expect((await changesSince(s.database.db, `${era}-${Number(oldest) - 1}`)).changes).toBeNull();
    // The newest stays, so that somebody who comes back after a week can be told that nothing changed.
    await owner`update changes set at = at - interval '9 days'`;
    await forgetOldChanges(s.database.db, s.clock.now());
    const { mark: now } = await changesSince(s.database.db, null);
    expect((await changesSince(s.database.db, now)).changes).toEqual([]);
  });
});

describe('a stream is held to who asks', () => {
  it('401 for nobody, and no way to the sign-in', async () => {
    const screen = await aScreen(null, 'wall');
    expect(screen.status).toBe(401);
    expect(screen.type).toContain('application/problem+json');
  });

  it.each([
    ['today', 'member', 403],
    ['today', 'technician', 200],
    ['bucket.NONE', 'member', 404],
    ['load.77', 'member', 404],
    ['load', 'member', 404],
    ['wall.B1', 'member', 404],
    ['people', 'manager', 404],
    ['me', 'member', 404],
    ['', 'member', 422],
    ['x'.repeat(50), 'member', 422],
    ["bucket.'--", 'member', 404],
  ] as const)('%s for a %s: %i', async (watch, role, status) => {
    const person = s.people[role];
    expect((await aScreen(person, watch)).status).toBe(status);
  });

  it('a paired tablet watches the wall and nothing else', async () => {
    const { cookie, name } = await aTablet(s);
    const wall = await open(site, '/tablet/live?watch=wall', { cookie });
    screens.push(wall);
    await wall.until(({ signals }) => signals.includes('changed-wall'));
    expect((await open(site, '/tablet/live?watch=kilns', { cookie })).status).toBe(403);
    expect((await open(site, '/live?watch=wall', { cookie })).status).toBe(401);
    await s.as(s.people.technician, (act) => endDevice(act, name));
    await wall.until(({ signals, ended }) => signals.includes('ended') && ended);
    expect((await open(site, '/tablet/live?watch=wall', { cookie })).status).toBe(401);
  });

  it('refuses more than twenty of one person, and takes one again when another has gone', async () => {
    const person = await s.aPerson();
    const own = await Promise.all(Array.from({ length: 20 }, () => aScreen(person, 'wall')));
    expect(own.map(({ status }) => status)).toEqual(Array(20).fill(200));
    const more = await aScreen(person, 'wall');
    expect(more.status).toBe(429);
    expect((await aScreen(s.people.member, 'wall')).status).toBe(200);
    own[0]?.cut();
    for (;;) {
      const again = await aScreen(person, 'wall');
      if (again.status === 200) break;
      expect(again.status).toBe(429);
    }
  });
});

describe('a stream ends at once', () => {
  async function ends(person: Person, work: () => Promise<unknown>) {
    const [here, there] = [await aScreen(person, 'wall'), await aScreen(person, 'wall', { at: otherSite })];
    const neighbour = await settled(s.people.member, 'wall');
    await Promise.all([here, there].map((screen) => screen.until(({ lastId }) => lastId !== null)));
    await work();
    for (const screen of [here, there]) {
      await screen.until(({ ended }) => ended);
      // It asks for all of it once more, and meets the sign-in.
      expect(screen.signals.slice(-3)).toEqual(['changed-wall', 'changed-me', 'ended']);
    }
    expect((await aScreen(person, 'wall')).status).toBe(401);
    expect(neighbour.ended).toBe(false);
    await stir(await s.aBucket());
    await neighbour.until(() => heard(neighbour).includes('changed-wall'));
  }

  it('with a sign-out', async () => {
    const person = await s.aPerson();
    await ends(person, () => s.submit(person, '/sign-out', {}));
  });

  it('with a sign-out, and only in that browser', async () => {
    const person = await s.aPerson();
    const elsewhere = {
      ...person,
      cookie: (await s.services.sessions.start(person.id)).split(';')[0] as string,
    };
    const stays = await settled(elsewhere, 'wall');
    await ends(person, () => s.submit(person, '/sign-out', {}));
    expect(stays.ended).toBe(false);
  });

  it('with a change of role', async () => {
    const person = await s.aPerson();
    await ends(person, () =>
      s.as(s.people.manager, (act) => changeRole(act, { email: person.email, role: 'technician' })),
    );
  });

  it('with who is taken off the list', async () => {
    const person = await s.aPerson();
    await ends(person, () =>
      s.as(s.people.manager, (act) => changeActivity(act, { email: person.email, active: false })),
    );
  });

  it('when a session is gone and nobody said so, with the next beat', async () => {
    vi.useFakeTimers({ toFake: ['setInterval'] });
    onTestFinished(() => void vi.useRealTimers());
    const third = await appOn(s.services.config.databaseUrl as string);
    const at = await listenOn(third.app);
    const person = await s.aPerson();
    const screen = await settled(person, 'wall', at);
    const beats = () => screen.words.split(': still here').length;
    const before = beats();
    vi.advanceTimersByTime(20_000);
    await screen.until(() => beats() > before);
    await owner`delete from sessions where person_id = ${person.id}`;
    vi.advanceTimersByTime(20_000);
    await screen.until(({ ended }) => ended);
  });

  it('when the process does, which does not wait for it', async () => {
    const before = await listeners();
    const third = await appOn(s.services.config.databaseUrl as string);
    const at = await listenOn(third.app);
    const open = await Promise.all([1, 2, 3].map(() => settled(s.people.member, 'wall', at)));
    await third.app.close();
    for (const screen of open) {
      await screen.until(({ ended }) => ended);
      expect(screen.signals).not.toContain('ended');
    }
    expect(await listeners()).toBe(before);
  });
});

it('counts open screens for whoever watches over the service', async () => {
  const watched = await appOn(s.services.config.databaseUrl as string, { METRICS_PORT: '0' });
  const at = await listenOn(watched.app);
  const count = async () => {
    const { body } = (await watched.services.metrics?.server().inject('/metrics')) ?? { body: '' };
    return Number(/^wareboard_open_streams (\d+)$/m.exec(body)?.[1]);
  };
  expect(await count()).toBe(0);
  const screen = await aScreen(s.people.member, 'wall', { at });
  await screen.until(({ lastId }) => lastId !== null);
  expect(await count()).toBe(1);
  screen.cut();
  while ((await count()) !== 0) await sleep(10);
});

it('one connection listens, however many screens are open', async () => {
  await settled(s.people.technician, 'wall');
  const before = await listeners();
  await Promise.all(Array.from({ length: 10 }, () => settled(s.people.technician, 'wall')));
  expect(await listeners()).toBe(before);
});
