import { beforeAll, describe, expect, it } from 'vitest';
import { KINDS, type KindPath } from '../../server/buckets/kinds.ts';
import {
  addCup,
  addFloat,
  calibrateFloat,
  findBucket,
  listEvents,
  lookRound,
  recordAct,
  voidEvent,
} from '../../server/buckets/service/index.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let studio: Studio;
let member: Person;
let technician: Person;

beforeAll(async () => {
  studio = await aStudio();
  ({ member, technician } = studio.people);
});

const facts = async (code: string) => (await studio.as(technician, (act) => findBucket(act, code))).facts;
const readings = async (code: string) => {
  const all = await studio.as(technician, (act) => listEvents(act, code, { limit: 50, before: null }));
  return all.events.filter(({ entry, voided }) => entry.kind === 'reading' && !voided);
};
const record = (code: string, path: KindPath, body: object) =>
  studio.as(technician, (act) => recordAct(act, code, path, KINDS[path].body.parse(body) as never));
const stopOf = async (code: string) =>
  (await studio.as(technician, lookRound)).find(({ bucket }) => bucket.code === code);
const ago = (ms: number) => new Date(studio.clock.now() - ms).toISOString();
/** What the studio's wall showed so many minutes ago: its day and its time. */
const wall = (minutesAgo: number) => {
  const [date = '', time = ''] = toWallTime(studio.clock.now() - minutesAgo * MINUTE, 'Europe/London').split(
    'T',
  );
  return { date, time };
};

describe('the list', () => {
  it('has only what needs a check, by place and then by name, each with its reason', async () => {
    const own = await aStudio();
    await own.aBucket({ code: 'FINE', sg: 1.46, name: 'Able' });
    await own.aBucket({ code: 'LATE', sg: 1.5, name: 'Zest' });
    await own.aBucket({ code: 'NEW', name: 'Birch' });
    const { body } = await own.visit(own.people.technician, '/round');
    expect(body).toContain('2 of 3 buckets need a check');
    expect(body).toMatch(/Birch.*never read.*Zest.*too thick: 1\.50, read just now/s);
    expect(body).not.toContain('Able');
    expect(body).toContain('href="/round/check?of=NEW.LATE&amp;at=0&amp;since=');
  });

  it('says so when there is nothing to do, and when there is no bucket', async () => {
    const own = await aStudio();
    expect((await own.visit(own.people.technician, '/round')).body).toContain('There is no bucket yet.');
    await own.aBucket({ sg: 1.46 });
    expect((await own.visit(own.people.technician, '/round')).body).toContain('No bucket needs a check');
  });

  it('counts what was dipped since the last reading, not what was struck out', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 300 });
    await record(code, 'dippings', { pieces: 4, litres: 2, happenedAt: ago(400 * MINUTE) });
    await record(code, 'dippings', { pieces: 3, litres: 1.5, happenedAt: ago(60 * MINUTE) });
    expect(await stopOf(code)).toMatchObject({ why: [], bucket: { used: { pieces: 3, litres: 1.5 } } });
    const more = await record(code, 'dippings', { pieces: 2, litres: 0.5 });
    expect((await stopOf(code))?.why).toEqual(['used']);
    await studio.as(technician, (act) => voidEvent(act, code, more.event.number, 'Wrong bucket'));
    expect((await stopOf(code))?.why).toEqual([]);
  });

  it('has a reported problem until somebody puts it right', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    await record(code, 'problems', { problem: 'lumps' });
    expect(await stopOf(code)).toMatchObject({ why: ['problem'], bucket: { problem: 'Lumps' } });
    await record(code, 'sievings', {});
    expect((await stopOf(code))?.why).toEqual([]);
  });

  it('is the technician’s', async () => {
    for (const path of ['/round', '/round/check', '/round/done', '/round/sheet', '/round/entry'])
      expect((await studio.visit(member, path)).statusCode, path).toBe(403);
    await expect(studio.as(member, lookRound)).rejects.toThrow('technician');
  });
});

