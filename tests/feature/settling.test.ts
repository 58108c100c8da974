import { desc } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { WATER_20 } from '../../server/buckets/gravity.ts';
import { findBucket, showSettling } from '../../server/buckets/service/index.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { audit } from '../../server/core/schema.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

let s: Studio;
let member: Person;
let technician: Person;

beforeAll(async () => {
  s = await aStudio();
  ({ member, technician } = s.people);
});

let keys = 0;
const send = (who: Person, code: string, fields: Record<string, string>, path = 'settling') =>
  s.submit(who, `/buckets/${code}/${path}`, { key: `settling-form-${++keys}`, ...fields });
const seen = (code: string) => s.as(technician, (act) => showSettling(act, code));
const interval = async (code: string) =>
  (await s.as(technician, (act) => findBucket(act, code))).stirIntervalMinutes;
/** After ten minutes of losing `k` a minute. */
const tenLater = (fresh: number, k: number) => WATER_20 + (fresh - WATER_20) * Math.exp(-10 * k);
const pair = (code: string, fresh: number, later: number) =>
  s.api(member, 'POST', `/buckets/${code}/settlings`, { fresh, later });

describe('a pair', () => {
  it('may be entered together; ten minutes unless said otherwise', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const sent = await send(member, code, { fresh: '1,46', later: '1,44' });
    expect(sent.statusCode).toBe(303);
    const { body } = await s.visit(member, sent.headers.location as string);
    expect(body).toContain('Pair recorded: 1.46, then 1.44 after 10 min.');
    expect((await seen(code)).pairs).toMatchObject([{ fresh: 1.46, later: 1.44, minutes: 10, used: true }]);
    expect((await s.visit(member, `/buckets/${code}/ledger`)).body).toContain(
      'Settled from 1.46 to 1.44 at the top in 10 min',
    );
  });

  it('may be saved in two steps: the first waits, by the clock on the wall, whoever takes the second', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const sent = await send(member, code, { fresh: '1.46', later: '' });
    const first = await s.visit(member, sent.headers.location as string);
    expect(first.body).toContain('Leave the bucket alone now.');
    expect(first.body).toContain('Now the second of the pair');
    const number = /name="first" value="(\d+)"/.exec(first.body)?.[1] as string;

    s.clock.forward(12 * MINUTE);
    const wrong = await send(technician, code, { first: number, later: 'low', minutes: '' });
    expect(wrong.statusCode).toBe(422);
    expect(wrong.body).toContain('Type a number.');
    expect(wrong.body).toContain('value="low"');
    expect((await send(technician, code, { first: number, later: '1.44', minutes: '' })).statusCode).toBe(
      303,
    );
    const { pairs, open } = await seen(code);
    expect(open).toBeNull();
    expect(pairs).toMatchObject([{ fresh: 1.46, later: 1.44, minutes: 12, by: 'Wren' }]);

    const again = await send(technician, code, { first: number, later: '1.43', minutes: '' });
    expect(again.statusCode).toBe(409);
    expect(again.body).toContain('Begin again.');
    expect((await seen(code)).pairs).toHaveLength(1);
  });

  it('is over when somebody stirs, dips after stirring, or hours pass', async () => {
    for (const end of [
      (code: string) => s.api(member, 'POST', `/buckets/${code}/stirs`, {}),
      (code: string) => s.api(member, 'POST', `/buckets/${code}/dippings`, { stirred: true }),
      async () => s.clock.forward(4 * HOUR),
    ]) {
      const code = await s.aBucket({ sg: 1.46 });
      s.clock.forward(MINUTE);
      await s.api(member, 'POST', `/buckets/${code}/settlings`, { fresh: 1.46 });
      const number = (await seen(code)).open?.number;
      expect(number).toBeDefined();
      s.clock.forward(MINUTE);
      await end(code);
      expect((await seen(code)).open).toBeNull();
      const late = await send(member, code, { first: String(number), later: '1.44' });
      expect(late.statusCode).toBe(409);
    }
  });

  it('asks for the minutes when the first was taken just now', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    await s.api(member, 'POST', `/buckets/${code}/settlings`, { fresh: 1.46 });
    const first = String((await seen(code)).open?.number);
    const soon = await send(member, code, { first, later: '1.44' });
    expect(soon.statusCode).toBe(422);
    expect(soon.body).toContain('The first is not a minute old');
    expect((await send(member, code, { first, later: '1.44', minutes: '9,5' })).statusCode).toBe(303);
    expect((await seen(code)).pairs[0]?.minutes).toBe(9.5);
  });

  it.each([
    [{}, 'fresh'],
    [{ fresh: 0.9 }, 'fresh'],
    [{ fresh: 2.7 }, 'fresh'],
    [{ fresh: 1.46, later: 3 }, 'later'],
    [{ fresh: 1.46, later: 1.44, minutes: 0 }, 'minutes'],
    [{ fresh: 1.46, later: 1.44, minutes: 241 }, 'minutes'],
    [{ fresh: 1.46, later: null }, 'later'],
  ])('%j is refused', async (body, path) => {
    const code = await s.aBucket({ sg: 1.46 });
    const answer = await s.api(member, 'POST', `/buckets/${code}/settlings`, body);
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors[0].path).toBe(path);
  });

  it('that went the wrong way is kept, and counted as "did not settle"', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    await pair(code, 1.46, 1.47);
    expect((await seen(code)).found).toMatchObject({ pairs: 1, stood: 1, minutes: null });
    expect((await s.visit(technician, `/buckets/${code}/settling`)).body).toContain('did not settle');
  });

  it('changes nothing of what is known of the bucket', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const before = (await s.api(member, 'GET', `/buckets/${code}`)).json();
    await pair(code, 1.46, 1.4);
    expect((await s.api(member, 'GET', `/buckets/${code}`)).json()).toEqual(before);
  });

  it('struck out, is gone from the evidence', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const { event } = (await pair(code, 1.46, 1.4)).json();
    await s.api(member, 'POST', `/buckets/${code}/events/${event.number}/void`, { reason: 'Misread' });
    expect(await seen(code)).toMatchObject({ pairs: [], found: null });
  });
});

