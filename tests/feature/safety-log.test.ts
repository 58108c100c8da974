import fc from 'fast-check';
import postgres from 'postgres';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { Invalid } from '../../server/core/errors.ts';
import { studioDay } from '../../server/core/session.ts';
import { shownDay } from '../../server/core/wall-time.ts';
import { addDays } from '../../server/kilns/calendar.ts';
import { safetyDue } from '../../server/safety/service/due.ts';
import {
  addDuty,
  addUsualDuties,
  dutyBody,
  dutyDone,
  listDuties,
} from '../../server/safety/service/duties.ts';
import { amend, close, followUp, logEntry } from '../../server/safety/service/log.ts';
import { entryBody } from '../../server/safety/service/log-forms.ts';
import { entriesByTime, findEntry, listLog } from '../../server/safety/service/log-read.ts';
import { parseCsv } from '../helpers/csv.ts';
import { aStudio, type Person } from '../helpers/studio.ts';
import { aPhoto, upload } from '../helpers/upload.ts';

const s = await aStudio();
const { member, technician, manager } = s.people;
const other = await s.aPerson('member', 'Tomas');

const readAs = (person: Person) => ({ tx: s.database.db, actor: person.caller, now: s.clock.now() });
const write = (person: Person, body: object): Promise<number> =>
  s.as(person, (act) => logEntry(act, entryBody.parse(body)));
const aSpill = (person = member, more: object = {}) =>
  write(person, { kind: 'spill', place: 'Glaze sink', what: 'Half a litre on the floor', ...more });
const aCut = (person = member) =>
  write(person, { kind: 'first-aid', place: 'Kiln room', what: 'Cut her thumb on a glaze drip' });
const today = () => studioDay(readAs(technician));
let keys = 0;
const send = (person: Person, url: string, fields: Record<string, string>) =>
  s.submit(person, url, { key: `safety-log-${++keys}`, ...fields });

describe('who reads what', () => {
  it('what is about somebody’s health is not there for other members, on any road', async () => {
    const number = await aCut();
    for (const person of [member, technician, manager])
      expect((await s.visit(person, `/safety/log/${number}`)).statusCode, person.name).toBe(200);
    expect((await s.visit(other, `/safety/log/${number}`)).statusCode).toBe(404);
    expect((await s.api(other, 'GET', `/safety-log/${number}`)).statusCode).toBe(404);
    expect((await s.visit(other, `/safety/log/${number}/amend`)).statusCode).toBe(404);
    expect((await send(other, `/safety/log/${number}/amend`, { what: 'No' })).statusCode).toBe(404);
    expect((await s.api(other, 'POST', `/safety-log/${number}/amend`, { what: 'No' })).statusCode).toBe(404);
    const listed = (await s.api(other, 'GET', '/safety-log?limit=200')).json();
    expect(listed.entries.map((e: { number: number }) => e.number)).not.toContain(number);
    for (const url of ['/safety/log', '/safety/log?kind=first-aid', '/safety', '/safety/log?open=yes'])
      expect((await s.visit(other, url)).body, url).not.toContain('thumb');
    expect((await s.visit(member, '/safety/log')).body).toContain('thumb');
  });

  it('a spill is for everybody to read, until an amendment says whose skin it was on', async () => {
    const number = await aSpill();
    expect((await s.visit(other, `/safety/log/${number}`)).statusCode).toBe(200);
    await s.as(technician, (act) => amend(act, number, { what: 'He has a rash', restrict: true }));
    expect((await s.visit(other, `/safety/log/${number}`)).statusCode).toBe(404);
    expect((await s.visit(member, `/safety/log/${number}`)).statusCode).toBe(200);
    expect((await findEntry(readAs(technician), number)).restricted).toBe(true);
    // words alone do not open it again
    await s.as(technician, (act) => amend(act, number, { what: 'All well' }));
    expect((await s.visit(other, `/safety/log/${number}`)).statusCode).toBe(404);
  });

  it('an incident is kept close unless whoever writes it says otherwise; an exposure always', async () => {
    const body = { place: 'Yard', what: 'A shelf fell' };
    const usual = await write(member, { kind: 'incident', ...body });
    const open = await write(member, { kind: 'incident', restricted: false, ...body });
    const exposed = await write(member, { kind: 'exposure', restricted: false, ...body });
    const seen = async (number: number) =>
      (await s.api(other, 'GET', `/safety-log/${number}`)).statusCode === 200;
    expect([await seen(usual), await seen(open), await seen(exposed)]).toEqual([false, true, false]);
  });

  it('a stranger reads nothing', async () => {
    expect((await s.visit(null, '/safety/log')).statusCode).toBe(303);
    expect((await s.api(null, 'GET', '/safety-log')).statusCode).toBe(401);
  });

  it('a row about an entry is no entry of its own', async () => {
    const number = await aSpill();
    const amended = await s.as(member, (act) => amend(act, number, { what: 'It was a litre' }));
    expect((await s.visit(technician, `/safety/log/${amended}`)).statusCode).toBe(404);
    expect((await s.api(technician, 'POST', `/safety-log/${amended}/close`, { what: 'x' })).statusCode).toBe(
      404,
    );
  });
});

