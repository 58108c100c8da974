import { describe, expect, it } from 'vitest';
import { Invalid } from '../../server/core/errors.ts';
import type { FormSetting } from '../../server/core/forms.ts';
import {
  factorsAsTyped,
  itemsAsTyped,
  linesAsTyped,
  readFactors,
  readItems,
  readLines,
  readRules,
  rulesAsTyped,
  shifted,
} from '../../server/fees/price-rows.ts';
import { itemWords } from '../../server/fees/price-words.ts';
import type { Factor, Item, Line, Tariff } from '../../server/fees/tariff.ts';
import { kindsWithoutPrice, tariffFaults, tariffForm, usualTariff } from '../../server/fees/tariff-form.ts';

const CLASSES = ['member', 'student', 'guest'];
const setting: FormSetting = { units: 'metric', timeZone: 'Europe/London', currency: 'GBP' };
const base = usualTariff('volume');
const line = (more: Partial<Line> = {}): Line => ({
  code: 'A',
  name: 'All',
  kinds: [],
  basis: { by: 'included' },
  ...more,
});
const factor = (more: Partial<Factor> = {}): Factor => ({
  name: 'Dearer',
  factor: '1.25',
  kinds: [],
  coneFrom: null,
  coneTo: null,
  atmosphere: null,
  memberClass: null,
  ...more,
});
const item = (more: Partial<Item> = {}): Item => ({
  code: 'BAG',
  name: 'Clay',
  kind: 'sale',
  unit: 'bag',
  minor: 1200,
  litres: null,
  memberClass: null,
  income: 'clay',
  ...more,
});
const bands = (...limits: (number | null)[]): Line =>
  line({
    basis: { by: 'size', bands: limits.map((upToCm3, i) => ({ name: `S${i}`, upToCm3, minor: 100 })) },
  });
const pathsOf = (more: Partial<Tariff>) =>
  tariffFaults({ ...base, ...more }, CLASSES).map(({ path }) => path);

