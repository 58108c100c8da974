import { eq } from 'drizzle-orm';
import { beforeAll, describe, expect, it } from 'vitest';
import { DAY } from '../../server/core/clock.ts';
import { feeEntries, feeQuotes } from '../../server/fees/schema.ts';
import { keepQuotes } from '../../server/fees/service/quoting.ts';
import { pieces as pieceTable } from '../../server/ware/schema.ts';
import { feesOfPiece, findPieces } from '../../server/ware/service/index.ts';
import { emptied } from '../helpers/firing.ts';
import { aClay, GLAZE, readAs, readyPieces } from '../helpers/loads.ts';
import { aPriceList, dayOf, HALF_SHELVES, line, loadedWith } from '../helpers/price-lists.ts';
import { aStudio, PARTIAL, type Person, type Studio } from '../helpers/studio.ts';
import { aPhoto, upload } from '../helpers/upload.ts';

let s: Studio;
let ida: Person;
let clay: string;
beforeAll(async () => {
  s = await aStudio();
  ida = s.people.member;
  clay = await aClay(s);
});

const quotesOf = async (number: number) =>
  s.database.db
    .select({ minor: feeQuotes.amountMinor, payload: feeQuotes.payload })
    .from(feeQuotes)
    .innerJoin(pieceTable, eq(pieceTable.id, feeQuotes.pieceId))
    .where(eq(pieceTable.number, number))
    .orderBy(feeQuotes.id);

/** A bowl that boxes 10 × 10 × 10 cm, one litre. */
const bowl = (more: Record<string, string> = {}) => ({
  what: 'bowl',
  clay,
  widthMm: '100',
  heightMm: '100',
  kind: 'glaze',
  cone: '6',
  begins: 'wet',
  ...more,
});
const count = async () => (await s.database.db.select({ id: pieceTable.id }).from(pieceTable)).length;
const numbersIn = (location: unknown) =>
  (new URL(String(location), 'http://x').searchParams.get('pieces') ?? '').split(',').map(Number);
/** £2 a litre for bisque, £3.50 for the rest. */
const LINES = [
  line({ by: 'volume', minorPer: '200', unit: 'litre' }, { code: 'BISQUE', kinds: ['bisque'] }),
  line({ by: 'volume', minorPer: '350', unit: 'litre' }, { code: 'GLAZE' }),
];

describe('a studio without a price list', () => {
  it('shows no price, and registers as ever', async () => {
    expect((await s.visit(ida, '/ware/new?form=bowl')).body).not.toContain('See the price');
    const sent = await s.submit(ida, '/ware/new', bowl());
    const [number] = numbersIn(sent.headers.location) as [number];
    expect(await quotesOf(number)).toEqual([]);
    expect((await s.visit(ida, `/ware/${number}`)).body).not.toContain('What firing it costs');
    // The button of an old page: the form again, and still nothing registered.
    const before = await count();
    expect((await s.submit(ida, '/ware/new', { ...bowl(), see: 'price' })).statusCode).toBe(200);
    expect(await count()).toBe(before);
  });
});

