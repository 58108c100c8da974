import { beforeAll, describe, expect, it } from 'vitest';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { Refusal } from '../../server/core/errors.ts';
import { people } from '../../server/core/schema.ts';
import { fromWallTime, toWallTime } from '../../server/core/wall-time.ts';
import { calendarFeeds } from '../../server/kilns/schema.ts';
import {
  cancel,
  careBody,
  changeKilnSettings,
  chooseSchedule,
  findLoad,
  type KilnNow,
  kilnSettings,
  listSchedules,
  makeFeed,
  noteCare,
  planLoad,
  showCalendar,
  showPlan,
  unplanLoad,
} from '../../server/kilns/service/index.ts';
import { aBareLoad, usualSchedules } from '../helpers/calendar.ts';
import { aKiln } from '../helpers/kilns.ts';
import { GLAZE, readAs } from '../helpers/loads.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;
let schedules: Map<string, number>;
const ZONE = 'Europe/London';

const settings = (change: object) =>
  s.as(s.people.technician, async (act) =>
    changeKilnSettings(act, { ...(await kilnSettings(act)), ...change }),
  );
const versionOf = async (load: number) => (await findLoad(readAs(s, s.people.technician), load)).version;
const place = async (load: number, startsAt: number) => {
  const version = await versionOf(load);
  return s.as(s.people.technician, (act) => planLoad(act, load, { startsAt, version }));
};
const slotsFor = async (load: number) => (await showPlan(readAs(s, s.people.technician), load)).slots;
const bisque = (kiln: KilnNow) => aBareLoad(s, kiln, schedules.get('Bisque') ?? 0);
/** At this time of the studio's day, so many days from today. */
const dayAt = (days: number, time: string): number =>
  fromWallTime(`${toWallTime(s.clock.now() + days * DAY, ZONE).slice(0, 10)}T${time}`, ZONE) as number;

beforeAll(async () => {
  s = await aStudio();
  schedules = await usualSchedules(s);
});

