import { beforeAll, beforeEach, describe, expect, test } from 'vitest';
import { recordAct } from '../../server/buckets/service/index.ts';
import { DAY, HOUR, MINUTE } from '../../server/core/clock.ts';
import { personMark } from '../../server/core/late.ts';
import { aStudio, type Person, type Studio } from '../helpers/studio.ts';

describe('a form that waited for the network', () => {
  let studio: Studio;
  let member: Person;
  beforeAll(async () => {
    studio = await aStudio();
    member = studio.people.member;
  });
  beforeEach(() => studio.clock.forward(HOUR));

  interface Sent {
    by?: Person;
    as?: string;
    agoMs?: number;
    toldHeld?: boolean;
    key?: string;
  }
  let serial = 0;

  const send = (path: string, fields: Record<string, string>, how: Sent = {}) => {
    const { by = member, as = personMark(by.id), agoMs = 20 * MINUTE, toldHeld = false, key } = how;
    const madeAt = new Date(studio.clock.now() - agoMs).toISOString();
    return studio.submit(
      by,
      path,
      { key: key ?? `late-key-${++serial}`, ...fields },
      {
        accept: 'application/problem+json',
        'hx-request-type': 'partial',
        'wareboard-late': JSON.stringify({ madeAt, as, toldHeld }),
      },
    );
  };

  async function recorded(code: string): Promise<{ kind: string; happenedAt: string; recordedAt: string }[]> {
    const { events } = (await studio.api(studio.people.technician, 'GET', `/buckets/${code}/events`)).json();
    return events.reverse().slice(3);
  }

  const READING = { method: 'weighed', grams: '1465', millilitres: '1000' };
  test.each([
    ['stirs', {}, 'stir'],
    ['dippings', { stirred: 'yes' }, 'dipping'],
    ['top-ups', { kind: 'water', litres: '0.5' }, 'addition'],
    ['add', { kind: 'water', litres: '0.5' }, 'addition'],
    ['check', READING, 'reading'],
    ['dip', { pieces: '3' }, 'dipping'],
    ['levels', { quarters: '3' }, 'level'],
    ['level', { litres: '17' }, 'level'],
    ['flow', { seconds: '12' }, 'flow'],
    ['problem', { problem: 'smell' }, 'note'],
  ])('to /%s happened when it was made', async (path, fields, kind) => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 50 });
    const answer = await send(`/buckets/${code}/${path}`, fields as Record<string, string>);
    expect(answer.statusCode).toBe(200);
    expect(answer.headers['hx-location']).toMatch(new RegExp(`^/buckets/${code}`));
    const [last] = (await recorded(code)).slice(-1);
    expect(last).toMatchObject({
      kind,
      happenedAt: new Date(studio.clock.now() - 20 * MINUTE).toISOString(),
      recordedAt: new Date(studio.clock.now()).toISOString(),
    });
  });

  test('keeps the time that was typed', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 50 });
    const typed = new Date(studio.clock.now() - 40 * MINUTE);
    typed.setSeconds(0, 0);
    const wall = new Intl.DateTimeFormat('sv-SE', {
      timeZone: 'Europe/London',
      dateStyle: 'short',
      timeStyle: 'short',
    }).format(typed);
    await send(`/buckets/${code}/add`, { kind: 'water', litres: '0.5', happenedAt: wall.replace(' ', 'T') });
    expect((await recorded(code))[0]?.happenedAt).toBe(typed.toISOString());
  });

  test('sent again it counts once and is answered the same, whether or not the first was late', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 50 });
    const path = `/buckets/${code}/stirs`;
    const first = await studio.submit(member, path, { key: 'lost-answer-1' });
    expect(first.statusCode).toBe(303);
    for (const agoMs of [MINUTE, 2 * MINUTE]) {
      const again = await send(path, {}, { key: 'lost-answer-1', agoMs });
      expect(again.headers['hx-location']).toBe(first.headers.location);
    }
    expect(await recorded(code)).toHaveLength(1);
  });

  test('is refused in terms that the sender reads', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 50 });
    const refused = await send(`/buckets/${code}/add`, { kind: 'water', litres: 'much' });
    expect(refused.statusCode).toBe(422);
    expect(refused.headers['content-type']).toMatch(/^application\/problem\+json/);
    expect(refused.json().errors).toMatchObject([{ path: 'litres' }]);
    const odd = await send(`/buckets/${code}/check`, { ...READING, grams: '1300' });
    expect(odd.statusCode).toBe(409);
    expect(odd.json()).toMatchObject({ doubtful: true, errors: [{ path: 'grams' }] });
    expect(odd.json().detail).not.toContain('"confirm"');
    const nowhere = await send('/buckets/NOWHERE/stirs', {});
    expect([nowhere.statusCode, nowhere.json().status]).toEqual([404, 404]);
    expect(await recorded(code)).toEqual([]);
    const yes = await send(`/buckets/${code}/check`, { ...READING, grams: '1300', confirm: '1300' });
    expect(yes.statusCode).toBe(200);
  });

  test('is nobody’s but its maker’s', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 50 });
    const path = `/buckets/${code}/stirs`;
    const other = await send(path, {}, { by: studio.people.technician, as: personMark(member.id) });
    expect(other.statusCode).toBe(412);
    const signedOut = await send(path, {}, { by: { ...member, cookie: 'wareboard=gone' } });
    expect([signedOut.statusCode, signedOut.json().status]).toEqual([401, 401]);
    expect(await recorded(code)).toEqual([]);
  });

  test.each(['', 'x', '{}', '[]', '{"madeAt":1,"as":"x","toldHeld":false}', '{"madeAt":"2026-03-07"}'])(
    'says %j of itself: refused, and nothing is recorded',
    async (late) => {
      const code = await studio.aBucket({ sg: 1.46 });
      const answer = await studio.submit(
        member,
        `/buckets/${code}/stirs`,
        { key: `odd-late-${++serial}` },
        { 'wareboard-late': late },
      );
      expect(answer.statusCode).toBe(400);
      expect(await recorded(code)).toEqual([]);
    },
  );

  test('is too old for a member after two days, for anybody once its key may be forgotten', async () => {
    const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 50 });
    const path = `/buckets/${code}/stirs`;
    const { technician } = studio.people;
    const told = async (how: Sent) => {
      const answer = await send(path, {}, how);
      return [answer.statusCode, answer.statusCode === 200 ? '' : answer.json().errors[0]];
    };
    expect(await told({ agoMs: 49 * HOUR })).toMatchObject([422, { path: 'happenedAt' }]);
    expect(await told({ by: technician, agoMs: 49 * HOUR })).toEqual([200, '']);
    expect(await told({ by: technician, agoMs: 26 * DAY })).toMatchObject([422, { path: 'happenedAt' }]);
    expect(await told({ agoMs: -HOUR })).toMatchObject([422, { message: 'This lies in the future.' }]);
    expect(await told({ agoMs: -MINUTE }), 'a clock that runs ahead').toEqual([200, '']);
  });

  describe('to a bucket that is out of use', () => {
    const stop = (code: string, agoMs: number) =>
      studio.as(studio.people.technician, (act) =>
        recordAct(act, code, 'problems', {
          problem: 'contaminated',
          happenedAt: studio.clock.now() - agoMs,
        }),
      );

    test.each([
      ['stirs', {}],
      ['add', { kind: 'water', litres: '0.5' }],
      ['check', READING],
    ])('asks once, of /%s', async (path, fields) => {
      const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 50 });
      await stop(code, 30 * MINUTE);
      const at = `/buckets/${code}/${path}`;
      const asked = await send(at, fields as Record<string, string>);
      expect(asked.statusCode).toBe(409);
      expect(asked.json()).toMatchObject({ doubtful: true, errors: [{ path: '' }] });
      expect(await recorded(code)).toHaveLength(1);
      const yes = await send(at, fields as Record<string, string>, { toldHeld: true });
      expect(yes.statusCode).toBe(200);
    });

    test('refuses a dipping, and asks nothing of what was done before', async () => {
      const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 50 });
      await stop(code, 10 * MINUTE);
      expect((await send(`/buckets/${code}/stirs`, {})).statusCode).toBe(200);
      const dipped = await send(`/buckets/${code}/dippings`, {}, { agoMs: MINUTE, toldHeld: true });
      expect(dipped.statusCode).toBe(409);
      expect(dipped.json().doubtful).toBeUndefined();
      expect((await send(`/buckets/${code}/dippings`, {})).statusCode, 'dipped before that').toBe(200);
    });

    test('asks nothing of what is recorded at once', async () => {
      const code = await studio.aBucket({ sg: 1.46, stirredMinutesAgo: 50 });
      await stop(code, 30 * MINUTE);
      const answer = await studio.submit(member, `/buckets/${code}/stirs`, { key: 'at-once-1' });
      expect(answer.statusCode).toBe(303);
    });
  });

  test('every page says whose it is, as far as it is known', async () => {
    const mark = (html: string) => /<body[^>]* data-person="([^"]*)"/.exec(html)?.[1];
    expect(mark((await studio.visit(member, '/wall')).body)).toBe(`${personMark(member.id)}:metric:Ida`);
    expect(mark((await studio.visit(null, '/sign-in')).body)).toBe('nobody');
    const broken = await studio.submit(member, '/wall', {}, { origin: 'http://elsewhere.example' });
    expect([broken.statusCode, mark(broken.body)]).toEqual([403, undefined]);
    const missing = await studio.visit(member, '/buckets/NOWHERE');
    expect([missing.statusCode, mark(missing.body)?.split(':')[0]]).toEqual([404, personMark(member.id)]);
  });

  test('the service worker may be asked for by anybody and is never kept unasked', async () => {
    const { statusCode, headers } = await studio.visit(null, '/offline.js');
    expect(statusCode).toBe(200);
    expect(headers).toMatchObject({
      'cache-control': 'no-cache',
      'content-type': 'text/javascript; charset=utf-8',
      'x-content-type-options': 'nosniff',
    });
  });
});