describe('one bucket at a time', () => {
  it('takes one number each, says what came of it, and ends with what is left to do', async () => {
    const thick = await studio.aBucket({ sg: 1.46, name: 'Moss', stirredMinutesAgo: 60 * 24 * 8 });
    const fine = await studio.aBucket({ sg: 1.46, name: 'Kelp', stirredMinutesAgo: 60 * 24 * 8 });
    const skipped = await studio.aBucket({ name: 'Chalk' });
    const at = (step: number) =>
      `/round/check?of=${thick}.${fine}.${skipped}&at=${step}&since=${studio.clock.now()}`;
    const first = await studio.visit(technician, at(0));
    expect(first.body).toContain('1 of 3');
    expect(first.body).toContain('read 8 days ago');
    expect(first.body).toContain('Wanted SG 1.44 to 1.48.');
    expect(first.body).toMatch(/name="millilitres" value="1000"/);
    expect(first.body).toMatch(/name="stirred"[^>]* checked/);

    const typed = { method: 'weighed', millilitres: '1000', stirred: 'yes' };
    const one = await studio.submit(technician, at(0), { ...typed, grams: '1500' });
    expect(one.statusCode).toBe(303);
    const second = await studio.visit(technician, one.headers.location as string);
    expect(second.body).toContain('2 of 3');
    expect(second.body).toContain('Moss: SG 1.500 ± 0.00');
    expect(second.body).toContain('Too thick');

    const two = await studio.submit(technician, at(1), { ...typed, grams: '1460' });
    const third = await studio.visit(technician, two.headers.location as string);
    expect(third.body).toContain('Kelp: SG 1.460');
    const done = await studio.visit(technician, at(3).replace('/check', '/done'));
    expect(done.body).toContain('2 of 3 checked.');
    expect(done.body).toMatch(/Chalk.*not checked.*Check Chalk now/s);
    expect(done.body).toContain('see how full it is, then add');
    expect(await facts(thick)).toMatchObject({ readingGravity: 1.5, stirredAt: studio.clock.now() });
  });

  it('ends where the last bucket was read', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    const typed = { method: 'weighed', millilitres: '1000', grams: '1461', stirred: 'yes' };
    const answer = await studio.submit(technician, `/round/check?of=${code}&at=0&since=1`, typed);
    const next = await studio.visit(technician, answer.headers.location as string);
    expect(next.headers.location).toMatch(/^\/round\/done\?/);
  });

  it('asks about an odd number, keeps it, and records a double tap once', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 1 });
    const at = `/round/check?of=${code}&at=0&since=1`;
    const typed = {
      key: 'one-and-the-same',
      method: 'weighed',
      millilitres: '100',
      grams: '156',
      stirred: 'yes',
    };
    const asked = await studio.submit(technician, at, typed);
    expect(asked.statusCode).toBe(409);
    expect(asked.body).toContain('It makes 1.56, where 1.46 was expected.');
    expect(asked.body).toMatch(/name="grams"[^>]* value="156"/);
    expect(asked.body).toContain('Yes, it is right: next');
    for (let tap = 0; tap < 2; tap++)
      expect((await studio.submit(technician, at, { ...typed, confirm: 'yes' })).statusCode).toBe(303);
    expect(await readings(code)).toHaveLength(2);
  });

  it('keeps what was typed beside what is wrong with it', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    const at = `/round/check?of=${code}&at=0&since=1`;
    for (const grams of ['', 'heavy', '-3', '99']) {
      const answer = await studio.submit(technician, at, { method: 'weighed', millilitres: '100', grams });
      expect(answer.statusCode, grams).toBe(422);
      expect(answer.body).toContain('1 of 1');
      if (grams) expect(answer.body).toContain(`value="${grams}"`);
    }
    expect(await readings(code)).toHaveLength(1);
  });

  it('measures with the studio’s cup, as last time, or with what was chosen for the whole round', async () => {
    const own = await aStudio();
    const { technician: wren } = own.people;
    await own.as(wren, (act) =>
      addCup(act, { code: 'A', name: 'Blue mug', tareG: 100, waterG: 300, waterC: 20, resolutionG: 1 }),
    );
    await own.as(wren, (act) => addFloat(act, { code: 'F', name: 'Bottle' }));
    const points = [
      { millimetres: 100, specificGravity: 1.3 },
      { millimetres: 60, specificGravity: 1.6 },
    ];
    await own.as(wren, (act) => calibrateFloat(act, 'F', { points }));
    const code = await own.aBucket({ name: 'Kelp' });
    const at = `/round/check?of=${code}&at=0`;
    expect((await own.visit(wren, at)).body).toMatch(/name="vessel" value="A".*Blue mug A/s);
    const withFloat = await own.visit(wren, `${at}&with=float:F`);
    expect(withFloat.body).toContain('The float stands at');
    // 1/1.6 + (1/1.3 − 1/1.6)/2 at the middle of both marks: 1.4345
    const typed = { method: 'float', float: 'F', millimetres: '80', stirred: 'yes', confirm: 'yes' };
    const answer = await own.submit(wren, `${at}&with=float:F`, typed);
    expect(answer.headers.location).toContain('with=float%3AF');
    const { facts } = await own.as(wren, (act) => findBucket(act, code));
    expect(facts.readingGravity).toBeCloseTo(2 / (1 / 1.3 + 1 / 1.6), 3);
    expect((await own.visit(wren, at)).body).toContain('The float stands at');
  });

  it('takes the flow beside SG, or alone where only that is wanted', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    const at = `/round/check?of=${code}&at=0&since=1`;
    const both = { method: 'weighed', millilitres: '1000', grams: '1462', stirred: 'yes', seconds: '24' };
    expect((await studio.submit(technician, at, both)).statusCode).toBe(303);
    expect(await facts(code)).toMatchObject({ readingGravity: 1.462, flowSeconds: 24 });
    expect((await studio.submit(technician, at, { seconds: '26' })).statusCode).toBe(303);
    expect(await facts(code)).toMatchObject({ readingGravity: 1.462, flowSeconds: 26 });
    const odd = await studio.submit(technician, at, { ...both, seconds: 'slow' });
    expect(odd.statusCode).toBe(422);
    expect(await readings(code)).toHaveLength(2);
  });

  it('answers any address with a page', async () => {
    const code = await studio.aBucket({ sg: 1.46 });
    for (const query of [
      'of=none',
      'of=..',
      `of=${code}&at=7`,
      'at=x',
      `of=${code}&since=-1&did=999999999`,
      'of=a&of=b',
    ]) {
      for (const page of ['check', 'done', 'sheet', 'entry']) {
        const { statusCode } = await studio.visit(technician, `/round/${page}?${query}`);
        expect([200, 303], `${page}?${query}`).toContain(statusCode);
      }
    }
    const nowhere = await studio.submit(technician, '/round/check?of=&at=0', { grams: '1' });
    expect(nowhere.headers.location).toBe('/round');
    const gone = await studio.submit(technician, '/round/check?of=none&at=0', {
      method: 'weighed',
      millilitres: '100',
      grams: '146',
    });
    expect(gone.statusCode).toBe(404);
  });
});