describe('the price before registering', () => {
  beforeAll(async () => {
    await aPriceList(s, { lines: LINES, rush: { withinDays: 7, percent: '50' } });
  });

  it('is shown without scripts, registers nothing, and keeps what was typed and the photo', async () => {
    expect((await s.visit(ida, '/ware/new?form=bowl')).body).toContain('See the price');
    const before = await count();
    const photo = { bytes: await aPhoto() };
    const fields = { ...bowl({ howMany: '3', note: 'For Aunt Vera', mark: 'IV' }), see: 'price' };
    const seen = await upload(s, ida, '/ware/new', fields, photo);
    expect(seen.statusCode).toBe(200);
    // 1 L × £2.00 + 1 L × £3.50 = £5.50 each
    expect(seen.body).toContain('About £16.50 for all 3: £5.50 each');
    expect(seen.body).toContain('Bisque, cone 06 oxidation: £2.00');
    expect(seen.body).toContain('Glaze, cone 6 oxidation: £3.50');
    expect(seen.body).toContain('For Aunt Vera');
    expect(seen.body).toContain('value="IV"');
    const kept = /name="kept" value="([0-9a-f]{64})"/.exec(seen.body)?.[1];
    expect(kept).toBeDefined();
    expect(await count()).toBe(before);
    const sent = await upload(s, ida, '/ware/new', { ...bowl({ howMany: '3' }), kept: kept as string }, null);
    const numbers = numbersIn(sent.headers.location);
    expect(numbers).toHaveLength(3);
    const [piece] = await findPieces(readAs(s, ida), [numbers[0] as number]);
    expect(piece?.photo).toBe(kept);
    expect((await quotesOf(numbers[0] as number)).map(({ minor }) => minor)).toEqual([550n]);
  });

  it('says what is missing, filled in as it was', async () => {
    const sent = await s.submit(ida, '/ware/new', { ...bowl({ cone: '' }), see: 'price' });
    expect(sent.statusCode).toBe(422);
    expect(sent.body).toContain('value="100"');
  });

  it('follows the fields where there are scripts, and waits for what is missing', async () => {
    const part = await s.submit(ida, '/ware/new/price', bowl(), PARTIAL);
    expect(part.statusCode).toBe(200);
    expect(part.body).toContain('About £5.50');
    expect(part.body).not.toContain('<form');
    const bisqued = await s.submit(ida, '/ware/new/price', bowl({ begins: 'bisqued' }), PARTIAL);
    expect(bisqued.body).toContain('About £3.50');
    const waiting = await s.submit(ida, '/ware/new/price', bowl({ cone: 'x' }), PARTIAL);
    expect(waiting.statusCode).toBe(200);
    expect(waiting.body).toContain('Choose the clay and the cone');
    expect((await s.submit(null, '/ware/new/price', bowl(), PARTIAL)).statusCode).not.toBe(200);
    expect((await s.visit(ida, '/ware/new/price')).headers.location).toBe('/ware/new');
  });

  it('stands there at once for what was registered last', async () => {
    // A bowl as usual, of the clay and cone of the last one.
    const page = await s.visit(ida, '/ware/new?form=bowl');
    expect(page.body).toContain('<b>About £');
    const finn = await s.aPerson();
    expect((await s.visit(finn, '/ware/new?form=bowl')).body).toContain('Choose the clay and the cone');
  });

  it('asks more of what is wanted soon', async () => {
    const soon = new Date(s.clock.now() + 5 * 86_400_000).toISOString().slice(0, 10);
    const part = await s.submit(ida, '/ware/new/price', bowl({ wantedBy: soon }), PARTIAL);
    // £5.50 × 1.5 = £8.25
    expect(part.body).toContain('About £8.25');
  });

  it.each(['-5', '0', '1e9', 'NaN', '999999999999'])('takes no size of %s', async (widthMm) => {
    expect((await s.submit(ida, '/ware/new/price', bowl({ widthMm }), PARTIAL)).statusCode).toBe(200);
    const sent = await s.submit(ida, '/ware/new', { ...bowl({ widthMm }), see: 'price' });
    expect(sent.statusCode).toBe(422);
  });
});