describe('a place on the calendar', () => {
  it('is offered three times over, each of them is taken as it stands, and is told', async () => {
    const kiln = await aKiln(s);
    const load = await bisque(kiln);
    const slots = await slotsFor(load);
    expect(slots).toHaveLength(3);
    for (const slot of slots) {
      const placed = await place(load, slot.startsAt);
      expect(placed.freeAt).toBeGreaterThan(placed.offAt);
      const now = await findLoad(readAs(s, s.people.member), load);
      expect([now.startsAt, now.freeAt]).toEqual([placed.startsAt, Math.ceil(placed.freeAt)]);
    }
    const { entries } = await showCalendar(readAs(s, s.people.member), {
      from: s.clock.now(),
      to: s.clock.now() + 14 * DAY,
    });
    expect(entries.find(({ number }) => number === load)?.troubles).toEqual([]);
  });

  it('is refused with every reason, beside the field', async () => {
    const kiln = await aKiln(s);
    const [first, second] = [await bisque(kiln), await bisque(kiln)];
    const placed = await place(first, dayAt(2, '10:00'));
    const night = toWallTime(placed.startsAt + 13 * HOUR, ZONE).slice(11);
    expect(night).toBe('23:00');
    await expect(place(second, placed.startsAt + 13 * HOUR)).rejects.toMatchObject({
      errors: [
        {
          path: 'startsAt',
          message: `Load ${first} has this kiln then. Nobody is in the studio at that time to load and start it.`,
        },
      ],
    });
    await expect(place(second, s.clock.now() - HOUR)).rejects.toMatchObject({
      errors: [{ path: 'startsAt', message: 'This is past.' }],
    });
    await expect(place(second, s.clock.now() + 400 * DAY)).rejects.toMatchObject({
      errors: [{ path: 'startsAt', message: 'More than a year ahead.' }],
    });
    const [next] = await slotsFor(second);
    expect(next && (next.startsAt >= placed.freeAt || next.freeAt <= placed.startsAt)).toBe(true);
  });

  it('keeps within the kW of the studio, and a kiln with burners takes none of them', async () => {
    await settings({ siteKilowatts: 20 });
    const [a, b] = [await aKiln(s, { kilowatts: 11 }), await aKiln(s, { kilowatts: 11 })];
    const gas = await aKiln(s, { power: 'gas', emergency: 'Shut the cock first.' });
    const [one, two, three] = [await bisque(a), await bisque(b), await bisque(gas)];
    const { startsAt } = await place(one, dayAt(20, '10:00'));
    await expect(place(two, startsAt + 2 * HOUR)).rejects.toThrow(
      'With the kilns that heat at that time it is 22 kW; the studio has 20.',
    );
    await place(three, startsAt + 2 * HOUR);
    // Once the first has stopped heating there is power for it.
    await place(two, dayAt(21, '10:00'));
    expect((await findLoad(readAs(s, s.people.member), two)).startsAt).toBe(dayAt(21, '10:00'));
    await settings({ siteKilowatts: null });
  });

  it('is not given to a load without a schedule, nor in a kiln out of service', async () => {
    const kiln = await aKiln(s);
    const bare = await aBareLoad(s, kiln, null);
    await expect(place(bare, dayAt(2, '10:00'))).rejects.toThrow(/has no schedule yet/);
    const load = await bisque(kiln);
    await place(load, dayAt(3, '10:00'));
    const body = careBody.parse({ kind: 'out-of-service', note: 'A relay sticks' });
    await s.as(s.people.technician, (act) => noteCare(act, kiln.code, body));
    await expect(place(load, dayAt(4, '10:00'))).rejects.toThrow(/is out of service: A relay sticks\./);
    const plan = await showPlan(readAs(s, s.people.technician), load);
    expect(plan.cannot).toMatch(/out of service/);
    expect(plan.slots).toEqual([]);
    expect(plan.load.troubles).toEqual([expect.stringMatching(/out of service: A relay sticks/)]);
  });

  it('follows its schedule, and is not made to overlap by another one', async () => {
    const kiln = await aKiln(s);
    const [load, after] = [await bisque(kiln), await bisque(kiln)];
    const before = await place(load, dayAt(30, '09:00'));
    await place(after, before.freeAt);
    const thick = await findThick();
    const choose = async () => {
      const version = await versionOf(load);
      return s.as(s.people.technician, (act) => chooseSchedule(act, load, { schedule: thick, version }));
    };
    await expect(choose()).rejects.toMatchObject({ errors: [{ path: 'schedule' }] });
    expect((await findLoad(readAs(s, s.people.technician), load)).freeAt).toBe(before.freeAt);
    const version = await versionOf(after);
    await s.as(s.people.technician, (act) => unplanLoad(act, after, { version }));
    await choose();
    const now = await findLoad(readAs(s, s.people.technician), load);
    expect(now.schedule?.name).toBe('Bisque, thick ware');
    expect(now.freeAt).toBeGreaterThan(before.freeAt);
  });

  it('is given up, kept by nobody who is not looking, and gone once the load is cancelled', async () => {
    const kiln = await aKiln(s);
    const load = await bisque(kiln);
    const wren = s.people.technician;
    const seen = await versionOf(load);
    await place(load, dayAt(5, '10:00'));
    const stale = { startsAt: dayAt(6, '10:00'), version: seen };
    await expect(s.as(s.people.manager, (act) => planLoad(act, load, stale))).rejects.toThrow(
      'Wren changed this load a moment ago: look again.',
    );
    let version = await versionOf(load);
    await s.as(wren, (act) => unplanLoad(act, load, { version }));
    version = await versionOf(load);
    await expect(s.as(wren, (act) => unplanLoad(act, load, { version }))).rejects.toThrow(
      'not on the calendar',
    );
    await place(load, dayAt(5, '10:00'));
    await s.as(wren, (act) => cancel(act, load, { reason: 'Nobody wants it' }));
    await place(await bisque(kiln), dayAt(5, '10:00'));
    await expect(place(load, dayAt(9, '10:00'))).rejects.toThrow(/is cancelled/);
  });

  it('never overlaps and never passes the kW, whoever places and moves at the same moment', async () => {
    const crowd = await aStudio();
    const own = await usualSchedules(crowd);
    const wren = crowd.people.technician;
    const read = () => readAs(crowd, wren);
    const LIMIT = 20;
    await crowd.as(wren, async (act) =>
      changeKilnSettings(act, { ...(await kilnSettings(act)), siteKilowatts: LIMIT }),
    );
    const kilns = [
      await aKiln(crowd, { kilowatts: 11 }),
      await aKiln(crowd, { kilowatts: 8 }),
      await aKiln(crowd, { kilowatts: 9 }),
    ];
    const loads: number[] = [];
    for (let i = 0; i < 9; i++)
      loads.push(
        await aBareLoad(
          crowd,
          kilns[i % 3] as KilnNow,
          own.get(i % 2 ? 'Glaze' : 'Bisque') ?? 0,
          i % 2 ? GLAZE : undefined,
        ),
      );
    // Park–Miller, so that a failure comes back.
    let seed = 20_261_127;
    const random = (below: number) => {
      seed = (seed * 48_271) % 2_147_483_647;
      return seed % below;
    };
    const outcomes = { placed: 0, refused: 0 };
    for (let round = 0; round < 6; round++) {
      const morning = Math.ceil(crowd.clock.now() / DAY) * DAY + 10 * HOUR;
      const tries = [...loads, ...loads.slice(0, 3)].map(async (load) => {
        const startsAt = morning + random(7) * DAY + random(20) * 30 * MINUTE;
        const { version } = await findLoad(read(), load);
        const isTakenOff = random(8) === 0;
        return crowd.as(wren, async (act) => {
          if (isTakenOff) await unplanLoad(act, load, { version });
          else await planLoad(act, load, { startsAt, version });
        });
      });
      for (const result of await Promise.allSettled(tries)) {
        if (result.status === 'fulfilled') outcomes.placed += 1;
        else {
          expect(result.reason).toBeInstanceOf(Refusal);
          outcomes.refused += 1;
        }
      }
      const { entries } = await showCalendar(read(), { from: morning - DAY, to: morning + 30 * DAY });
      for (const a of entries) {
        expect(a.troubles, `round ${round}, load ${a.number}`).toEqual([]);
        for (const b of entries)
          if (a.number < b.number && a.kiln.id === b.kiln.id)
            expect(a.place.freeAt <= b.place.startsAt || b.place.freeAt <= a.place.startsAt).toBe(true);
        const heating = entries.filter(
          ({ place: p }) => p.startsAt <= a.place.startsAt && a.place.startsAt < p.offAt,
        );
        const drawn = heating.reduce((sum, { place: p }) => sum + (p.kilowatts ?? 0), 0);
        expect(drawn).toBeLessThanOrEqual(LIMIT);
      }
    }
    // Neither of the two alone would prove anything.
    expect(outcomes.placed).toBeGreaterThan(5);
    expect(outcomes.refused).toBeGreaterThan(5);
  }, 120_000);
});