describe('who writes what', () => {
  it('members write trouble and wet cleaning, nothing that is measured, checked, taught or thrown away', async () => {
    const bodies = [
      {
        kind: 'air',
        place: 'Mixing room',
        substance: 'silica',
        value: 0.02,
        unit: 'mg/m³',
        method: 'pump',
      },
      { kind: 'wipe', place: 'Bench', substance: 'lead', value: 3, unit: 'µg/ft²', method: 'wipe' },
      { kind: 'ventilation', outcome: 'in-order' },
      { kind: 'respirator-fit', outcome: 'in-order' },
      { kind: 'inspection', outcome: 'in-order' },
      { kind: 'training', what: 'Mixing' },
      { kind: 'waste', what: 'Sludge', quantity: 12, quantityUnit: 'kg', way: 'collected' },
    ];
    for (const body of bodies) {
      expect((await s.api(member, 'POST', '/safety-log', body)).statusCode, body.kind).toBe(403);
      expect((await s.api(technician, 'POST', '/safety-log', body)).statusCode, body.kind).toBe(201);
    }
    for (const kind of ['incident', 'near-miss', 'exposure', 'spill', 'first-aid', 'wet-cleaning']) {
      const answer = await s.api(member, 'POST', '/safety-log', { kind, place: 'Sink', what: 'It' });
      expect(answer.statusCode, kind).toBe(201);
    }
    const form = await s.visit(member, '/safety/log/new');
    expect(form.body).toContain('Near miss');
    expect(form.body).not.toContain('Air measurement');
  });

  it('members amend what they wrote, technicians anything; nobody else follows up or closes', async () => {
    const number = await aSpill();
    const path = `/safety-log/${number}`;
    const owner = technician.email;
    const dueOn = await today();
    expect((await s.api(member, 'POST', `${path}/amend`, { what: 'A litre' })).statusCode).toBe(201);
    expect((await s.api(other, 'POST', `${path}/amend`, { what: 'Two' })).statusCode).toBe(403);
    expect((await s.api(member, 'POST', `${path}/follow-up`, { what: 'x', owner, dueOn })).statusCode).toBe(
      403,
    );
    expect((await s.api(member, 'POST', `${path}/close`, { what: 'x' })).statusCode).toBe(403);
    const followed = await s.api(technician, 'POST', `${path}/follow-up`, { what: 'Mop', owner, dueOn });
    expect(followed.statusCode).toBe(201);
    expect((await s.api(manager, 'POST', `${path}/close`, { what: 'Mopped' })).statusCode).toBe(201);
    expect((await s.api(manager, 'POST', `${path}/close`, { what: 'Again' })).statusCode).toBe(409);
    const entry = (await s.api(member, 'GET', path)).json();
    expect(entry).toMatchObject({ state: 'closed', owner: null, overdue: false });
    expect(entry.later.map((row: { kind: string }) => row.kind)).toEqual([
      'amendment',
      'follow-up',
      'closing',
    ]);
  });

  it('the register and the file are for those who keep the log', async () => {
    for (const url of ['/safety/register', '/safety/log.csv']) {
      expect((await s.visit(member, url)).statusCode, url).toBe(403);
      expect((await s.visit(technician, url)).statusCode, url).toBe(200);
    }
  });

  it('whoever wrote it strikes it out within a day, technicians later too; then it is left alone', async () => {
    const [soon, late] = [await aSpill(), await aSpill()];
    await s.as(member, (act) => amend(act, soon, { what: 'Twice', strike: true }));
    await expect(s.as(member, (act) => amend(act, soon, { what: 'More' }))).rejects.toThrow('struck out');
    s.clock.forward(DAY + HOUR);
    await expect(s.as(member, (act) => amend(act, late, { what: 'Twice', strike: true }))).rejects.toThrow(
      '24 hours',
    );
    await s.as(technician, (act) => amend(act, late, { what: 'Twice', strike: true }));
    const taken = await aSpill();
    const dueOn = await today();
    await s.as(technician, (act) => followUp(act, taken, { what: 'Mop', owner: technician.email, dueOn }));
    await expect(
      s.as(member, (act) => amend(act, taken, { what: 'Never was', strike: true })),
    ).rejects.toThrow('taken this on');
    await s.as(member, (act) => amend(act, taken, { what: 'Two litres' }));
    await s.as(technician, (act) => amend(act, taken, { what: 'Twice', strike: true }));
    expect((await findEntry(readAs(member), late)).standing.state).toBe('struck');
    expect((await s.visit(member, `/safety/log/${late}`)).body).toContain('Struck out');
  });
});

