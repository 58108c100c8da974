import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { ROUNDINGS } from '../../server/core/money.ts';
import {
  cheapestShelves,
  itemPrice,
  type PieceInLoad,
  type PieceToPrice,
  priceLoad,
  quotePieces,
  quoteRows,
  splitTax,
} from '../../server/fees/price.ts';
import type { Basis, Factor, Tariff } from '../../server/fees/tariff.ts';

const tariff = (basis: Basis, change: Partial<Tariff> = {}): Tariff => ({
  v: 1,
  rounding: 'half-up',
  stepMinor: 1,
  minimumMinor: 0,
  tax: null,
  lines: [{ code: 'GLAZE', name: 'Glaze firing', kinds: [], basis }],
  factors: [],
  rush: null,
  monthly: [],
  items: [],
  lossPercent: '100',
  lossOf: 'this-firing',
  ...change,
});
const A_LITRE: Basis = { by: 'volume', minorPer: '350', unit: 'litre' };
const SHELVES: Basis = {
  by: 'shelf',
  halfMinor: 1200,
  shelfMinor: 2000,
  loadMinor: 7000,
  halfShelfCm2: 600,
  halvesALoad: 8,
};
const COST: Basis = {
  by: 'cost',
  minorPerKwh: '9',
  wearMinor: 0,
  fuelMinor: 2500,
  usualKwh: 54,
  usualLitres: 60,
};

const piece = (change: Partial<PieceToPrice> = {}): PieceToPrice => ({
  widthMm: 125,
  depthMm: 85,
  heightMm: 100,
  kg: null,
  kind: 'glaze',
  cone: '6',
  atmosphere: 'oxidation',
  isRush: false,
  memberClass: 'member',
  ...change,
});
const inLoad = (change: Partial<PieceInLoad> = {}): PieceInLoad => ({
  ...piece(change),
  payer: 'ida',
  includedCm3: 0,
  ...change,
});
/** A box of so many litres: 100 × 100 mm × 100 mm a litre. */
const litres = (l: number): Partial<PieceInLoad> => ({ widthMm: 100, depthMm: 100, heightMm: 100 * l });

const one = (list: Tariff, change: Partial<PieceToPrice> = {}, currency = 'GBP') => {
  const [price] = quotePieces(list, currency, [piece(change)]);
  if (!price) throw new Error('no price');
  return price;
};
const factor = (change: Partial<Factor>): Factor => ({
  name: 'Factor',
  factor: '2',
  kinds: [],
  coneFrom: null,
  coneTo: null,
  atmosphere: null,
  memberClass: null,
  ...change,
});
const sum = (amounts: bigint[]) => amounts.reduce((all, each) => all + each, 0n);
const amounts = (prices: { amountMinor: bigint }[]) => prices.map(({ amountMinor }) => Number(amountMinor));

describe('by volume', () => {
  it('12.5 × 8.5 × 10 cm = 1062.5 cm³ = 1.0625 L × £3.50 = £3.71875 → £3.72', () => {
    expect(one(tariff(A_LITRE))).toEqual({
      line: { code: 'GLAZE', name: 'Glaze firing' },
      cm3: 1063,
      netMinor: 372n,
      taxMinor: 0n,
      amountMinor: 372n,
      because: ['Box 12.5 × 8.5 × 10 cm = 1,062.5 cm³', '1.0625 L × £3.50 = £3.72'],
      coveredCm3: 0,
    });
  });

  it('1062.5 cm³ × 0.35 p = 371.875 p → £3.72, the same list by the cubic centimetre', () => {
    const price = one(tariff({ by: 'volume', minorPer: '0.35', unit: 'cm3' }));
    expect(price.amountMinor).toBe(372n);
    expect(price.because[1]).toBe('1,062.5 cm³ × £0.0035 = £3.72');
  });

  it('5 × 4 × 3 in: 60 in³ × $0.06 = $3.60, from 127 × 101.6 × 76.2 mm to the last digit', () => {
    const price = one(
      tariff({ by: 'volume', minorPer: '6', unit: 'in3' }),
      { widthMm: 127, depthMm: 101.6, heightMm: 76.2 },
      'USD',
    );
    expect(price.amountMinor).toBe(360n);
    expect(price.because).toEqual(['Box 5 × 4 × 3 in = 60 in³', '60 in³ × US$0.06 = US$3.60']);
  });

  it('counts yen and dinars in their own minor units', () => {
    // 1.0625 L × ¥350 = ¥371.875; 1.0625 L × 0.350 KWD = 0.371875 KWD
    expect(one(tariff(A_LITRE), {}, 'JPY').because[1]).toBe('1.0625 L × JP¥350 = JP¥372');
    expect(one(tariff(A_LITRE), {}, 'KWD').because[1]).toContain('0.372');
  });
});