describe('the quote of a piece', () => {
  beforeAll(async () => {
    await aPriceList(s, { lines: LINES });
  });

  it('is kept anew when the piece is put right, and shown on its page', async () => {
    const sent = await s.submit(ida, '/ware/new', bowl());
    const [number] = numbersIn(sent.headers.location) as [number];
    await s.submit(ida, `/ware/${number}/edit`, bowl({ heightMm: '200' }));
    // 2 L × £5.50
    expect((await quotesOf(number)).map(({ minor }) => minor)).toEqual([550n, 1100n]);
    const page = await s.visit(ida, `/ware/${number}`);
    expect(page.body).toContain('Firing it costs about £11.00');
    expect(page.body).toContain('2 L × £2.00 = £4.00');
  });

  it('is shared by a batch where half shelves are the price', async () => {
    await aPriceList(s, { lines: [HALF_SHELVES] });
    const part = await s.submit(ida, '/ware/new/price', bowl({ howMany: '3', begins: 'bisqued' }), PARTIAL);
    // 3 × 100 cm² on half shelves of 250 cm²: a whole shelf, £7.00
    expect(part.body).toContain('About £7.00 for all 3');
  });

  it('is shared by pieces of one payer only', async () => {
    const finn = await s.aPerson();
    const numbers: number[] = [];
    for (const who of [ida, finn])
      numbers.push(
        ...numbersIn((await s.submit(who, '/ware/new', bowl({ begins: 'bisqued' }))).headers.location),
      );
    const ids = (await findPieces(readAs(s, s.people.technician), numbers)).map(({ id }) => id);
    const one = { widthMm: 100, depthMm: 100, heightMm: 100, kg: null, wantedBy: null, registeredAt: null };
    await s.as(s.people.technician, (act) =>
      keepQuotes(
        act,
        [ida, finn].map(({ id }, i) => ({
          id: ids[i] as number,
          piece: { ...one, firings: [GLAZE], payer: { kind: 'person', id } },
        })),
      ),
    );
    // Half a shelf each, not one for both.
    for (const number of numbers) expect((await quotesOf(number)).at(-1)?.minor).toBe(400n);
  });

  it('is rushed by the day it was registered, whenever it is put right', async () => {
    await aPriceList(s, { lines: LINES, rush: { withinDays: 3, percent: '50' } });
    const wantedBy = dayOf(s.clock.now() + 10 * DAY);
    const [number] = numbersIn((await s.submit(ida, '/ware/new', bowl({ wantedBy }))).headers.location) as [
      number,
    ];
    s.clock.forward(8 * DAY);
    const sent = await s.submit(ida, `/ware/${number}/edit`, bowl({ wantedBy, note: 'A chip in the foot' }));
    expect(sent.statusCode).toBe(303);
    expect((await quotesOf(number)).map(({ minor }) => minor)).toEqual([550n, 550n]);
  });

  it('says where there is no price instead of nothing to pay', async () => {
    await aPriceList(s, {
      lines: [line({ by: 'volume', minorPer: '200', unit: 'litre' }, { kinds: ['lustre'] })],
    });
    const part = await s.submit(ida, '/ware/new/price', bowl(), PARTIAL);
    expect(part.body).toContain('The price list has no price for it');
    const [number] = numbersIn((await s.submit(ida, '/ware/new', bowl())).headers.location) as [number];
    const page = await s.visit(ida, `/ware/${number}`);
    expect(page.body).toContain('There is no price for it on price list');
    expect(page.body).toContain('oxidation: no price');
    expect(page.body).not.toContain('£0.00');
  });

  it('stays beside what the piece has cost, whatever list comes later', async () => {
    await aPriceList(s, { lines: LINES });
    const [number] = (await readyPieces(s, ida, {
      for: 'glaze',
      clay,
      cone: '6',
      widthMm: 100,
      heightMm: 100,
      measured: 'bisque',
    })) as [number];
    const load = await loadedWith(s, GLAZE);
    await emptied(s, load);
    const entries = () => s.database.db.select().from(feeEntries).where(eq(feeEntries.load, load));
    const before = await entries();
    await aPriceList(s, { lines: [line({ by: 'volume', minorPer: '9900', unit: 'litre' })] });
    expect(await entries()).toEqual(before);
    const [piece] = await findPieces(readAs(s, ida), [number]);
    const fees = await feesOfPiece(readAs(s, ida), piece as { id: number });
    expect(fees?.line).toMatch(/^It has cost £3\.50 so far; said before: about £3\.50 by price list \d+$/);
    expect(fees?.steps.map(({ words, href }) => [words, href])).toEqual([
      [`Load ${load}, glaze cone 6: £3.50`, `/fees/loads/${load}`],
      ['Said: Glaze, cone 6 oxidation: £3.50', null],
    ]);
  });
});
