import { beforeAll, describe, expect, it } from 'vitest';
import { KINDS, type KindPath } from '../../server/buckets/kinds.ts';
import { recordAct, voidEvent } from '../../server/buckets/service/index.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import { parseCsv } from '../helpers/csv.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let studio: Studio;
let member: Person;
let technician: Person;
let manager: Person;

beforeAll(async () => {
  studio = await aStudio();
  ({ member, technician, manager } = studio.people);
});

const record = (code: string, path: KindPath, body: object, who = technician) =>
  studio.as(who, (act) => recordAct(act, code, path, KINDS[path].body.parse(body) as never));
const ago = (ms: number) => new Date(studio.clock.now() - ms).toISOString();
const day = (daysAgo: number) => toWallTime(studio.clock.now() - daysAgo * DAY, 'Europe/London').slice(0, 10);
const note = (code: string, words: string, daysAgo = 0, who = technician) =>
  record(code, 'notes', { note: words, happenedAt: ago(daysAgo * DAY) }, who);
const page = async (query: string, who = member) => (await studio.visit(who, `/history?${query}`)).body;

/** A file of ours: its rows behind the header, and where a column stands in them. */
async function file(query = '', own: Studio = studio, who: Person = technician) {
  const answer = await own.visit(who, `/history.csv?${query}`);
  const [header = [], ...rows] = parseCsv(answer.body.replace(/^\uFEFF/, ''));
  for (const row of rows) expect(row).toHaveLength(header.length);
  return { answer, header, rows, column: (name: string) => header.indexOf(name) };
}