describe('the sheet', () => {
  const at = (codes: string[]) => `/round/entry?of=${codes.join('.')}`;
  const row = (code: string, number: string, time: string, how = 'weighed:1000') => ({
    [`how-${code}`]: how,
    [`number-${code}`]: number,
    [`time-${code}`]: time,
  });

  it('is printed with the same buckets in the same order', async () => {
    const codes = [await studio.aBucket({ name: 'Zest' }), await studio.aBucket({ name: 'Able' })];
    const { body } = await studio.visit(technician, `/round/sheet?of=${codes.join('.')}`);
    expect(body).toMatch(/Zest.*1\.44 to 1\.48.*Able.*1\.44 to 1\.48/s);
    for (const column of ['Bucket', 'Code', 'Wanted', 'Read', 'Time', 'Initials'])
      expect(body).toContain(`>${column}</th>`);
    expect(body).toContain(`href="/round/entry?of=${codes.join('.')}`);
  });

  it('is typed in later with the times at which each was read', async () => {
    const codes = [await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 600 }), await studio.aBucket()];
    const [a = '', b = ''] = codes;
    const { date, time } = wall(30);
    const page = await studio.visit(technician, at(codes));
    expect(page.body).toContain(`name="date"`);
    expect(page.body).toContain(`value="${wall(0).date}"`);
    const answer = await studio.submit(technician, at(codes), {
      date,
      ...row(a, '1470', time),
      ...row(b, '1.45', time, 'hydrometer:sg'),
      stirred: 'yes',
    });
    expect(answer.statusCode).toBe(303);
    expect(answer.headers.location).toContain(`/round/done?of=${a}.${b}&since=`);
    const done = await studio.visit(technician, answer.headers.location as string);
    expect(done.body).toContain('2 of 2 checked.');
    const read = await facts(a);
    expect(read.readingGravity).toBeCloseTo(1.47, 9);
    expect(toWallTime(read.readingAt ?? 0, 'Europe/London')).toBe(`${date}T${time}`);
    expect((await facts(b)).readingGravity).toBeCloseTo(1.45, 9);
  });

  it('records all or nothing: each row says what is wrong with it, and nothing typed is lost', async () => {
    const names = ['Ash', 'Birch', 'Cedar', 'Dogwood', 'Elm'];
    const codes: string[] = [];
    for (const name of names) codes.push(await studio.aBucket({ name, sg: 1.46, stirredMinutesAgo: 600 }));
    const [good = '', heavy = '', odd = '', late = '', timeless = ''] = codes;
    const { date, time } = wall(60);
    const typed = {
      key: 'the-same-sheet',
      date,
      ...row(good, '1465', time),
      ...row(heavy, 'heavy', time),
      ...row(odd, '1560', time),
      ...row(late, '1460', ''),
      ...row(timeless, '', time),
      stirred: 'yes',
    };
    const refused = await studio.submit(technician, at(codes), typed);
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toContain('3 things need another look');
    expect(refused.body).toMatch(new RegExp(`id="f-number-${heavy}-error">Type a number`));
    expect(refused.body).toMatch(new RegExp(`id="f-time-${late}-error">When was it read`));
    expect(refused.body).toMatch(new RegExp(`id="f-number-${timeless}-error">Type the number, or clear`));
    for (const value of ['1465', 'heavy', '1560', '1460', time])
      expect(refused.body).toContain(`value="${value}"`);
    for (const code of codes) expect(await readings(code)).toHaveLength(1);

    const mended = {
      ...typed,
      ...row(heavy, '1462', time),
      ...row(late, '1460', time),
      ...row(timeless, '', ''),
    };
    const asked = await studio.submit(technician, at(codes), mended);
    expect(asked.statusCode).toBe(422);
    expect(asked.body).toContain('Cedar');
    expect(asked.body).toContain('It makes 1.56, where 1.46 was expected.');
    expect(asked.body).toMatch(new RegExp(`type="checkbox" id="f-confirm-${odd}"`));
    for (const code of codes) expect(await readings(code)).toHaveLength(1);

    for (let sent = 0; sent < 2; sent++) {
      const answer = await studio.submit(technician, at(codes), { ...mended, [`confirm-${odd}`]: 'yes' });
      expect(answer.statusCode).toBe(303);
    }
    for (const code of [good, heavy, odd, late]) expect(await readings(code), code).toHaveLength(2);
    expect(await readings(timeless)).toHaveLength(1);
  });

  it('does not take the same sheet twice, even from another page, unless somebody looked again', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 600 });
    const { date, time } = wall(30);
    const typed = { date, ...row(code, '1465', time), stirred: 'yes' };
    const send = (key: string, more = {}) =>
      studio.submit(technician, at([code]), { key, ...typed, ...more });
    expect((await send('first-page')).statusCode).toBe(303);
    const again = await send('second-page');
    expect(again.statusCode).toBe(422);
    expect(again.body).toContain('One of this time is recorded already, by Wren.');
    expect(await readings(code)).toHaveLength(2);
    expect((await send('third-page', { [`confirm-${code}`]: 'yes' })).statusCode).toBe(303);
    expect(await readings(code)).toHaveLength(3);
  });

  it('takes the flow on the same row', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 600 });
    const { date, time } = wall(20);
    const typed = { date, ...row(code, '1461', time), [`flow-${code}`]: '25', stirred: 'yes' };
    expect((await studio.submit(technician, at([code]), typed)).statusCode).toBe(303);
    expect(await facts(code)).toMatchObject({ flowSeconds: 25, readingGravity: 1.461 });
    const wrong = { ...typed, ...row(code, '', wall(10).time), [`flow-${code}`]: '9999' };
    const refused = await studio.submit(technician, at([code]), wrong);
    expect(refused.statusCode).toBe(422);
    expect(refused.body).toMatch(new RegExp(`id="f-flow-${code}-error">Between`));
  });

  it.each([
    ['an empty sheet', {}, 'No number is filled in yet.'],
    ['the future', { time: '23:59', date: '2099-01-01' }, 'This lies in the future.'],
    ['an hour that was skipped', { time: '01:30', date: '2026-03-29' }, 'No such time that day'],
    ['no day', { time: '08:00', date: '' }, 'No such time that day'],
    ['gear that is gone', { time: '00:00', date: '2026-03-28', how: 'cup:GONE' }, 'no longer in use'],
  ])(
    'refuses %s in words',
    async (_, { time, date, how }: { time?: string; date?: string; how?: string }, words) => {
      const code = await studio.aBucket({ sg: 1.46 });
      const filled = time ? row(code, '1460', time, how) : {};
      const answer = await studio.submit(technician, at([code]), { date: date ?? wall(0).date, ...filled });
      expect(answer.statusCode).toBe(422);
      expect(answer.body).toContain(words);
      expect(await readings(code)).toHaveLength(1);
    },
  );

  it('keeps two sheets that are sent at once apart, whatever the order of their rows', async () => {
    const codes = [await studio.aBucket({ sg: 1.46 }), await studio.aBucket({ sg: 1.46 })];
    const sheet = (order: string[], minutesAgo: number) => {
      const { date, time } = wall(minutesAgo);
      const rows = Object.assign({}, ...order.map((code) => row(code, '1461', time)));
      return studio.submit(technician, at(order), { date, ...rows, stirred: 'yes' });
    };
    studio.clock.forward(2 * HOUR);
    const answers = await Promise.all([sheet(codes, 10), sheet(codes.toReversed(), 20), sheet(codes, 30)]);
    expect(answers.map(({ statusCode }) => statusCode)).toEqual([303, 303, 303]);
    for (const code of codes) expect(await readings(code)).toHaveLength(4);
  });

  it('shows every bucket where the sheet has others', async () => {
    const fine = await studio.aBucket({ sg: 1.46, name: 'Nobody asked for' });
    expect((await studio.visit(technician, '/round/entry')).body).not.toContain(`number-${fine}`);
    const { body } = await studio.visit(technician, '/round/entry?all=yes');
    expect(body).toContain(`number-${fine}`);
  });

  it('is recorded for a day in the past as well', async () => {
    const code = await studio.aBucket();
    const [date = '', time = ''] = toWallTime(studio.clock.now() - 9 * DAY, 'Europe/London').split('T');
    const typed = { date, ...row(code, '1460', time), stirred: 'yes' };
    expect((await studio.submit(technician, at([code]), typed)).statusCode).toBe(303);
  });
});