describe('what is refused', () => {
  const bad: [string, object, string][] = [
    ['an unknown kind', { kind: 'ghost', place: 'Sink', what: 'x' }, 'kind'],
    ['no place', { kind: 'spill', what: 'x' }, 'place'],
    ['no words', { kind: 'spill', place: 'Sink', what: '   ' }, 'what'],
    ['a NUL', { kind: 'spill', place: 'Sink', what: 'a\0b' }, 'what'],
    ['a bucket that is not there', { kind: 'spill', place: 'S', what: 'x', bucket: 'NONE' }, 'bucket'],
    ['a kiln that is not there', { kind: 'spill', place: 'S', what: 'x', kiln: 'NONE' }, 'kiln'],
    ['a material that is not there', { kind: 'spill', place: 'S', what: 'x', material: 99999 }, 'material'],
    [
      'the future',
      { kind: 'spill', place: 'S', what: 'x', happenedAt: '2099-01-01T00:00:00Z' },
      'happenedAt',
    ],
    ['a figure without unit', { kind: 'ventilation', outcome: 'in-order', value: 3 }, 'unit'],
    ['needs work, without what', { kind: 'ventilation', outcome: 'needs-work' }, 'what'],
    [
      'a negative result',
      { kind: 'wipe', place: 'B', substance: 'lead', value: -1, unit: 'µg/ft²', method: 'w' },
      'value',
    ],
    ['a field of another kind', { kind: 'spill', place: 'S', what: 'x', outcome: 'in-order' }, 'outcome'],
    ['a duty that is not there', { kind: 'wet-cleaning', duty: 999 }, 'duty'],
  ];
  it.each(bad)('%s', async (_, body, path) => {
    const answer = await s.api(technician, 'POST', '/safety-log', body);
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors.map((e: { path: string }) => e.path)).toContain(path);
  });

  it('an owner who is a member, gone or unknown; a day that has passed or is none', async () => {
    const number = await aSpill();
    const dueOn = await today();
    const ask = (body: object) => s.api(technician, 'POST', `/safety-log/${number}/follow-up`, body);
    for (const owner of [member.email, 'nobody@millrace.example', 'x'])
      expect((await ask({ what: 'x', owner, dueOn })).statusCode, owner).toBe(422);
    for (const day of [addDays(dueOn, -1), '2026-02-30', 'soon', ''])
      expect((await ask({ what: 'x', owner: technician.email, dueOn: day })).statusCode, day).toBe(422);
  });

  it('a check that was in order has nothing to close', async () => {
    const number = await write(technician, { kind: 'ventilation', outcome: 'in-order' });
    await expect(s.as(technician, (act) => close(act, number, { what: 'x' }))).rejects.toThrow(
      'Nothing waits',
    );
  });

  it('odd addresses and queries, without a fault', async () => {
    for (const url of ['0', '-1', 'abc', '99999999999999999999', '1e3'])
      expect((await s.visit(technician, `/safety/log/${url}`)).statusCode, url).toBe(404);
    for (const query of ['from=2026-02-30', 'from=2026-03-02&to=2026-03-01', 'kind=ghost'])
      for (const url of ['/safety/log', '/safety/register', '/safety/log.csv'])
        expect((await s.visit(technician, `${url}?${query}`)).statusCode, `${url}?${query}`).toBe(422);
    for (const query of ['before=x', 'before=0', 'limit=0', 'limit=1000', 'open=maybe'])
      expect((await s.api(technician, 'GET', `/safety-log?${query}`)).statusCode, query).toBe(422);
    for (const query of ['before=x', 'bucket=%3Cb%3E', 'material=-1', 'kind=ghost&kind=spill', 'open='])
      expect((await s.visit(technician, `/safety/log/new?${query}`)).statusCode, query).toBe(200);
    expect((await s.visit(technician, '/safety/log?before=x')).statusCode).toBe(200);
    expect((await s.visit(technician, '/safety/register?from=&to=')).statusCode).toBe(200);
    const backwards = '?from=2026-02-02&to=2026-02-01';
    const register = await s.visit(technician, `/safety/register${backwards}`);
    expect(register.statusCode).toBe(422);
    expect(register.body).toContain('This lies before the first day.');
    expect(register.body).not.toMatch(/0 entries|Nothing happened/);
    const list = await s.visit(technician, `/safety/log${backwards}`);
    expect(list.body).toContain('This lies before the first day.');
    expect(list.body).not.toContain('Nothing like that');
  });
});