describe('by footprint, weight and size', () => {
  it('12.5 × 8.5 cm = 106.25 cm² × 4 p = £4.25', () => {
    const price = one(tariff({ by: 'area', minorPer: '4', unit: 'cm2' }));
    expect(price.because).toEqual(['Footprint 12.5 × 8.5 cm = 106.25 cm²', '106.25 cm² × £0.04 = £4.25']);
    expect(price.amountMinor).toBe(425n);
  });

  it('5 × 4 in = 20 in² × 25 p = £5.00', () => {
    const list = tariff({ by: 'area', minorPer: '25', unit: 'in2' });
    expect(one(list, { widthMm: 127, depthMm: 101.6 }).amountMinor).toBe(500n);
  });

  it('0.85 kg × £4.00 = £3.40; a pound, 0.45359237 kg to the gram, × £2.00 = £2.00', () => {
    expect(one(tariff({ by: 'weight', minorPer: '400', unit: 'kg' }), { kg: 0.85 }).amountMinor).toBe(340n);
    // 454 g ÷ 453.59237 g = 1.0009 lb × 200 p = 200.18 p
    const pounds = tariff({ by: 'weight', minorPer: '200', unit: 'lb' });
    expect(one(pounds, { kg: 0.45359237 }).amountMinor).toBe(200n);
  });

  it('has no price for what was not weighed where it goes by weight', () => {
    const price = one(tariff({ by: 'weight', minorPer: '400', unit: 'kg' }));
    expect(price).toMatchObject({ line: null, amountMinor: 0n, taxMinor: 0n, netMinor: 0n });
    expect(price.because).toEqual(['It goes by weight, and this piece was not weighed.']);
  });

  const bands: Basis = {
    by: 'size',
    bands: [
      { name: 'Small', upToCm3: 1000, minor: 200 },
      { name: 'Medium', upToCm3: 1062.5, minor: 450 },
      { name: 'Large', upToCm3: null, minor: 1000 },
    ],
  };
  it.each([
    [100, 'Small', 200n], // 1000 cm³, the limit itself
    [100.01, 'Medium', 450n], // 1000.1 cm³
    [106.25, 'Medium', 450n], // 1062.5 cm³
    [106.26, 'Large', 1000n], // 1062.6 cm³
    [3000, 'Large', 1000n],
  ])('10 × 10 cm × %d mm is %s', (heightMm, name, minor) => {
    const price = one(tariff(bands), { widthMm: 100, depthMm: 100, heightMm });
    expect(price.amountMinor).toBe(minor);
    expect(price.because[1]).toContain(name);
  });

  it('has no price beyond the last size, where that has a limit', () => {
    const list = tariff({ by: 'size', bands: [{ name: 'Small', upToCm3: 1000, minor: 200 }] });
    expect(one(list).line).toBeNull();
  });

  it('costs nothing where it is included, not even the minimum', () => {
    const price = one(tariff({ by: 'included' }, { minimumMinor: 100 }));
    expect(price).toMatchObject({ line: { code: 'GLAZE' }, amountMinor: 0n });
  });
});

