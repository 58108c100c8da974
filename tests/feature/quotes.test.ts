import { eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { toWallTime } from '../../server/core/wall-time.ts';
import { feeAccounts } from '../../server/fees/schema.ts';
import { payersFor } from '../../server/fees/service/ledger.ts';
import { beginTariff, changeTariff, putInForce } from '../../server/fees/service/tariffs.ts';
import { aStudio, type Studio } from '../helpers/studio.ts';

let s: Studio;
let draft: number;

const cup = { widthMm: 125, depthMm: 85, heightMm: 100, kind: 'glaze', cone: '6', count: 1 };
const ask = (body: unknown, who = s.people.member) => s.api(who, 'POST', '/quotes', body as object);

beforeAll(async () => {
  s = await aStudio();
});

describe('before there is a price list', () => {
  it('a program is told so, and the page says whom to ask', async () => {
    expect((await ask({ pieces: [cup] })).statusCode).toBe(409);
    const page = await s.visit(s.people.member, '/fees/quote?widthMm=100');
    expect(page.statusCode).toBe(200);
    expect(page.body).toContain('No price list is in force today');
  });
});

describe('with one in force', () => {
  beforeAll(async () => {
    const { manager } = s.people;
    const today = toWallTime(s.clock.now(), 'Europe/London').slice(0, 10);
    const number = await s.as(manager, (act) => beginTariff(act, 'This year', 'volume'));
    await s.as(manager, (act) =>
      changeTariff(act, number, ({ value }) => ({
        validFrom: today,
        value: {
          ...value,
          tax: { percent: '20', included: true },
          factors: [
            {
              name: 'Student',
              factor: '0.5',
              kinds: [],
              coneFrom: null,
              coneTo: null,
              atmosphere: null,
              memberClass: 'student',
            },
          ],
          rush: { withinDays: 5, percent: '50' },
        },
      })),
    );
    await s.as(manager, (act) => putInForce(act, number));
    draft = await s.as(manager, (act) => beginTariff(act, 'Next year', number));
  });

  it('answers each piece and the total with the arithmetic: 1.0625 L × £3.50 = £3.72, twice £7.44', async () => {
    const answer = await ask({
      pieces: [
        { ...cup, count: 2 },
        { ...cup, kind: 'bisque', cone: '06' },
      ],
    });
    expect(answer.statusCode).toBe(200);
    expect(answer.json()).toEqual({
      tariff: 1,
      currency: 'GBP',
      pieces: [
        {
          line: { code: 'GLAZE', name: 'Glaze firing' },
          eachMinor: 372,
          count: 2,
          totalMinor: 744,
          netMinor: 620,
          taxMinor: 124,
          because: [
            'Box 12.5 × 8.5 × 10 cm = 1,062.5 cm³',
            '1.0625 L × £3.50 = £3.72',
            'Of it 20 % tax: £0.62',
          ],
        },
        {
          // 1.0625 × 200 = 212.5 → 213; ÷ 1.2 = 177.5 → 178
          line: { code: 'BISQUE', name: 'Bisque firing' },
          eachMinor: 213,
          count: 1,
          totalMinor: 213,
          netMinor: 178,
          taxMinor: 35,
          because: [
            'Box 12.5 × 8.5 × 10 cm = 1,062.5 cm³',
            '1.0625 L × £2.00 = £2.13',
            'Of it 20 % tax: £0.35',
          ],
        },
      ],
      totalMinor: 957,
    });
  });

  it('counts the class of whoever asks', async () => {
    const student = await s.aPerson();
    await s.as(student, async ({ tx, ...act }) => {
      const [payer] = await payersFor({ tx, ...act }, [{ kind: 'person', id: student.id }]);
      await tx
        .update(feeAccounts)
        .set({ memberClass: 'student' })
        .where(eq(feeAccounts.id, payer?.id ?? 0));
    });
    // Half of 371.875 is 185.9375.
    expect((await ask({ pieces: [cup] }, student)).json().totalMinor).toBe(186);
    expect((await ask({ pieces: [cup] })).json().totalMinor).toBe(372);
  });

  it('takes a list by its number; a draft only from whoever may write it', async () => {
    expect((await ask({ pieces: [cup], tariff: 1 })).statusCode).toBe(200);
    expect((await ask({ pieces: [cup], tariff: 99 })).statusCode).toBe(404);
    expect((await ask({ pieces: [cup], tariff: draft })).statusCode).toBe(404);
    expect((await ask({ pieces: [cup], tariff: draft }, s.people.manager)).statusCode).toBe(200);
  });

  it.each([
    ['nothing', {}],
    ['no piece', { pieces: [] }],
    ['pieces that are none', { pieces: 'cup' }],
    ['a piece that is none', { pieces: [null] }],
    ['too many rows', { pieces: Array(201).fill(cup) }],
    ['a negative width', { pieces: [{ ...cup, widthMm: -125 }] }],
    ['no height', { pieces: [{ ...cup, heightMm: 0 }] }],
    ['a width as text', { pieces: [{ ...cup, widthMm: '125' }] }],
    ['a piece larger than a room', { pieces: [{ ...cup, depthMm: 3001 }] }],
    ['a weight below zero', { pieces: [{ ...cup, kg: -1 }] }],
    ['a weight of a car', { pieces: [{ ...cup, kg: 501 }] }],
    ['a kind of firing that is none', { pieces: [{ ...cup, kind: 'raku' }] }],
    ['a cone that is none', { pieces: [{ ...cup, cone: '99' }] }],
    ['an atmosphere that is none', { pieces: [{ ...cup, atmosphere: 'smoke' }] }],
    ['none of it', { pieces: [{ ...cup, count: 0 }] }],
    ['half a cup', { pieces: [{ ...cup, count: 0.5 }] }],
    ['more cups than a year has', { pieces: [{ ...cup, count: 1001 }] }],
    ['a field nobody knows', { pieces: [{ ...cup, colour: 'blue' }] }],
    ['a list below the first', { pieces: [cup], tariff: 0 }],
    ['a list of no whole number', { pieces: [cup], tariff: '1' }],
  ])('refuses %s', async (_what, body) => {
    const answer = await ask(body);
    expect(answer.statusCode).toBe(422);
    expect(answer.json().errors.length).toBeGreaterThan(0);
  });

  it('prices the most that can be asked, and nobody without a token', async () => {
    const most = { ...cup, widthMm: 3000, depthMm: 3000, heightMm: 3000, count: 1000 };
    // 27,000 L × 350 = 9,450,000 each, a thousand of them in 100 rows
    const answer = await ask({ pieces: Array(100).fill(most) });
    expect(answer.json().totalMinor).toBe(945_000_000_000);
    expect((await ask({ pieces: Array(200).fill(most) })).statusCode).toBe(422);
    expect((await s.api(null, 'POST', '/quotes', { pieces: [cup] })).statusCode).toBe(401);
  });

  it('the page has price and arithmetic in its address', async () => {
    const page = await s.visit(
      s.people.member,
      '/fees/quote?widthMm=125&depthMm=85&heightMm=100&kind=glaze&cone=6&atmosphere=oxidation&count=3',
    );
    expect(page.statusCode).toBe(200);
    expect(page.body).toContain('£11.16');
    expect(page.body).toContain('3 pieces, £3.72 each');
    expect(page.body).toContain('1.0625 L × £3.50 = £3.72');
    expect(page.body).toContain('href="/fees/prices"');
    const soon = await s.visit(
      s.people.member,
      '/fees/quote?widthMm=125&depthMm=85&heightMm=100&kind=glaze&cone=6&count=1&soon=yes',
    );
    expect(soon.body).toContain('£5.58'); // 371.875 × 1.5 = 557.8125
  });

  it.each([
    'widthMm=-1&depthMm=85&heightMm=100&kind=glaze&cone=6',
    'widthMm=abc',
    'widthMm=&depthMm=&kind=',
    'widthMm=1&widthMm=2&kind=&kind=glaze',
    'widthMm=125&depthMm=85&heightMm=100&kind=raku&cone=%00',
  ])('the page comes back filled in after %s', async (query) => {
    const page = await s.visit(s.people.member, `/fees/quote?${query}`);
    expect(page.statusCode).toBe(422);
    expect(page.body).toContain('name="heightMm"');
  });

  it('the page is for whoever is signed in', async () => {
    expect((await s.visit(null, '/fees/quote')).statusCode).toBe(303);
    for (const who of Object.values(s.people))
      expect((await s.visit(who, '/fees/quote')).statusCode).toBe(200);
  });
});