describe('the history', () => {
  it('shows every bucket, newest first, with who did what and what was struck out', async () => {
    const own = await aStudio();
    const { member: ida, technician: wren } = own.people;
    const a = await own.aBucket({ sg: 1.46, stirredMinutesAgo: 90, name: 'Kelp' });
    const b = await own.aBucket({ name: 'Moss', stirredMinutesAgo: 300 });
    await own.as(ida, (act) => recordAct(act, b, 'top-ups', { kind: 'water', litres: 0.5 }));
    own.clock.forward(MINUTE);
    const wrong = await own.as(ida, (act) => recordAct(act, a, 'levels', { litres: 3 }));
    own.clock.forward(MINUTE);
    await own.as(wren, (act) => voidEvent(act, a, wrong.event.number, 'Another bucket'));
    const { body } = await own.visit(ida, '/history');
    expect(body).toMatch(
      /Struck out: Level 3 L.*“Another bucket”.*Kelp.*Wren.*Level 3 L.*\(struck out\).*Ida.*Added 0\.5 L.*Moss/s,
    );
    expect(body).toContain('Stirred. SG 1.46');
    expect(body).not.toContain('Stirred to the bottom');
    expect((await own.visit(ida, '/history?kind=stir')).body).toContain('Stirred to the bottom');
  });

  it('filters by bucket, person, kind and day, each and together', async () => {
    const [a, b] = [await studio.aBucket(), await studio.aBucket({ name: 'Other' })];
    await note(a, 'alpha', 3);
    await note(b, 'beta', 2);
    await note(b, 'gamma', 1, member);
    const seen = async (query: string) => {
      const body = await page(query);
      return ['alpha', 'beta', 'gamma'].filter((word) => body.includes(`“${word}”`));
    };
    expect(await seen('')).toEqual(['alpha', 'beta', 'gamma']);
    expect(await seen(`bucket=${a}`)).toEqual(['alpha']);
    expect(await seen(`bucket=${b.toLowerCase()}`)).toEqual(['beta', 'gamma']);
    expect(await seen('person=Ida')).toEqual(['gamma']);
    expect(await seen('kind=note&person=Wren')).toEqual(['alpha', 'beta']);
    expect(await seen('kind=reading')).toEqual([]);
    expect(await seen(`from=${day(2)}`)).toEqual(['beta', 'gamma']);
    expect(await seen(`to=${day(2)}`)).toEqual(['alpha', 'beta']);
    expect(await seen(`from=${day(2)}&to=${day(2)}`)).toEqual(['beta']);
    expect(await seen(`bucket=${b}&person=Ida&kind=note&from=${day(1)}&to=${day(1)}`)).toEqual(['gamma']);
    expect(await seen('bucket=&person=&kind=&from=&to=')).toEqual(['alpha', 'beta', 'gamma']);
    expect(await seen('bucket=NOBODY')).toEqual([]);
  });

  it('counts a day from midnight to midnight of the studio, also when clocks change', async () => {
    const code = await studio.aBucket();
    // British clocks go forward on 29 March 2026 at 01:00 UTC and back on 25 October 2026 at 01:00 UTC.
    for (const [at, words] of [
      ['2026-03-28T23:59:59Z', 'eve'],
      ['2026-03-29T00:00:00Z', 'first'],
      ['2026-03-29T22:59:59Z', 'last'],
      ['2026-03-29T23:00:00Z', 'next'],
    ] as const)
      await record(code, 'notes', { note: words, happenedAt: at });
    const body = await page(`bucket=${code}&from=2026-03-29&to=2026-03-29`);
    expect(['eve', 'first', 'last', 'next'].filter((word) => body.includes(`“${word}”`))).toEqual([
      'first',
      'last',
    ]);
  });

  it('is paged, and no row is lost or shown twice where many share their time', async () => {
    const code = await studio.aBucket({ litres: null });
    const happenedAt = ago(5 * HOUR);
    for (let i = 0; i < 120; i++) await record(code, 'notes', { note: `row-${i}.`, happenedAt });
    const seen: string[] = [];
    let next: string | undefined = `/history?bucket=${code}`;
    for (let pages = 0; next; pages++) {
      expect(pages).toBeLessThan(4);
      const { body } = await studio.visit(member, next);
      seen.push(...[...body.matchAll(/“(row-\d+)\.”/g)].map((match) => match[1] as string));
      next = /href="([^"]*)">Older</.exec(body)?.[1]?.replaceAll('&amp;', '&');
    }
    expect(seen).toEqual(Array.from({ length: 120 }, (_, i) => `row-${119 - i}`));
  });

  it.each([
    ['from=2026-13-01', 'A date such as'],
    ['from=2026-02-30', 'A date such as'],
    ['to=9999-12-31', 'A date such as'],
    ['to=soon', 'A date such as'],
    ['from=2026-03-07&to=2026-03-06', 'This lies before the first day.'],
    ['kind=dragons', 'One of '],
    ['bucket=%3Cb%3E', 'One to twelve letters'],
    ['person=%00', 'cannot be stored'],
  ])('says beside the field what is wrong with %s', async (query, words) => {
    const answer = await studio.visit(member, `/history?${query}`);
    expect(answer.statusCode).toBe(422);
    expect(answer.body).toContain('One thing needs another look');
    expect(answer.body).toContain(words);
    expect(answer.body).toMatch(/<details class="more" open/);
    expect((await studio.visit(technician, `/history.csv?${query}`)).statusCode).toBe(422);
  });

  it('keeps what was chosen, and takes any page of it for what it is', async () => {
    const code = await studio.aBucket();
    const body = await page(`bucket=${code}&from=${day(4)}&kind=note`);
    expect(body).toMatch(new RegExp(`<option value="${code}" selected`));
    expect(body).toContain(`value="${day(4)}"`);
    for (const after of ['x', '1.NOBODY.1', `99999999999999.${code}.999999999`, `0.${code}.0`, "1'.2.3"])
      expect((await studio.visit(member, `/history?after=${encodeURIComponent(after)}`)).statusCode).toBe(
        200,
      );
  });

  it('is where a bucket’s ledger leads', async () => {
    const code = await studio.aBucket();
    const { body } = await studio.visit(member, `/buckets/${code}/ledger`);
    expect(body).toContain(`href="/history?bucket=${code}"`);
  });
});