describe('lines and factors', () => {
  it('the first line that fits counts, and none is no price', () => {
    const lines: Tariff['lines'] = [
      { code: 'B', name: 'Bisque', kinds: ['bisque'], basis: { ...A_LITRE, minorPer: '200' } },
      { code: 'G', name: 'Glaze', kinds: ['glaze', 'lustre'], basis: A_LITRE },
      { code: 'X', name: 'Again', kinds: ['bisque'], basis: A_LITRE },
    ];
    const list = tariff(A_LITRE, { lines });
    expect(one(list, { kind: 'bisque' }).line?.code).toBe('B');
    expect(one(list, { kind: 'lustre' }).line?.code).toBe('G');
    expect(one(list, { kind: 'other' })).toMatchObject({
      line: null,
      because: ['No price is set for other firings.'],
    });
  });

  it('1.0625 × 350 = 371.875, × 1.25 reduction = 464.84375, × 0.8 student = 371.875 → £3.72', () => {
    const factors = [
      factor({ name: 'Reduction', factor: '1.25', atmosphere: 'reduction' }),
      factor({ name: 'Student', factor: '0.8', memberClass: 'student' }),
    ];
    const price = one(tariff(A_LITRE, { factors }), { atmosphere: 'reduction', memberClass: 'student' });
    expect(price.amountMinor).toBe(372n);
    expect(price.because.slice(2)).toEqual(['Reduction × 1.25 = £4.65', 'Student × 0.8 = £3.72']);
    expect(one(tariff(A_LITRE, { factors })).because).toHaveLength(2);
  });

  it.each([
    ['04', '1', '10', false],
    ['01', '1', '10', false],
    ['1', '1', '10', true],
    ['10', '1', '10', true],
    ['11', '1', '10', false],
    ['022', null, '04', true],
    ['04', null, '04', true],
    ['03', null, '04', false],
    ['5½', '5½', null, true],
    ['5', '5½', null, false],
  ])('cone %s from %s to %s: %s', (cone, coneFrom, coneTo, fits) => {
    const list = tariff(A_LITRE, { factors: [factor({ coneFrom, coneTo })] });
    expect(one(list, { cone }).amountMinor).toBe(fits ? 744n : 372n); // 743.75
  });

  it('a factor needs all that it names', () => {
    const list = tariff(A_LITRE, { factors: [factor({ kinds: ['glaze'], atmosphere: 'reduction' })] });
    expect(one(list).amountMinor).toBe(372n);
    expect(one(list, { kind: 'bisque', atmosphere: 'reduction' }).amountMinor).toBe(372n);
    expect(one(list, { atmosphere: 'reduction' }).amountMinor).toBe(744n);
  });
});

describe('rush, included litres, minimum and step, in this order', () => {
  it('371.875 × 1.5 for a rush = 557.8125 → £5.58', () => {
    const list = tariff(A_LITRE, { rush: { withinDays: 5, percent: '50' } });
    expect(one(list, { isRush: true }).amountMinor).toBe(558n);
    expect(one(list, { isRush: true }).because[2]).toBe('Wanted soon, 50 % more = £5.58');
    expect(one(list).amountMinor).toBe(372n);
  });

  it('1 L of 4 L included: 4 × 350 = 1400, the rest ¾ = £10.50', () => {
    const [price] = priceLoad(
      tariff(A_LITRE),
      'GBP',
      [inLoad({ ...litres(4), includedCm3: 1000 })],
      ELECTRIC,
    );
    expect(price).toMatchObject({ amountMinor: 1050n, cm3: 4000, coveredCm3: 1000 });
    expect(price?.because[2]).toBe('1,000 of 4,000 cm³ from included litres, the rest = £10.50');
  });

  it('all of it included costs nothing, whatever the minimum, and takes no more than its own volume', () => {
    const list = tariff(A_LITRE, { minimumMinor: 100 });
    const [price] = priceLoad(list, 'GBP', [inLoad({ ...litres(4), includedCm3: 9000 })], ELECTRIC);
    expect(price).toMatchObject({ amountMinor: 0n, coveredCm3: 4000 });
  });

  it('what is left of a piece costs the minimum at least: 0.1 L × 350 = 35 → £1.00', () => {
    const list = tariff(A_LITRE, { minimumMinor: 100 });
    const [price] = priceLoad(list, 'GBP', [inLoad({ ...litres(1), includedCm3: 900 })], ELECTRIC);
    expect(price?.amountMinor).toBe(100n);
    expect(price?.because.at(-1)).toBe('At least £1.00');
  });

  it('372 to steps of 5: £3.70; up: £3.75; a minimum of 1.01 in steps of 5 is 1.05', () => {
    expect(one(tariff(A_LITRE, { stepMinor: 5 })).amountMinor).toBe(370n);
    expect(one(tariff(A_LITRE, { stepMinor: 5 })).because.at(-1)).toBe('Rounded to £3.70');
    expect(one(tariff(A_LITRE, { stepMinor: 5, rounding: 'up' })).amountMinor).toBe(375n);
    const small = tariff(A_LITRE, { stepMinor: 5, minimumMinor: 101, rounding: 'down' });
    expect(one(small, { heightMm: 10 }).amountMinor).toBe(105n);
  });
});

const ELECTRIC = { kWh: 54, power: 'electric' } as const;