describe('the measured interval', () => {
  it('is proposed from three pairs, adopted in one tap by a technician, and audited', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const page = async (who: Person) => (await s.visit(who, `/buckets/${code}/settling`)).body;
    // A quarter of 1.44 to 1.48 is 0.01 of the 0.46179 over water: −ln(1 − 0.02165) = 0.02189; at 0.003 a minute
    // that is lost in 7.3 min.
    for (const k of [0.003, 0.0029]) await pair(code, 1.46, tenLater(1.46, k));
    expect(await page(technician)).toContain('3 pairs make a proposal');
    await pair(code, 1.465, tenLater(1.465, 0.02));
    expect(await page(technician)).toContain('in 7.3 min: the middle of 3 pairs');
    expect(await page(technician)).toContain('Stir every 7 min from now on');
    expect(await page(member)).toContain('every 7 min');
    expect(await page(member)).not.toContain('from now on');

    expect((await send(member, code, { stirInterval: '7' }, 'settling/adopt')).statusCode).toBe(403);
    const other = await send(technician, code, { stirInterval: '8' }, 'settling/adopt');
    expect(other.statusCode).toBe(409);
    expect(other.body).toContain('The measured interval is another one by now.');
    expect(await interval(code)).toBe(5);

    const taken = await send(technician, code, { stirInterval: '7' }, 'settling/adopt');
    expect(taken.statusCode).toBe(303);
    expect(await interval(code)).toBe(7);
    expect(await page(technician)).toContain('That is what the pairs propose too.');
    const [row] = await s.database.db.select().from(audit).orderBy(desc(audit.id)).limit(1);
    expect(row).toMatchObject({
      act: 'bucket.stir-interval',
      subject: `bucket:${code}`,
      by: technician.id,
      details: { from: 5, to: 7, pairs: 3 },
    });
  });

  it('goes by the pairs since the glaze was changed, once there are three', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    for (let i = 0; i < 3; i++) await pair(code, 1.46, tenLater(1.46, 0.003));
    s.clock.forward(DAY);
    await s.api(member, 'POST', `/buckets/${code}/top-ups`, { kind: 'water', litres: 0.1 });
    for (let i = 0; i < 2; i++) await pair(code, 1.46, tenLater(1.46, 0.001));
    const mixed = await seen(code);
    expect(mixed).toMatchObject({ sinceChange: false, proposed: 7 });
    expect((await s.visit(technician, `/buckets/${code}/settling`)).body).toContain(
      'Not all of them were taken since the glaze was last changed.',
    );
    await pair(code, 1.46, tenLater(1.46, 0.001));
    const fresh = await seen(code);
    expect(fresh).toMatchObject({ sinceChange: true, proposed: 20 });
    expect(fresh.pairs.map(({ used }) => used)).toEqual([true, true, true, false, false, false]);
  });
});