describe('a whole price list', () => {
  it.each(['volume', 'size', 'cost'] as const)('the start %s is sound', (start) => {
    const tariff = usualTariff(start);
    expect(tariffForm.parse(tariff)).toEqual(tariff);
    expect(tariffFaults(tariff, CLASSES)).toEqual([]);
    expect(kindsWithoutPrice(tariff)).toEqual([]);
  });

  it.each([
    ['bag', null, '£12.00 a bag'],
    ['hour', null, '£12.00 an hour'],
    ['unit', '6', '£12.00 a unit, with 6 litres of firing'],
  ])('an item by the %s in words', (unit, litres, words) => {
    expect(itemWords(item({ unit, litres }), 'GBP')).toBe(words);
  });

  it.each<[string, Partial<Tariff>, string[]]>([
    ['two lines of one code', { lines: [line(), line({ code: 'a' })] }, ['lines.1.code']],
    ['two items of one code', { items: [item(), item()] }, ['items.1.code']],
    ['an item named as a line', { lines: [line()], items: [item({ code: 'A' })] }, ['items.0.code']],
    ['a last size with a limit', { lines: [bands(1000, 2000)] }, ['lines.0.basis.bands.1.upToCm3']],
    ['a limit that falls', { lines: [bands(2000, 1000, null)] }, ['lines.0.basis.bands.1.upToCm3']],
    ['an equal limit', { lines: [bands(1000, 1000, null)] }, ['lines.0.basis.bands.1.upToCm3']],
    ['an open size in between', { lines: [bands(null, null)] }, ['lines.0.basis.bands.0.upToCm3']],
    [
      'cones the wrong way round',
      { factors: [factor({ coneFrom: '6', coneTo: '06' })] },
      ['factors.0.coneTo'],
    ],
    ['a class nobody knows', { factors: [factor({ memberClass: 'ghost' })] }, ['factors.0.memberClass']],
    [
      'dues for a class nobody knows',
      { items: [item({ kind: 'dues', memberClass: 'ghost' })] },
      ['items.0.memberClass'],
    ],
    ['a sale for a class', { items: [item({ memberClass: 'guest' })] }, ['items.0.memberClass']],
    ['a card without litres', { items: [item({ kind: 'card' })] }, ['items.0.litres']],
    ['dues with litres', { items: [item({ kind: 'dues', litres: '5' })] }, ['items.0.litres']],
    [
      'one class twice',
      {
        monthly: [
          { memberClass: null, litres: '5' },
          { memberClass: null, litres: '6' },
        ],
      },
      ['monthly.1.memberClass'],
    ],
    ['no line', { lines: [] }, ['lines.0.name']],
  ])('refuses %s', (_, more, paths) => {
    expect(pathsOf(more)).toEqual(paths);
  });

  it.each<[string, object]>([
    ['a rate of nothing', { lines: [line({ basis: { by: 'volume', minorPer: '0', unit: 'litre' } })] }],
    ['a negative rate', { lines: [line({ basis: { by: 'volume', minorPer: '-3', unit: 'litre' } })] }],
    ['an absurd rate', { lines: [line({ basis: { by: 'volume', minorPer: '9999999999', unit: 'litre' } })] }],
    [
      'a rate that is no decimal',
      { lines: [line({ basis: { by: 'volume', minorPer: '1e9', unit: 'litre' } })] },
    ],
    ['a factor of 0', { factors: [factor({ factor: '0' })] }],
    ['a factor of 0.000', { factors: [factor({ factor: '0.000' })] }],
    ['a cone there is not', { factors: [factor({ coneFrom: '15' })] }],
    ['tax above 100 %', { tax: { percent: '100.5', included: true } }],
    ['more than all given back', { lossPercent: '101' }],
    ['a step of nothing', { stepMinor: 0 }],
    ['half a penny', { minimumMinor: 0.5 }],
    ['a negative price', { items: [item({ minor: -1 })] }],
    ['an amount beyond all sense', { items: [item({ minor: 1e15 })] }],
    ['a way nobody knows', { lines: [{ ...line(), basis: { by: 'moon' } }] }],
    ['a field nobody knows', { extra: 1 }],
    ['no rounding', { rounding: 'sideways' }],
  ])('its form refuses %s', (_, more) => {
    expect(tariffForm.safeParse({ ...base, ...more }).success).toBe(false);
  });

  it('warns of a kind that no line prices', () => {
    expect(kindsWithoutPrice({ lines: [line({ kinds: ['bisque', 'glaze'] })] })).toEqual(['lustre', 'other']);
  });
});