describe('half shelves', () => {
  it('needs 1500 cm² = 3 halves of 600: a shelf and a half, 20 + 12 = £32, shared 1000 : 500', () => {
    const pieces = [
      inLoad({ widthMm: 250, depthMm: 400 }), // 1000 cm²
      inLoad({ widthMm: 250, depthMm: 200 }), // 500 cm²
    ];
    const prices = priceLoad(tariff(SHELVES), 'GBP', pieces, ELECTRIC);
    // 3200 × 2/3 = 2133⅓, × 1/3 = 1066⅔: the one left goes to the larger remainder
    expect(amounts(prices)).toEqual([2133, 1067]);
    expect(prices[0]?.because).toEqual([
      'Footprint 25 × 40 cm = 1,000 cm²',
      '1,500 cm² together: 3 half shelves of 600 cm²',
      'At the cheapest: £32.00',
      'Its part by footprint: £21.33',
    ]);
  });

  it('each payer has halves of their own', () => {
    const small = { widthMm: 100, depthMm: 100 };
    const pieces = [inLoad(small), inLoad({ ...small, payer: 'bo' })];
    expect(amounts(priceLoad(tariff(SHELVES), 'GBP', pieces, ELECTRIC))).toEqual([1200, 1200]);
    expect(amounts(quotePieces(tariff(SHELVES), 'GBP', pieces))).toEqual([600, 600]);
  });

  it('a factor multiplies what they are shared from: 12 × 1.25 = 15 in two', () => {
    const list = tariff(SHELVES, { factors: [factor({ factor: '1.25', memberClass: 'member' })] });
    const pieces = [inLoad(litres(1)), inLoad(litres(1))];
    expect(amounts(priceLoad(list, 'GBP', pieces, ELECTRIC))).toEqual([750, 750]);
  });

  it.each([
    [0n, 0n],
    [1n, 1200n],
    [2n, 2000n],
    [3n, 3200n],
    [6n, 6000n],
    [7n, 7000n], // three shelves and a half are 72, a whole load is 70
    [8n, 7000n],
    [9n, 8200n],
  ])('%s at the cheapest', (halves, minor) => {
    expect(cheapestShelves(halves, SHELVES)).toBe(minor);
  });

  it('is the cheapest of every mixture, found by trying them all', () => {
    const price = fc.integer({ min: 0, max: 500 });
    fc.assert(
      fc.property(
        fc.record({
          halfMinor: price,
          shelfMinor: price,
          loadMinor: price,
          halvesALoad: fc.integer({ min: 1, max: 9 }),
        }),
        fc.integer({ min: 0, max: 40 }),
        (prices, halves) => {
          let best = Number.POSITIVE_INFINITY;
          for (let loads = 0; loads <= halves; loads += 1)
            for (let shelves = 0; shelves <= halves; shelves += 1) {
              const rest = Math.max(0, halves - loads * prices.halvesALoad - 2 * shelves);
              best = Math.min(
                best,
                loads * prices.loadMinor + shelves * prices.shelfMinor + rest * prices.halfMinor,
              );
            }
          expect(cheapestShelves(BigInt(halves), prices)).toBe(BigInt(best));
        },
      ),
    );
  });
});

describe('the cost of a load', () => {
  it('54 kWh × 9 = 486, shared by 1.5, 2.5 and 4 L: 91, 152, 243', () => {
    const pieces = [1.5, 2.5, 4].map((l, i) => inLoad({ ...litres(l), payer: String(i) }));
    const prices = priceLoad(tariff(COST), 'USD', pieces, ELECTRIC);
    expect(amounts(prices)).toEqual([91, 152, 243]);
    expect(prices[1]?.because).toEqual([
      'Box 10 × 10 × 25 cm = 2,500 cm³',
      '54 kWh × US$0.09 = US$4.86',
      'Its part by volume, 2.5 of 8 L: US$1.52',
    ]);
  });

  it('with wear: 486 + 114 = 600; with burners, fuel in place of energy: 2500 + 114 = 2614', () => {
    const list = tariff({ ...COST, wearMinor: 114 });
    expect(amounts(priceLoad(list, 'USD', [inLoad()], ELECTRIC))).toEqual([600]);
    expect(amounts(priceLoad(list, 'USD', [inLoad()], { kWh: null, power: 'gas' }))).toEqual([2614]);
  });

  it('takes the usual where nobody knows what the load drew, and says so', () => {
    const [price] = priceLoad(tariff(COST), 'USD', [inLoad()], { kWh: null, power: 'electric' });
    expect(price?.amountMinor).toBe(486n);
    expect(price?.because).toContain('What this load drew is not known: the usual 54 kWh');
  });

  it('is quoted at the usual fill: 486 × 4 ÷ 60 = 32.4 → 32', () => {
    expect(one(tariff(COST, { minimumMinor: 100 }), litres(4)).amountMinor).toBe(32n);
  });

  it('knows no class: one discount must not make another payer pay more', () => {
    const list = tariff(COST, { factors: [factor({ memberClass: 'student', factor: '0.5' })] });
    const pieces = [inLoad({ ...litres(1), memberClass: 'student' }), inLoad(litres(1))];
    expect(amounts(priceLoad(list, 'USD', pieces, ELECTRIC))).toEqual([243, 243]);
  });

  it('shares that included litres pay for stay where they are: half of 243 is 121.5 → 122', () => {
    const pieces = [inLoad({ ...litres(1), includedCm3: 500 }), inLoad(litres(1))];
    expect(amounts(priceLoad(tariff(COST), 'USD', pieces, ELECTRIC))).toEqual([122, 243]);
  });
});

