import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR } from '../../server/core/clock.ts';
import { dayDue, dayWords, noticeTurn, type Occasion, remindersOf } from '../../server/today/reminders.ts';

const NOW = Date.parse('2026-12-01T08:00:00Z');
const DAY_OF = { day: '2026-12-01', isDayDue: true, now: NOW };

const bucket = (code: string, more: Partial<Occasion> = {}): Occasion => ({
  kind: 'stir',
  key: `stir:${code}`,
  personIds: [1],
  name: `Glaze ${code}`,
  href: `/buckets/${code}`,
  since: NOW - 4 * DAY,
  ...more,
});

describe('reminders', () => {
  it('come as one message a kind, each to whoever it concerns', () => {
    const told = remindersOf(
      [
        bucket('HG'),
        bucket('CF', { personIds: [1, 2, 2] }),
        bucket('TM', { kind: 'reading', key: 'reading:TM' }),
      ],
      new Map(),
      DAY_OF,
    );
    expect(told.map(({ personId, kind, href }) => [personId, kind, href])).toEqual([
      [1, 'stir', '/wall'],
      [2, 'stir', '/buckets/CF'],
      [1, 'reading', '/buckets/TM'],
    ]);
    expect(told[0]?.words).toBe(
      'Glaze HG and Glaze CF are in use and were not stirred for days. Stir to the bottom before it sets hard.',
    );
  });

  it('are not told twice, of one kind once a day, and again when the occasion is another', () => {
    const [first] = remindersOf([bucket('HG')], new Map(), DAY_OF);
    const known = new Map([[1, new Set([first?.turn ?? '', ...(first?.keys ?? [])])]]);
    expect(remindersOf([bucket('HG')], known, DAY_OF)).toEqual([]);
    expect(remindersOf([bucket('CF')], known, DAY_OF)).toEqual([]);
    const tomorrow = { ...DAY_OF, day: '2026-12-02' };
    expect(remindersOf([bucket('HG')], known, tomorrow)).toEqual([]);
    expect(remindersOf([bucket('HG'), bucket('CF')], known, tomorrow)).toMatchObject([{ keys: ['stir:CF'] }]);
  });

  it('wait for the time of the day, but for a load that may be opened, of which there are four a day', () => {
    const load = (number: number): Occasion =>
      bucket('', { kind: 'open', key: `open:${number}`, name: `Load ${number} in Big`, href: '/kilns' });
    const early = { ...DAY_OF, isDayDue: false };
    expect(remindersOf([bucket('HG'), load(1)], new Map(), early)).toMatchObject([
      { words: 'Load 1 in Big may be cold enough to open. That is an estimate: read the pyrometer first.' },
    ]);
    const known = new Set<string>();
    const told = [1, 2, 3, 4, 5, 6].flatMap((number) => {
      const [one] = remindersOf([load(number)], new Map([[1, known]]), early);
      if (one) for (const key of [one.turn, ...one.keys]) known.add(key);
      return one ? [number] : [];
    });
    expect(told).toEqual([1, 2, 3, 4]);
  });

  it('tell of pieces by their numbers and of the longest wait', () => {
    const piece = (number: number, days: number) =>
      bucket('', {
        kind: 'pick-up',
        key: `pick-up:${number}`,
        name: String(number),
        since: NOW - days * DAY,
      });
    expect(remindersOf([piece(3, 9), piece(4, 8), piece(5, 8)], new Map(), DAY_OF)[0]?.words).toBe(
      'Pieces 3 to 5 wait to be fetched, the first for 9 days.',
    );
    expect(remindersOf([piece(3, 9)], new Map(), DAY_OF)[0]?.words).toBe(
      'Piece 3 waits to be fetched for 9 days.',
    );
  });

  it('tell nobody more than a message a kind and day, whatever comes up', () => {
    const occasion = fc.record({
      kind: fc.constantFrom('stir', 'reading', 'duty', 'notice', 'open', 'pick-up'),
      n: fc.integer({ min: 1, max: 30 }),
      personIds: fc.array(fc.integer({ min: 1, max: 3 }), { maxLength: 4 }),
    });
    fc.assert(
      fc.property(fc.array(fc.array(occasion, { maxLength: 12 }), { maxLength: 20 }), (runs) => {
        const known = new Map<number, Set<string>>();
        const counts = new Map<string, number>();
        const seen = new Set<string>();
        for (const run of runs) {
          const occasions = run.map(({ kind, n, personIds }) =>
            bucket('', { kind: kind as 'stir', key: `${kind}:${n}`, personIds, name: String(n) }),
          );
          for (const one of remindersOf(occasions, known, DAY_OF)) {
            const own = known.get(one.personId) ?? new Set();
            known.set(one.personId, own);
            for (const key of one.keys) {
              expect(seen.has(`${one.personId} ${key}`)).toBe(false);
              seen.add(`${one.personId} ${key}`);
              own.add(key);
            }
            own.add(one.turn);
            const id = `${one.personId} ${one.kind}`;
            counts.set(id, (counts.get(id) ?? 0) + 1);
          }
        }
        for (const [id, count] of counts) expect(count).toBeLessThanOrEqual(id.endsWith('open') ? 4 : 1);
      }),
    );
  });
});