async function findThick(): Promise<number> {
  const all = await listSchedules(readAs(s, s.people.technician));
  return all.find(({ name }) => name === 'Bisque, thick ware')?.number ?? 0;
}

describe('the pages', () => {
  it('show the calendar to everybody, what has no time yet to technicians, and take any address', async () => {
    const kiln = await aKiln(s, { name: 'Alder' });
    const load = await bisque(kiln);
    const { technician, member } = s.people;
    const week = await s.visit(technician, '/kilns/calendar');
    expect(week.body).toContain('Not on the calendar yet');
    expect(week.body).toContain(`/kilns/loads/${load}/plan`);
    expect((await s.visit(member, '/kilns/calendar')).body).not.toContain('Not on the calendar yet');
    const slots = await slotsFor(load);
    await place(load, slots[0]?.startsAt ?? 0);
    const on = toWallTime(slots[0]?.startsAt ?? 0, ZONE).slice(0, 10);
    for (const path of [`?on=${on}`, `?view=month&on=${on}`]) {
      const shown = await s.visit(member, `/kilns/calendar${path}`);
      expect(shown.statusCode).toBe(200);
      expect(shown.body).toContain(`Load ${load}</a> starts · Alder`);
    }
    for (const odd of [
      '?on=2026-02-30',
      '?on=never',
      '?view=year',
      '?on=2026-01-01&on=2026-02-01',
      '?on=2099-12-31&view=month',
    ])
      expect((await s.visit(member, `/kilns/calendar${odd}`)).statusCode, odd).toBe(200);
  });

  it('place a load by a plain form, refuse with the reason beside the field, and are for technicians', async () => {
    const kiln = await aKiln(s);
    const load = await bisque(kiln);
    const { technician, member } = s.people;
    const version = String(await versionOf(load));
    const at = `/kilns/loads/${load}/plan`;
    const refused = await s.submit(technician, at, {
      startsAt: toWallTime(dayAt(3, '03:00'), ZONE),
      version,
    });
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('Nobody is in the studio at that time');
    expect(refused.body).toContain(toWallTime(dayAt(3, '03:00'), ZONE));
    expect(refused.body).toContain('The next times that work');
    const done = await s.submit(technician, at, { startsAt: toWallTime(dayAt(3, '12:00'), ZONE), version });
    expect(done.headers.location).toBe(`${at}?did=plan`);
    const planned = (await s.visit(technician, `${at}?did=plan`)).body;
    expect(planned).toContain('It is on the calendar.');
    expect(planned).toContain('Look it over and approve it');
    const off = await s.submit(technician, `/kilns/loads/${load}/unplan`, {
      version: String(await versionOf(load)),
    });
    expect(off.statusCode).toBe(303);
    const odd: Record<string, string>[] = [
      {},
      { startsAt: '2026-03-29T01:30', version },
      { startsAt: 'soon', version: 'x' },
    ];
    for (const nonsense of odd) expect((await s.submit(technician, at, nonsense)).statusCode).toBe(422);
    expect((await s.visit(technician, '/kilns/loads/999999/plan')).statusCode).toBe(404);
    expect((await s.visit(member, at)).statusCode).toBe(403);
    expect((await s.submit(member, at, { startsAt: '2030-01-01T10:00', version })).statusCode).toBe(403);
  });

  it('say the same as JSON', async () => {
    const kiln = await aKiln(s);
    const load = await bisque(kiln);
    const { technician, member } = s.people;
    const found = (await s.api(technician, 'GET', `/loads/${load}/slots`)).json();
    expect(found).toMatchObject({ cannot: null, slots: [{}, {}, {}] });
    const body = { startsAt: found.slots[1].startsAt, version: await versionOf(load) };
    const placed = await s.api(technician, 'POST', `/loads/${load}/plan`, body);
    expect(placed.statusCode).toBe(200);
    expect(placed.json().startsAt).toBe(body.startsAt);
    const to = new Date(s.clock.now() + 40 * DAY).toISOString();
    const from = new Date(s.clock.now()).toISOString();
    const shown = (await s.api(member, 'GET', `/calendar?from=${from}&to=${to}`)).json();
    expect(shown.loads).toContainEqual(
      expect.objectContaining({ load, kiln: kiln.code, startsAt: body.startsAt, troubles: [] }),
    );
    expect((await s.api(member, 'GET', `/calendar?from=${to}&to=${from}`)).statusCode).toBe(422);
    expect((await s.api(member, 'POST', `/loads/${load}/plan`, body)).statusCode).toBe(403);
    expect((await s.api(member, 'GET', '/board')).json().kilns).toContainEqual(
      expect.objectContaining({ kiln: kiln.code, state: 'empty', next: load }),
    );
  });
});