describe('tax', () => {
  it('20 % included in 372: 372 ÷ 1.2 = 310, tax 62', () => {
    const price = one(tariff(A_LITRE, { tax: { percent: '20', included: true } }));
    expect(price).toMatchObject({ netMinor: 310n, taxMinor: 62n, amountMinor: 372n });
    expect(price.because.at(-1)).toBe('Of it 20 % tax: £0.62');
  });

  it('20 % on top of 372: 74.4 → 74, together 446', () => {
    const price = one(tariff(A_LITRE, { tax: { percent: '20', included: false } }));
    expect(price).toMatchObject({ netMinor: 372n, taxMinor: 74n, amountMinor: 446n });
    expect(price.because.at(-1)).toBe('20 % tax £0.74, together £4.46');
  });

  it('8.875 % on top of 1000: 88.75 → 89', () => {
    const split = splitTax({ tax: { percent: '8.875', included: false }, rounding: 'half-up' }, 1000n);
    expect(split).toEqual({ netMinor: 1000n, taxMinor: 89n, amountMinor: 1089n });
  });

  it('net and tax sum to the amount, for a credit as for a charge', () => {
    fc.assert(
      fc.property(
        fc.bigInt({ min: -(10n ** 12n), max: 10n ** 12n }),
        fc.integer({ min: 0, max: 100_000 }),
        fc.boolean(),
        fc.constantFrom(...ROUNDINGS),
        (amount, thousandths, included, rounding) => {
          const tax = { percent: (thousandths / 1000).toFixed(3), included };
          const split = splitTax({ tax, rounding }, amount);
          expect(split.netMinor + split.taxMinor).toBe(split.amountMinor);
          expect(included ? split.amountMinor : split.netMinor).toBe(amount);
          const mirror = splitTax({ tax, rounding }, -amount);
          expect([mirror.netMinor, mirror.taxMinor]).toEqual([-split.netMinor, -split.taxMinor]);
        },
      ),
    );
  });
});

describe('items', () => {
  it('2.5 kg × £1.20 = £3.00, 0.125 kg = 15 p', () => {
    const item = { minor: 120, unit: 'kg' };
    expect(itemPrice(tariff(A_LITRE), 'GBP', item, '2.5')).toEqual({
      netMinor: 300n,
      taxMinor: 0n,
      amountMinor: 300n,
      because: ['2.5 kg × £1.20 = £3.00'],
    });
    expect(itemPrice(tariff(A_LITRE), 'GBP', item, '0.125').amountMinor).toBe(15n);
    expect(() => itemPrice(tariff(A_LITRE), 'GBP', item, 'many')).toThrow(RangeError);
  });
});

describe('rows of like pieces', () => {
  it('are each rounded, then multiplied: 3 × £3.72 = £11.16', () => {
    const [row] = quoteRows(tariff(A_LITRE), 'GBP', [{ ...piece(), count: 3 }]);
    expect(row?.each.amountMinor).toBe(372n);
    expect(row?.all.amountMinor).toBe(1116n);
  });

  it('share half shelves exactly, each its part: 7 cups of 100 cm² take 2 halves, £20 ÷ 7 ≈ £2.86', () => {
    const [row] = quoteRows(tariff(SHELVES), 'GBP', [{ ...piece(litres(1)), count: 7 }]);
    expect([row?.each.amountMinor, row?.all.amountMinor]).toEqual([286n, 2000n]);
  });
});