describe('the day', () => {
  it('is due from its time on the studio’s clock for six hours, also when the clocks change', () => {
    const at = (text: string) => dayDue(Date.parse(text), 450, 'Europe/London');
    expect(at('2026-03-29T06:29:00Z')).toEqual({ day: '2026-03-29', isDue: false });
    expect(at('2026-03-29T06:30:00Z')).toEqual({ day: '2026-03-29', isDue: true });
    expect(at('2026-03-29T12:30:00Z').isDue).toBe(false);
    expect(at('2026-10-25T07:30:00Z')).toEqual({ day: '2026-10-25', isDue: true });
    expect(at('2026-10-25T06:30:00Z').isDue).toBe(false);
  });

  it('comes on every day, looked at every quarter of an hour, however late it is and however the clocks go', () => {
    for (const zone of ['Europe/London', 'Australia/Lord_Howe'])
      for (const minute of [0, 90, 450, 1439])
        for (const from of ['2026-03-26T00:00:00Z', '2026-10-02T00:00:00Z', '2026-10-23T00:00:00Z']) {
          const days = new Set<string>();
          for (let at = Date.parse(from); at < Date.parse(from) + 6 * DAY; at += HOUR / 4) {
            const { day, isDue } = dayDue(at, minute, zone);
            if (isDue) days.add(day);
          }
          expect(days.size, `${zone} ${minute} ${from}`).toBeGreaterThanOrEqual(6);
        }
  });

  it('has a list with everything of each part, or none at all', () => {
    expect(dayWords([{ title: 'Kilns', things: [] }])).toBeNull();
    const things = Array.from({ length: 25 }, (_, i) => ({ title: `Bucket ${i}`, what: 'Too\nthick.' }));
    const list = dayWords([
      { title: 'Kilns', things: [{ title: 'To be loaded', what: 'It is to start today 18:00.' }] },
      { title: 'Glaze wall', things },
    ]);
    expect(list?.words).toBe('26 things need somebody today: kilns 1 and glaze wall 25.');
    expect(list?.letter.body.split('\n').filter((line) => line.startsWith('- '))).toHaveLength(22);
    expect(list?.letter.body).toContain('- and 5 more');
    expect(list?.letter.body).toMatch(/\n\nSee: \/today$/);
  });
});

describe('a notice', () => {
  it('is told of after a day and once more after a week', () => {
    const turns = [0, 23 * HOUR, DAY, 6 * DAY, 7 * DAY, 90 * DAY].map((age) => noticeTurn(NOW - age, NOW));
    expect(turns).toEqual([0, 0, 1, 1, 2, 2]);
  });
});