describe('pages', () => {
  it('a form brings an entry about a bucket, and what is refused comes back as typed', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const problem = await s.visit(member, `/buckets/${code}/problem`);
    expect(problem.body).toContain(`/safety/log/new?bucket=${code}`);
    const url = `/safety/log/new?kind=spill&bucket=${code}`;
    const form = await s.visit(member, url);
    expect(form.body).toContain(`<option value="${code}" selected`);
    const typed = { kind: 'spill', happenedAt: '', place: '', what: 'On the step', bucket: code };
    const refused = await send(member, url, typed);
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('On the step');
    const taken = await send(member, url, { ...typed, place: 'Back door', topic: 'slip' });
    expect(taken.statusCode).toBe(303);
    const number = Number(/log\/(\d+)\?/.exec(String(taken.headers.location))?.[1]);
    expect(await findEntry(readAs(member), number)).toMatchObject({
      place: 'Back door',
      bucket: { code },
      restricted: false,
      payload: { topic: 'slip' },
      standing: { state: 'open' },
    });
  });

  it('a double tap writes one entry', async () => {
    const fields = { key: 'the-same-key', kind: 'spill', place: 'Sink', what: 'Once' };
    const first = await s.submit(member, '/safety/log/new?kind=spill', fields);
    const second = await s.submit(member, '/safety/log/new?kind=spill', fields);
    expect(second.headers.location).toBe(first.headers.location);
  });

  it('what people wrote is shown as words, never as markup', async () => {
    const evil = '<script>alert(1)</script><img src=x onerror=alert(1)>';
    const number = await write(technician, { kind: 'spill', place: evil, what: evil, action: evil });
    await s.as(technician, (act) => amend(act, number, { what: evil }));
    for (const url of [`/safety/log/${number}`, '/safety/log', '/safety/register', '/safety', '/today']) {
      const { body, statusCode } = await s.visit(technician, url);
      expect(statusCode, url).toBe(200);
      expect(body, url).not.toContain('<script>alert');
      expect(body, url).not.toContain('<img src=x');
    }
  });

  it('every page says who decides, and leads back', async () => {
    const number = await aSpill(technician);
    const pages = [
      '/safety',
      '/safety/log',
      '/safety/log/new',
      '/safety/log/new?kind=air',
      '/safety/log/new?kind=waste',
      '/safety/log/new?kind=inspection',
      `/safety/log/${number}`,
      `/safety/log/${number}/amend`,
      `/safety/log/${number}/follow-up`,
      `/safety/log/${number}/close`,
      '/safety/register',
      '/safety/duties',
    ];
    for (const url of pages) {
      const { body, statusCode } = await s.visit(technician, url);
      expect(statusCode, url).toBe(200);
      expect(body, url).toContain('not legal advice');
      expect(body, url).not.toContain(' style=');
    }
  });

  it('a photo of what is about somebody’s health is opened by nobody who may not read the entry', async () => {
    const photoOf = async (number: number, width: number) => {
      const url = `/safety/log/${number}/photo`;
      await upload(s, member, url, { key: `hidden-photo-${number}` }, { bytes: await aPhoto(width) });
      return (await findEntry(readAs(member), number)).photos[0];
    };
    const opened = async (sha256: string | undefined) =>
      Promise.all(
        [member, other, technician].map(
          async (person) => (await s.visit(person, `/files/${sha256}`)).statusCode,
        ),
      );
    expect(await opened(await photoOf(await aCut(), 51))).toEqual([200, 404, 200]);
    expect(await opened(await photoOf(await aSpill(), 52))).toEqual([200, 200, 200]);
  });

  it('photos come one at a time, by their content, and only from those who may write about it', async () => {
    const number = await aSpill();
    const url = `/safety/log/${number}/photo`;
    const sent = await upload(s, member, url, { key: 'photo-key-1' }, { bytes: await aPhoto() });
    expect(sent.statusCode).toBe(303);
    const html = Buffer.from('<html><script>alert(1)</script></html>');
    const page = await upload(s, member, url, { key: 'photo-key-2' }, { bytes: html });
    expect(page.statusCode).toBe(422);
    expect((await upload(s, member, url, { key: 'photo-key-3' }, null)).statusCode).toBe(422);
    const theirs = await upload(s, other, url, { key: 'photo-key-4' }, { bytes: await aPhoto() });
    expect(theirs.statusCode).toBe(403);
    const { photos } = await findEntry(readAs(member), number);
    expect(photos).toHaveLength(1);
    expect((await s.visit(member, `/safety/log/${number}`)).body).toContain(`/files/${photos[0]}`);
  });

  it('technicians are told of a spill, and of first aid without where or what', async () => {
    await aSpill(member, { place: 'Loading bay' });
    await aCut();
    const { body } = await s.visit(technician, '/messages');
    expect(body).toContain('Spill, Loading bay');
    expect(body).toContain('First aid: entry');
    expect((await s.visit(other, '/messages')).body).not.toContain('Loading bay');
  });
});