/** Content lines of RFC 5545, unfolded, after every rule that holds of any line was looked at. */
function contentLines(text: string): string[] {
  expect(text.endsWith('\r\n')).toBe(true);
  const physical = text.slice(0, -2).split('\r\n');
  for (const line of physical) {
    expect(Buffer.byteLength(line), line).toBeLessThanOrEqual(75); // §3.1, without the line break
    // biome-ignore lint/suspicious/noControlCharactersInRegex: none may be there
    expect(line).not.toMatch(/[\x00-\x08\x0a-\x1f\x7f]/);
  }
  const lines: string[] = [];
  for (const line of physical) {
    if (/^[ \t]/.test(line)) lines[lines.length - 1] += line.slice(1);
    else lines.push(line);
  }
  for (const line of lines) expect(line).toMatch(/^[A-Z][A-Z0-9-]*(;[A-Z-]+=[^":;,]+)*:/);
  return lines;
}

const TEXTS = ['SUMMARY', 'DESCRIPTION', 'UID', 'NAME', 'X-WR-CALNAME'];

function parts(line: string): [name: string, value: string] {
  const at = line.indexOf(':');
  return [line.slice(0, at), line.slice(at + 1)];
}

describe('the feed', () => {
  const linkIn = (html: string) => /\/calendar\/([\w-]+)\.ics/.exec(html)?.[1] ?? '';

  it('is RFC 5545 line by line, names nobody, and tells what is planned, moved and cancelled', async () => {
    const kiln = await aKiln(s, { name: 'Grosse, "Öfen"; \\ 窯 mit sehr langem Namen bis hierher' });
    const [load, gone] = [await bisque(kiln), await bisque(kiln)];
    await place(load, dayAt(8, '10:00'));
    await place(gone, dayAt(12, '10:00'));
    await s.as(s.people.technician, (act) => cancel(act, gone, { reason: 'Ida said so' }));
    const made = await s.submit(s.people.member, '/kilns/calendar/feed', {});
    const secret = linkIn(made.body);
    const answer = await s.visit(null, `/calendar/${secret}.ics`);
    expect(answer.statusCode).toBe(200);
    expect(answer.headers['content-type']).toBe('text/calendar; charset=utf-8');
    const lines = contentLines(answer.body);
    expect(lines.slice(0, 2)).toEqual(['BEGIN:VCALENDAR', 'VERSION:2.0']);
    expect(lines.at(-1)).toBe('END:VCALENDAR');
    const uids = new Set<string>();
    let event: Map<string, string> | null = null;
    const events: Map<string, string>[] = [];
    for (const line of lines.slice(1, -1)) {
      const [name, value] = parts(line);
      if (TEXTS.includes(name)) expect(value.replace(/\\[\\;,nN]/g, ''), line).not.toMatch(/[\\;,]/);
      if (line === 'BEGIN:VEVENT') {
        expect(event).toBeNull();
        event = new Map();
      } else if (line === 'END:VEVENT') {
        events.push(event as Map<string, string>);
        event = null;
      } else if (event) {
        expect(event.has(name), line).toBe(false);
        event.set(name, value);
      }
    }
    expect(event).toBeNull();
    for (const one of events) {
      for (const name of ['UID', 'DTSTAMP', 'DTSTART', 'DTEND', 'SUMMARY']) expect(one.has(name)).toBe(true);
      for (const name of ['DTSTAMP', 'DTSTART', 'DTEND']) expect(one.get(name)).toMatch(/^\d{8}T\d{6}Z$/);
      expect((one.get('DTEND') ?? '') > (one.get('DTSTART') ?? '')).toBe(true);
      expect(one.get('SEQUENCE')).toMatch(/^\d+$/);
      uids.add(one.get('UID') ?? '');
    }
    expect(uids.size).toBe(events.length);
    const of = (number: number) => events.find((one) => one.get('SUMMARY')?.startsWith(`Load ${number}\\, `));
    expect(of(load)?.get('SUMMARY')).toContain('Grosse\\, "Öfen"\\; \\\\ 窯');
    expect(of(load)?.get('STATUS')).toBe('CONFIRMED');
    expect(of(gone)?.get('STATUS')).toBe('CANCELLED');
    for (const { name } of Object.values(s.people)) expect(answer.body).not.toContain(name);

    await place(load, dayAt(9, '11:00'));
    const later = contentLines((await s.visit(null, `/calendar/${secret}.ics`)).body);
    const uid = of(load)?.get('UID');
    const from = later.indexOf(`UID:${uid}`);
    const moved = later.slice(from, from + 6);
    expect(Number(parts(moved.find((one) => one.startsWith('SEQUENCE')) ?? ':')[1])).toBeGreaterThan(
      Number(of(load)?.get('SEQUENCE')),
    );
    expect(moved.some((one) => one.startsWith('DTSTART') && parts(one)[1] !== of(load)?.get('DTSTART'))).toBe(
      true,
    );
  });

  it('is read by its link alone, and by nobody once the link has ended or its owner has left', async () => {
    const { member, manager } = s.people;
    const first = linkIn((await s.submit(member, '/kilns/calendar/feed', {})).body);
    const second = linkIn((await s.submit(member, '/kilns/calendar/feed', {})).body);
    expect(first).toMatch(/^[\w-]{22,}$/); // 128 bits and more
    const status = async (secret: string) => (await s.visit(null, `/calendar/${secret}.ics`)).statusCode;
    expect(await status(first)).toBe(404);
    expect(await status(second)).toBe(200);
    expect(await status('guess')).toBe(404);
    expect(await status(`${second}x`)).toBe(404);
    // What is stored opens nothing.
    const rows = await s.database.db.select().from(calendarFeeds);
    expect(JSON.stringify(rows)).not.toContain(second);
    for (const { hash } of rows) expect(await status(hash)).toBe(404);
    expect((await s.visit(member, '/kilns/calendar/feed')).body).not.toContain(second);

    expect((await s.submit(member, '/kilns/calendar/feed/end', {})).statusCode).toBe(303);
    expect(await status(second)).toBe(404);
    expect((await s.submit(member, '/kilns/calendar/feed/end', {})).statusCode).toBe(409);

    const leaver = await s.aPerson('member');
    const theirs = linkIn((await s.submit(leaver, '/kilns/calendar/feed', {})).body);
    expect(await status(theirs)).toBe(200);
    await s.submit(manager, '/people/activity', { email: leaver.email, active: 'no' });
    const all = await s.database.db.select().from(people);
    expect(all.find(({ id }) => id === leaver.id)?.active).toBe(false);
    expect(await status(theirs)).toBe(404);
  });

  it('carries addresses only where PUBLIC_URL says what they are', async () => {
    const known = await aStudio({ PUBLIC_URL: 'https://millrace.example' });
    const own = await usualSchedules(known);
    const load = await aBareLoad(known, await aKiln(known), own.get('Bisque') ?? 0);
    const { slots, load: now } = await showPlan(readAs(known, known.people.technician), load);
    await known.as(known.people.technician, (act) =>
      planLoad(act, load, { startsAt: slots[0]?.startsAt ?? 0, version: now.version }),
    );
    const secret = await known.as(known.people.member, (act) => makeFeed(act));
    const answer = await known.visit(null, `/calendar/${secret}.ics`, { host: 'millrace.example' });
    expect(answer.body.replace(/\r\n /g, '')).toContain(`URL:https://millrace.example/kilns/loads/${load}`);
  });
});
