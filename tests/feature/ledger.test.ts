import fc from 'fast-check';
import postgres from 'postgres';
import { beforeAll, describe, expect, it } from 'vitest';
import { findRow, refold } from '../../server/buckets/service/index.ts';
import { factsOf } from '../../server/buckets/service/now.ts';
import { MINUTE } from '../../server/core/clock.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;
beforeAll(async () => {
  s = await aStudio();
});

async function stateEqualsFold(code: string): Promise<void> {
  await s.as(s.people.technician, async (act) => {
    const row = await findRow(act, code);
    expect(factsOf(row.state)).toEqual(await refold(act.tx, row));
  });
}

describe('many people at one bucket', () => {
  it('writers at the same moment are serialised: none lost, numbers without gaps, state equal to the fold', async () => {
    const code = await s.aBucket({ sg: 1.5, stirredMinutesAgo: 90 });
    const { member, technician } = s.people;
    const at = (minutes: number) => new Date(s.clock.now() - minutes * MINUTE).toISOString();
    const writes = Array.from({ length: 60 }, (_, i) => {
      const happenedAt = i % 5 === 0 ? { happenedAt: at((i * 7) % 80) } : {};
      const post = (path: string, body: object) =>
        s.api(i % 2 ? member : technician, 'POST', `/buckets/${code}/${path}`, { ...body, ...happenedAt });
      switch (i % 6) {
        case 0:
          return post('top-ups', { kind: 'water', litres: 0.1 });
        case 1:
          return post('dippings', { pieces: 2, stirred: true });
        case 2:
          return post('readings', { method: 'weighed', grams: 149, millilitres: 100, confirm: true });
        case 3:
          return post('stirs', {});
        case 4:
          return post('levels', { litres: 15 + (i % 3) });
        default:
          return post('events/1/void', { reason: `try ${i}` });
      }
    });
    const answers = await Promise.all(writes);
    const statuses = answers.map((a) => a.statusCode);
    // of the ten who strike out the set-up one succeeds; a member may not
    expect(statuses.filter((status) => status >= 500)).toEqual([]);
    const events: { number: number; kind: string }[] = [];
    for (let before = ''; ; ) {
      const page = (await s.api(member, 'GET', `/buckets/${code}/events?limit=20${before}`)).json();
      events.push(...page.events);
      if (page.next === null) break;
      before = `&before=${page.next}`;
    }
    const numbers = events.map((e) => e.number).sort((a, b) => a - b);
    expect(numbers).toEqual(numbers.map((_, i) => i + 1));
    const accepted = answers.filter((a) => a.statusCode === 201);
    // three were there before; a stirred reading is two events
    const pairs = accepted.filter((a) => a.json().event.kind === 'reading').length;
    expect(events).toHaveLength(3 + accepted.length + pairs);
    await stateEqualsFold(code);
  });

  it('two who strike out the same event: one does', async () => {
    const code = await s.aBucket({ sg: 1.46 });
    const answers = await Promise.all(
      [1, 2, 3].map((i) =>
        s.api(s.people.technician, 'POST', `/buckets/${code}/events/3/void`, { reason: `slip ${i}` }),
      ),
    );
    expect(answers.map((a) => a.statusCode).sort()).toEqual([201, 409, 409]);
    await stateEqualsFold(code);
  });

  it('voids and backdated events rebuild the state', async () => {
    const code = await s.aBucket({ sg: 1.46, stirredMinutesAgo: 50 });
    const { technician } = s.people;
    const post = (path: string, body: object) => s.api(technician, 'POST', `/buckets/${code}/${path}`, body);
    const at = (minutes: number) => new Date(s.clock.now() - minutes * MINUTE).toISOString();
    await post('service', { state: 'do-not-use', reason: 'a brush fell in' });
    const { number } = (await post('service', { state: 'in-service', reason: 'sieved' })).json().event;
    await post('top-ups', { kind: 'rinse', litres: 0.5, happenedAt: at(45) });
    await post('draw-offs', { litres: 0.4, happenedAt: at(44), to: 'waste' });
    await stateEqualsFold(code);
    const back = await post(`events/${number}/void`, { reason: 'not sieved after all' });
    expect(back.json().bucket.state).toBe('do-not-use');
    expect(back.json().bucket.why).toContain('a brush fell in');
    await stateEqualsFold(code);
  });
});