describe('the register and the file', () => {
  it('a cell that begins like a formula is words; amendments have lines of their own', async () => {
    const number = await aSpill(member, { place: '=HYPERLINK("http://x.example")', what: '+1+1' });
    await s.as(member, (act) => amend(act, number, { what: '@SUM(A1)' }));
    const { body } = await s.visit(technician, '/safety/log.csv');
    const [head = [], ...lines] = parseCsv(body.slice(1));
    const at = (name: string) => head.indexOf(name);
    expect(lines.every((line) => line.length === head.length)).toBe(true);
    const mine = lines.filter((line) => [line[0], line[1]].includes(String(number)));
    expect(mine.map((line) => line[at('what')])).toEqual(["'+1+1", "'@SUM(A1)"]);
    expect(mine[0]?.[at('place')]).toBe('\'=HYPERLINK("http://x.example")');
    for (const cell of lines.flat()) expect(cell).not.toMatch(/^[=+@\t\r]|^-\D/);
  });

  it('covers a period by studio days, and leaves out health where it is to leave the office', async () => {
    const cut = await aCut();
    const day = await today();
    const told = (url: string) => s.visit(technician, url).then(({ body }) => body);
    expect(await told(`/safety/register?from=${day}&to=${day}`)).toContain('Cut her thumb');
    expect(await told(`/safety/register?from=${day}&to=${day}&withoutHealth=yes`)).not.toContain('thumb');
    expect(await told(`/safety/log.csv?withoutHealth=yes`)).not.toContain('thumb');
    const next = addDays(day, 1);
    expect(await told(`/safety/register?from=${next}&to=${next}`)).toContain('Nothing happened');
    expect((await findEntry(readAs(technician), cut)).standing.state).toBe('open');
  });
});