describe('whatever the pieces', () => {
  const size = fc.integer({ min: 1, max: 300_000 }).map((hundredths) => hundredths / 100);
  const anyPiece = fc.record({
    widthMm: size,
    depthMm: size,
    heightMm: size,
    payer: fc.constantFrom('ida', 'bo', 'class'),
    memberClass: fc.constantFrom('member', 'student'),
  });
  const rounding = fc.constantFrom(...ROUNDINGS);
  const step = fc.integer({ min: 1, max: 100 });

  it('parts of a load sum to what it cost, in any currency, by any rounding', () => {
    fc.assert(
      fc.property(
        fc.array(anyPiece, { minLength: 1, maxLength: 40 }),
        rounding,
        step,
        fc.constantFrom('JPY', 'GBP', 'KWD'),
        fc.integer({ min: 0, max: 100_000 }),
        (given, mode, stepMinor, currency, wh) => {
          const pieces = given.map((each) => inLoad(each));
          const list = tariff({ ...COST, minorPerKwh: '28.537' }, { rounding: mode, stepMinor });
          const load = { kWh: wh / 1000, power: 'electric' as const };
          const [whole] = priceLoad(list, currency, [inLoad()], load);
          expect(sum(priceLoad(list, currency, pieces, load).map((p) => p.amountMinor))).toBe(
            whole?.amountMinor,
          );
          expect((whole?.amountMinor ?? 1n) % BigInt(stepMinor)).toBe(0n);
        },
      ),
    );
  });

  it('parts of half shelves sum to the half shelves of each payer', () => {
    fc.assert(
      fc.property(fc.array(anyPiece, { minLength: 1, maxLength: 40 }), (given) => {
        const pieces = given.map((each) => inLoad({ ...each, memberClass: 'member' }));
        const prices = priceLoad(tariff(SHELVES), 'GBP', pieces, ELECTRIC);
        for (const payer of new Set(pieces.map((each) => each.payer))) {
          const theirs = pieces.flatMap((each, i) => (each.payer === payer ? [i] : []));
          const tenThousandths = sum(
            theirs.map((i) => {
              const { widthMm = 0, depthMm = 0 } = pieces[i] ?? {};
              return BigInt(Math.round(widthMm * 100)) * BigInt(Math.round(depthMm * 100));
            }),
          );
          const halves = (tenThousandths + 599_999_999n) / 600_000_000n;
          expect(sum(theirs.map((i) => prices[i]?.amountMinor ?? 0n))).toBe(cheapestShelves(halves, SHELVES));
        }
      }),
    );
  });

  it('a larger box never costs less, and a price is a multiple of its step and no less than the minimum', () => {
    fc.assert(
      fc.property(
        anyPiece,
        size,
        rounding,
        step,
        fc.integer({ min: 0, max: 900 }),
        (given, more, mode, stepMinor, minimumMinor) => {
          const list = tariff(A_LITRE, { rounding: mode, stepMinor, minimumMinor });
          const small = one(list, given);
          const large = one(list, { ...given, heightMm: given.heightMm + more });
          expect(large.amountMinor >= small.amountMinor).toBe(true);
          expect(small.amountMinor % BigInt(stepMinor)).toBe(0n);
          expect(small.amountMinor >= BigInt(minimumMinor)).toBe(true);
        },
      ),
    );
  });

  it('are priced the same in any company, but for what they share', () => {
    fc.assert(
      fc.property(fc.array(anyPiece, { minLength: 1, maxLength: 10 }), (given) => {
        const pieces = given.map((each) => inLoad(each));
        const list = tariff(A_LITRE, { stepMinor: 5, tax: { percent: '7.5', included: true } });
        const together = priceLoad(list, 'GBP', pieces, ELECTRIC);
        expect(together).toEqual(pieces.flatMap((each) => priceLoad(list, 'GBP', [each], ELECTRIC)));
      }),
    );
  });

  it.each([0, -1, Number.NaN, Number.POSITIVE_INFINITY])('a width of %d is a mistake', (widthMm) => {
    expect(() => one(tariff(A_LITRE), { widthMm })).toThrow(RangeError);
    expect(() => one(tariff(SHELVES), { widthMm })).toThrow(RangeError);
  });
});