describe('its parts as forms', () => {
  it('moves the point of a rate both ways', () => {
    expect(shifted('3.5', 2)).toBe('350');
    expect(shifted('0.0035', 2)).toBe('0.35');
    expect(shifted('350', -2)).toBe('3.5');
    expect(shifted('0.35', -2)).toBe('0.0035');
    expect(shifted('7', -3)).toBe('0.007');
    expect(shifted('120', 0)).toBe('120');
  });

  const lines: Line[] = [
    line({
      code: 'V',
      basis: { by: 'volume', minorPer: '350.25', unit: 'litre' },
      kinds: ['bisque', 'other'],
    }),
    line({ code: 'IN', basis: { by: 'area', minorPer: '12', unit: 'in2' } }),
    line({ code: 'KG', basis: { by: 'weight', minorPer: '0.5', unit: 'kg' } }),
    { ...bands(1000, 3000, null), code: 'S' },
    line({
      code: 'H',
      basis: {
        by: 'shelf',
        halfMinor: 900,
        shelfMinor: 1500,
        loadMinor: 7000,
        halfShelfCm2: 900,
        halvesALoad: 8,
      },
    }),
    line({
      code: 'C',
      basis: {
        by: 'cost',
        minorPerKwh: '28.5',
        wearMinor: 800,
        fuelMinor: 4000,
        usualKwh: 60.5,
        usualLitres: 80,
      },
    }),
    line({ code: 'Z' }),
  ];
  it.each(['GBP', 'JPY', 'BHD'])('lines come back as they were shown, in %s', (currency) => {
    expect(readLines(linesAsTyped(lines, currency), { ...setting, currency }).value).toEqual(lines);
  });

  it('factors, items and rules too', () => {
    const factors = [
      factor({
        kinds: ['glaze'],
        coneFrom: '06',
        coneTo: '6',
        atmosphere: 'reduction',
        memberClass: 'guest',
      }),
      factor(),
    ];
    expect(readFactors(factorsAsTyped(factors), setting).value).toEqual(factors);
    const items = [item({ litres: '12.5' }), item({ code: 'DUES', kind: 'dues', memberClass: 'member' })];
    expect(readItems(itemsAsTyped(items, 'GBP'), setting).value).toEqual(items);
    const value: Tariff = {
      ...base,
      tax: { percent: '20', included: true },
      rush: { withinDays: 7, percent: '50' },
      monthly: [
        { memberClass: null, litres: '5' },
        { memberClass: 'guest', litres: '2.5' },
      ],
    };
    const list = { name: 'Spring', validFrom: '2026-03-01', validUntil: null, value };
    const { rules, ...rest } = readRules(rulesAsTyped(list, CLASSES, 'GBP'), setting, CLASSES);
    expect(rest).toEqual({ name: 'Spring', validFrom: '2026-03-01', validUntil: null });
    expect({ ...value, ...rules }).toEqual(value);
  });

  const refusal = (work: () => unknown): string[] => {
    try {
      work();
    } catch (error) {
      if (error instanceof Invalid) return error.errors.map(({ path }) => path);
      throw error;
    }
    return [];
  };

  it('takes a line out once its code, name and way are empty, whatever else is filled in', () => {
    const typed = linesAsTyped([line(), line({ code: 'B', kinds: ['bisque'] })], 'GBP');
    const left = readLines({ ...typed, code2: '', name2: ' ', way2: '' }, setting).value;
    expect(left).toEqual([line()]);
  });

  it('an item that says nothing of the books stands where its kind does', () => {
    const typed = { name1: 'A', code1: 'A', kind1: 'sale', unit1: 'kg', minor1: '1' };
    const incomeOf = (more: Record<string, string>) =>
      readItems({ ...typed, ...more }, setting).value[0]?.income;
    expect([
      incomeOf({}),
      incomeOf({ litres1: '5' }),
      incomeOf({ kind1: 'hire' }),
      incomeOf({ kind1: 'work' }),
      incomeOf({ income1: 'glaze' }),
    ]).toEqual(['other', 'clay', 'hire', 'other', 'glaze']);
  });

  it('says what is wrong beside the field of its row, every fault at once', () => {
    const typed = {
      ...linesAsTyped([line({ basis: { by: 'volume', minorPer: '350', unit: 'litre' } })], 'GBP'),
      name4: 'Odd',
      code4: 'no code!',
      way4: 'size',
      code5: 'OK',
      name5: 'Sizes',
      way5: 'size',
      bandname5x2: 'Small',
      bandprice5x2: 'dear',
      rate1: '-3',
    };
    expect(refusal(() => readLines(typed, setting)).sort()).toEqual(['bandprice5x2', 'code4', 'rate1']);
    expect(refusal(() => readLines({}, setting))).toEqual(['name1']);
  });

  it('knows where a fault of the whole list was typed', () => {
    const { value, fieldOf } = readLines(
      { name2: 'S', code2: 'S', way2: 'size', bandname2x3: 'Big', bandto2x3: '500', bandprice2x3: '1' },
      setting,
    );
    const [fault] = tariffFaults({ ...base, lines: value }, CLASSES);
    expect(fieldOf.get(fault?.path ?? '')).toBe('bandto2x3');
  });

  it('a tax without its rate, a surcharge without its days, an end before the beginning', () => {
    const list = { name: 'X', validFrom: '2026-03-02', validUntil: '2026-03-01', value: base };
    const typed = { ...rulesAsTyped(list, CLASSES, 'GBP'), tax: 'added', rushPercent: '50' };
    expect(refusal(() => readRules(typed, setting, CLASSES)).sort()).toEqual([
      'rushDays',
      'taxPercent',
      'validUntil',
    ]);
  });
});