describe('append-only', () => {
  it('the database refuses to change or delete entries and photos', async () => {
    await aSpill();
    const sql = postgres(s.ownerUrl, { max: 1, onnotice: () => {} });
    try {
      await expect(sql`update safety_entries set place = 'x'`).rejects.toThrow();
      await expect(sql`delete from safety_entries`).rejects.toThrow();
      await expect(sql`truncate safety_entries cascade`).rejects.toThrow();
      await expect(sql`truncate safety_photos`).rejects.toThrow();
    } finally {
      await sql.end();
    }
  });

  it('many at once get numbers without gaps', async () => {
    const before = await aSpill();
    const answers = await Promise.all(
      Array.from({ length: 20 }, (_, i) =>
        s.api(i % 2 ? member : other, 'POST', '/safety-log', { kind: 'spill', place: 'Sink', what: `${i}` }),
      ),
    );
    const numbers = answers.map((a) => a.json().number).sort((a, b) => a - b);
    expect(numbers).toEqual(Array.from({ length: 20 }, (_, i) => before + 1 + i));
  });

  it('closed by two at once it is closed once', async () => {
    const number = await aSpill();
    const answers = await Promise.all(
      [technician, manager].map((who) => s.api(who, 'POST', `/safety-log/${number}/close`, { what: 'Done' })),
    );
    expect(answers.map((a) => a.statusCode).sort()).toEqual([201, 409]);
  });

  it('a retry with the same key writes it once', async () => {
    const body = { kind: 'spill', place: 'Sink', what: 'Once' };
    const headers = { 'idempotency-key': 'safety-retry-1' };
    const first = await s.api(member, 'POST', '/safety-log', body, headers);
    const second = await s.api(member, 'POST', '/safety-log', body, headers);
    expect(second.json()).toEqual(first.json());
  });
});

it('what the list calls open is what the fold calls open', async () => {
  const dueOn = await today();
  await fc.assert(
    fc.asyncProperty(
      fc.constantFrom('spill', 'ventilation', 'needs-work', 'wet-cleaning'),
      fc.array(fc.constantFrom('amend', 'follow-up', 'close', 'strike'), { maxLength: 4 }),
      async (kind, acts) => {
        const number =
          kind === 'spill' || kind === 'wet-cleaning'
            ? await write(technician, { kind, place: 'Sink', what: 'x' })
            : await write(technician, {
                kind: 'ventilation',
                outcome: kind === 'needs-work' ? 'needs-work' : 'in-order',
                what: 'x',
              });
        for (const act of acts)
          await s
            .as(technician, (as) => {
              if (act === 'close') return close(as, number, { what: 'x' });
              if (act === 'follow-up')
                return followUp(as, number, { what: 'x', owner: technician.email, dueOn });
              return amend(as, number, { what: 'x', strike: act === 'strike' });
            })
            .catch(() => {});
        const { standing } = await findEntry(readAs(technician), number);
        const { entries } = await listLog(readAs(technician), { open: true, limit: 1 });
        const isListed = entries[0]?.number === number;
        expect(isListed).toBe(standing.state === 'open' || standing.state === 'to-do');
      },
    ),
    { numRuns: 20 },
  );
});

it('a register is whole, or says that it would not be', async () => {
  const read = readAs(technician);
  const all = await entriesByTime(read, {});
  expect(all.length).toBeGreaterThan(10);
  expect(await entriesByTime(read, {}, all.length)).toHaveLength(all.length);
  await expect(entriesByTime(read, {}, all.length - 1)).rejects.toThrow(Invalid);
});