describe('the file', () => {
  it('is a technician’s, and is not offered to a member', async () => {
    expect((await studio.visit(member, '/history.csv')).statusCode).toBe(403);
    expect((await studio.visit(manager, '/history.csv')).statusCode).toBe(200);
    const code = await studio.aBucket({ sg: 1.46 });
    expect(await page(`bucket=${code}`)).not.toContain('history.csv');
    expect(await page(`bucket=${code}`, technician)).toContain(`href="/history.csv?bucket=${code}"`);
  });

  it('is CSV to be kept, in UTF-8, under a name with its day', async () => {
    const { answer, header, rows } = await file();
    expect(answer.headers['content-type']).toBe('text/csv; charset=utf-8; header=present');
    expect(answer.headers['content-disposition']).toBe(`attachment; filename="history-${day(0)}.csv"`);
    expect(answer.headers['x-content-type-options']).toBe('nosniff');
    expect(answer.headers['cache-control']).toBe('no-store');
    expect([...answer.rawPayload.subarray(0, 3)]).toEqual([0xef, 0xbb, 0xbf]);
    expect(header.slice(0, 5)).toEqual(['bucket', 'code', 'number', 'studio time', 'happened at']);
    expect(rows.length).toBeGreaterThan(120);
  });

  it('holds the rows of the filter, numbers as numbers, in SI whoever asks', async () => {
    const code = await studio.aBucket({ name: 'Numbers', sg: 1.46, stirredMinutesAgo: 60 });
    await record(code, 'top-ups', { kind: 'water', litres: 1.75 });
    await record(code, 'dippings', { pieces: 3, litres: 0.25, happenedAt: ago(HOUR / 2) });
    const { rows, column } = await file(`bucket=${code}`);
    expect(rows.map((row) => row[column('kind')])).toEqual(['addition', 'dipping', 'reading', 'setup']);
    const [added = [], dipped = [], read = []] = rows;
    expect(added[column('litres')]).toBe('1.75');
    expect(dipped[column('pieces')]).toBe('3');
    expect(read[column('specific gravity')]).toBe('1.46');
    expect(read[column('stirred')]).toBe('yes');
    expect(read[column('method')]).toBe('weighed');
    expect(read[column('happened at')]).toBe(ago(HOUR));
    expect(read[column('studio time')]).toBe(
      toWallTime(studio.clock.now() - HOUR, 'Europe/London').replace('T', ' '),
    );
    expect((await file(`bucket=${code}&kind=dipping`)).rows).toHaveLength(1);
    expect((await file('bucket=NOBODY')).rows).toEqual([]);
  });

  it('lets no name and no note run in a spreadsheet or break out of its field', async () => {
    const own = await aStudio();
    const mallory = await own.aPerson('member', '=cmd|"/C calc"!A0');
    const code = await own.aBucket({ name: '+Kelp, "wet"', litres: null });
    for (const words of ['@SUM(A1)', '-1+1\r\n=2', 'plain; fine', '"quoted"'])
      await own.as(mallory, (act) => recordAct(act, code, 'notes', { note: words }));
    const { answer } = await file('', own, own.people.technician);
    expect(answer.body).toContain(`"'=cmd|""/C calc""!A0"`);
    expect(answer.body).toContain(`"'+Kelp, ""wet"""`);
    expect(answer.body).toContain(`,'@SUM(A1),`);
    expect(answer.body).toContain(`,"'-1+1\r\n=2",`);
    expect(answer.body).toContain(`,"plain; fine",`);
    expect(answer.body).toContain(`,"""quoted""",`);
  });

  it('is sent in pieces, none of them lost between two', async () => {
    const own = await aStudio();
    const code = await own.aBucket({ litres: null });
    const { technician: wren } = own.people;
    const happenedAt = own.clock.now() - DAY;
    await own.as(wren, async (act) => {
      for (let i = 0; i < 510; i++) await recordAct(act, code, 'notes', { note: `n${i}`, happenedAt });
    });
    const { rows, column } = await file('', own, wren);
    const notes = rows.map((row) => row[column('note')]);
    expect(notes).toEqual(Array.from({ length: 510 }, (_, i) => `n${509 - i}`));
  });
});