describe('any interleaving of writes, voids and backdated events', () => {
  const minutesAgo = fc.integer({ min: 0, max: 600 });
  const act = fc.oneof(
    fc.record({ path: fc.constant('stirs'), body: fc.constant({}) }),
    fc.record({
      path: fc.constant('readings'),
      body: fc.record({
        method: fc.constant('weighed'),
        grams: fc.integer({ min: 110, max: 200 }),
        millilitres: fc.constant(100),
        stirred: fc.boolean(),
        confirm: fc.constant(true),
      }),
    }),
    fc.record({
      path: fc.constant('top-ups'),
      body: fc.oneof(
        fc.record({ kind: fc.constant('water'), litres: fc.integer({ min: 1, max: 80 }).map((n) => n / 10) }),
        fc.record({
          kind: fc.constant('dry'),
          kilograms: fc.integer({ min: 1, max: 30 }).map((n) => n / 10),
        }),
        fc.record({ kind: fc.constant('rinse'), litres: fc.integer({ min: 1, max: 30 }).map((n) => n / 10) }),
      ),
    }),
    fc.record({
      path: fc.constant('dippings'),
      body: fc.record({ pieces: fc.integer({ min: 1, max: 40 }) }),
    }),
    fc.record({ path: fc.constant('levels'), body: fc.record({ quarters: fc.integer({ min: 0, max: 4 }) }) }),
    fc.record({
      path: fc.constant('service'),
      body: fc.record({
        state: fc.constantFrom('in-service', 'on-test', 'do-not-use'),
        reason: fc.constant('because'),
      }),
    }),
    fc.record({
      path: fc.integer({ min: 1, max: 12 }).map((n) => `events/${n}/void`),
      body: fc.constant({ reason: 'slip' }),
    }),
  );

  it('leaves the stored state equal to the fold of the ledger', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(fc.tuple(act, minutesAgo), { minLength: 3, maxLength: 14 }), async (acts) => {
        const code = await s.aBucket({ sg: 1.5, stirredMinutesAgo: 300 });
        const answers = await Promise.all(
          acts.map(([{ path, body }, minutes]) => {
            const when = path.endsWith('void')
              ? {}
              : { happenedAt: new Date(s.clock.now() - minutes * MINUTE).toISOString() };
            return s.api(s.people.technician, 'POST', `/buckets/${code}/${path}`, { ...body, ...when });
          }),
        );
        for (const answer of answers) expect([201, 404, 409, 422]).toContain(answer.statusCode);
        await stateEqualsFold(code);
      }),
      { numRuns: 25 },
    );
  });
});

describe('the database itself', () => {
  const LEDGERS = [
    'audit',
    'bisque_test_strikes',
    'bisque_tests',
    'briefing_strikes',
    'briefings',
    'bucket_events',
    'coat_tile_strikes',
    'coat_tiles',
    'container_events',
    'drain_permissions',
    'fee_closings',
    'fee_entries',
    'fee_litres',
    'fee_postings',
    'fee_quotes',
    'inductions',
    'kiln_care',
    'leach_tests',
    'load_events',
    'material_sheets',
    'material_versions',
    'notice_reads',
    'notice_versions',
    'piece_events',
    'piece_outcomes',
    'safety_entries',
    'safety_photos',
    'stock_events',
  ];

  it('refuses to change, remove or empty a ledger, for the application and for the owner', async () => {
    await s.aBucket({ sg: 1.46 });
    for (const url of [s.services.config.databaseUrl as string, s.ownerUrl]) {
      const sql = postgres(url, { max: 1, onnotice: () => {} });
      for (const table of LEDGERS)
        await expect(sql.unsafe(`truncate ${table} cascade`), `${table} truncate`).rejects.toThrow(
          /append-only|permission denied/,
        );
      // Row by row the others are guarded by the same function, as the test below finds.
      for (const table of ['audit', 'bucket_events']) {
        const change = table === 'audit' ? 'at = now()' : 'recorded_at = now()';
        await expect(sql.unsafe(`update ${table} set ${change}`), `${table} update`).rejects.toThrow(
          /append-only/,
        );
        await expect(sql.unsafe(`delete from ${table}`), `${table} delete`).rejects.toThrow(/append-only/);
      }
      await sql.end();
    }
  });

  it('guards every ledger table by both triggers', async () => {
    const sql = postgres(s.ownerUrl, { max: 1 });
    const rows = await sql`
      select c.relname as table, t.tgtype::int as type from pg_trigger t
      join pg_class c on c.oid = t.tgrelid join pg_proc p on p.oid = t.tgfoid
      where p.proname = 'refuse_change' order by 1, 2`;
    await sql.end();
    // tgtype bits: 1 row, 2 before, 8 delete, 16 update, 32 truncate (pg_trigger.h)
    expect(rows.map((r) => `${r.table} ${r.type}`)).toEqual(LEDGERS.flatMap((t) => [`${t} 27`, `${t} 34`]));
  });
});