it('a page of the log goes on where the one before ended', async () => {
  const all = (await listLog(readAs(technician), { limit: 10_000 })).entries.map(({ number }) => number);
  const paged: number[] = [];
  for (let before: number | null | undefined; before !== null; ) {
    const query = before === undefined ? '' : `&before=${before}`;
    const page = (await s.api(technician, 'GET', `/safety-log?limit=7${query}`)).json();
    paged.push(...page.entries.map((e: { number: number }) => e.number));
    before = page.next;
  }
  expect(paged).toEqual(all);
});

describe('duties', () => {
  it('the usual ones come once, by name', async () => {
    const twice = await Promise.all([s.as(technician, addUsualDuties), s.as(manager, addUsualDuties)]);
    expect(Math.max(...twice)).toBeGreaterThan(3);
    expect(Math.min(...twice)).toBe(0);
    expect(await s.as(technician, addUsualDuties)).toBe(0);
  });

  it('members neither add nor end one, and do only their own', async () => {
    const body = { name: 'Rinse the drains', everyDays: '7', kind: 'wet-cleaning', forRole: 'member' };
    expect((await send(member, '/safety/duties', body)).statusCode).toBe(403);
    expect((await send(technician, '/safety/duties', body)).statusCode).toBe(303);
    const duties = await listDuties(readAs(member));
    const own = duties.find(({ name }) => name === 'Rinse the drains');
    const theirs = duties.find(({ forRole }) => forRole === 'technician');
    expect((await send(member, `/safety/duties/${own?.number}/end`, {})).statusCode).toBe(403);
    expect((await send(member, `/safety/duties/${theirs?.number}/done`, {})).statusCode).toBe(403);
    const done = await send(member, `/safety/duties/${own?.number}/done`, { from: 'hub' });
    expect(done.headers.location).toBe('/safety?done=duty');
    const after = (await listDuties(readAs(member))).find(({ number }) => number === own?.number);
    expect(after).toMatchObject({ standing: { state: 'done' }, last: { by: member.name } });
    const entry = await findEntry(readAs(other), after?.last?.number ?? 0);
    expect(entry).toMatchObject({ kind: 'wet-cleaning', duty: { name: 'Rinse the drains' } });
  });

  it('a duty of managers is theirs: a technician neither taps it nor writes it down', async () => {
    const command = dutyBody.parse({
      name: 'Insurer',
      everyDays: 365,
      kind: 'inspection',
      forRole: 'manager',
    });
    const number = await s.as(technician, (act) => addDuty(act, command));
    const body = { kind: 'inspection', outcome: 'in-order', duty: number };
    expect((await send(technician, `/safety/duties/${number}/done`, {})).statusCode).toBe(403);
    expect((await s.api(technician, 'POST', '/safety-log', body)).statusCode).toBe(403);
    expect((await s.api(manager, 'POST', '/safety-log', body)).statusCode).toBe(201);
  });

  it('one that begins later is not called done', async () => {
    const fromOn = addDays(await today(), 12);
    for (const everyDays of ['0', '30']) {
      const body = {
        name: `Later ${everyDays}`,
        everyDays,
        kind: 'inspection',
        forRole: 'technician',
        fromOn,
      };
      expect((await send(technician, '/safety/duties', body)).statusCode).toBe(303);
    }
    const { body } = await s.visit(technician, '/safety/duties');
    expect(body.match(new RegExp(`First due on ${shownDay(fromOn)}`, 'g'))).toHaveLength(2);
  });

  it('one that is due stands once on the safety page of whoever does it', async () => {
    const body = { name: 'Look at the guards', everyDays: '7', kind: 'inspection' };
    await send(technician, '/safety/duties', { ...body, forRole: 'technician' });
    await send(technician, '/safety/duties', { ...body, name: 'Insurer again', forRole: 'manager' });
    const named = async (person: Person, url: string, name: string) =>
      (await s.visit(person, url)).body.split(`${name}`).length - 1;
    expect(await named(technician, '/today', 'Look at the guards')).toBe(1);
    expect(await named(technician, '/safety', '<p>Look at the guards')).toBe(0);
    expect(await named(technician, '/safety', 'lid-name">Look at the guards')).toBe(1);
    expect(await named(technician, '/safety', 'Insurer again, every week')).toBe(1);
  });

  it('one that was struck out was not done', async () => {
    const command = dutyBody.parse({
      name: 'Filter',
      everyDays: 30,
      kind: 'ventilation',
      forRole: 'technician',
    });
    const number = await s.as(technician, (act) => addDuty(act, command));
    const standing = async () =>
      (await listDuties(readAs(technician))).find((duty) => duty.number === number)?.standing.state;
    expect(await standing()).toBe('due');
    const entry = await s.as(technician, (act) => dutyDone(act, number));
    expect(await standing()).toBe('done');
    await s.as(technician, (act) => amend(act, entry, { what: 'Wrong filter', strike: true }));
    expect(await standing()).toBe('due');
  });

  it('refuses what members could not write, a duty of another kind, one that has ended', async () => {
    const wrong = { name: 'Fans', everyDays: 30, kind: 'ventilation', forRole: 'member' } as const;
    await expect(s.as(technician, (act) => addDuty(act, wrong))).rejects.toThrow('technicians only');
    const number = await s.as(technician, (act) => addDuty(act, { ...wrong, forRole: 'technician' }));
    const other = { kind: 'wet-cleaning', place: 'x', duty: number };
    expect((await s.api(technician, 'POST', '/safety-log', other)).statusCode).toBe(422);
    expect((await send(technician, `/safety/duties/${number}/end`, {})).statusCode).toBe(303);
    expect((await send(technician, `/safety/duties/${number}/end`, {})).statusCode).toBe(409);
    expect((await send(technician, `/safety/duties/${number}/done`, {})).statusCode).toBe(404);
    for (const everyDays of ['-1', '1.5', '99999', 'x', ''])
      expect(
        (await send(technician, '/safety/duties', { ...wrong, forRole: 'technician', everyDays })).statusCode,
        everyDays,
      ).toBe(422);
  });
});

describe('what is due', () => {
  it('an open entry, then a follow-up from its day on, then nothing once it is closed', async () => {
    const number = await aSpill(member, { place: 'Due corner' });
    const about = async () =>
      (await safetyDue(readAs(technician))).filter(({ act }) => act.href === `/safety/log/${number}`);
    expect((await about())[0]?.what).toContain('Nobody has taken it on');
    const dueOn = addDays(await today(), 2);
    await s.as(technician, (act) => followUp(act, number, { what: 'A mat', owner: manager.email, dueOn }));
    expect(await about()).toEqual([]);
    s.clock.forward(3 * DAY);
    expect((await about())[0]?.title).toBe('Spill: follow-up overdue');
    expect((await s.visit(technician, '/today')).body).toContain('follow-up overdue');
    expect((await s.visit(technician, `/safety/log/${number}`)).body).toContain('Overdue: Maro');
    await s.as(manager, (act) => close(act, number, { what: 'Mat laid' }));
    expect(await about()).toEqual([]);
  });

  it('whoever wrote it finds it on the safety page while it is open, nobody else does', async () => {
    const number = await aSpill(other, { place: 'Own corner' });
    expect((await s.visit(other, '/safety')).body).toContain(`/safety/log/${number}`);
    expect((await s.visit(member, '/safety')).body).not.toContain(`/safety/log/${number}"`);
    await s.as(technician, (act) => close(act, number, { what: 'Wiped' }));
    expect((await s.visit(other, '/safety')).body).not.toContain(`/safety/log/${number}"`);
  });

  it('more open entries than it lists are said to be there', async () => {
    const own = await aStudio();
    const spill = entryBody.parse({ kind: 'spill', place: 'Glaze sink', what: 'Half a litre on the floor' });
    const more = async () =>
      (
        await safetyDue({ tx: own.database.db, actor: own.people.technician.caller, now: own.clock.now() })
      ).filter(({ act }) => act.href === '/safety/log?open=yes').length;
    for (let i = 0; i < 50; i++) await own.as(own.people.member, (act) => logEntry(act, spill));
    expect(await more()).toBe(0);
    await own.as(own.people.member, (act) => logEntry(act, spill));
    expect(await more()).toBe(1);
  });

  it('is not for members', async () => {
    await expect(safetyDue(readAs(member))).rejects.toThrow();
    expect((await s.visit(member, '/safety')).body).not.toContain('Needs a technician');
  });
});
