import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  foldLot,
  foldStock,
  isExpired,
  isLow,
  type LotState,
  type StockEvent,
  type StockKind,
  stepLot,
  stockWords,
  toKg,
  toMg,
  usableMg,
} from '../../server/materials/stock.ts';

const event = (number: number, kind: StockKind, mg: number | null, more: Partial<StockEvent> = {}) => ({
  number,
  lot: 1,
  kind,
  mg,
  happenedAt: number,
  voids: null,
  ...more,
});

const NOTHING: LotState = { mg: 0, recalledAt: null, doubts: [] };

describe('a lot', () => {
  it('is what came less what went', () => {
    const lot = foldLot([event(1, 'delivery', 25e6), event(2, 'use', 3e6), event(3, 'disposal', 500)]);
    expect(lot).toEqual({ mg: 25e6 - 3e6 - 500, recalledAt: null, doubts: [] });
  });

  it('is emptied to exactly nothing by as much as was delivered', () => {
    const tenths = Array.from({ length: 10 }, (_, i) => event(i + 2, 'use', toMg(0.1)));
    expect(foldLot([event(1, 'delivery', toMg(1)), ...tenths])).toEqual(NOTHING);
  });

  it('never goes below zero: what took too much is doubted until somebody counts', () => {
    const events = [event(1, 'delivery', 300), event(2, 'use', 400), event(3, 'use', 1)];
    expect(foldLot(events)).toMatchObject({ mg: 0, doubts: [2, 3] });
    expect(foldLot([...events, event(4, 'count', 50)])).toMatchObject({ mg: 50, doubts: [] });
    expect(foldLot([...events, event(4, 'delivery', 50)])).toMatchObject({ mg: 50, doubts: [2, 3] });
  });

  it('is recalled until that is lifted, whatever else happens', () => {
    const recalled = [event(1, 'delivery', 9), event(2, 'recall', null), event(3, 'count', 4)];
    expect(foldLot(recalled)).toMatchObject({ mg: 4, recalledAt: 2 });
    expect(foldLot([...recalled, event(4, 'recall-lifted', null)]).recalledAt).toBeNull();
    expect(foldLot([...recalled, event(4, 'void', null, { voids: 2 })]).recalledAt).toBeNull();
  });

  it('is reckoned without what was struck out, doubts included', () => {
    const events = [event(1, 'delivery', 300), event(2, 'use', 400)];
    expect(foldLot([...events, event(3, 'void', null, { voids: 2 })])).toEqual({ ...NOTHING, mg: 300 });
    expect(foldLot([...events, event(3, 'void', null, { voids: 1 })])).toMatchObject({ mg: 0, doubts: [2] });
  });

  it('takes a backdated row in where it happened', () => {
    const later = [event(1, 'delivery', 300), event(2, 'count', 100, { happenedAt: 50 })];
    expect(foldLot([...later, event(3, 'use', 40, { happenedAt: 20 })]).mg).toBe(100);
    expect(foldLot([...later, event(3, 'use', 40, { happenedAt: 50 })]).mg).toBe(60);
  });
});

const kinds = fc.constantFrom<StockKind>('delivery', 'use', 'count', 'disposal', 'recall', 'recall-lifted');
const isAmount = (kind: StockKind) => !kind.startsWith('recall');

/** A ledger of three lots in the order it was written, with backdated rows and rows struck out. */
const ledger = fc
  .array(
    fc.record({
      kind: kinds,
      lot: fc.integer({ min: 1, max: 3 }),
      mg: fc.integer({ min: 0, max: 1e9 }),
      happenedAt: fc.integer({ min: 0, max: 40 }),
      strikes: fc.option(fc.nat(), { nil: null, freq: 3 }),
    }),
    { maxLength: 40 },
  )
  .map((rows) => {
    const events: StockEvent[] = [];
    const struck = new Set<number>();
    rows.forEach(({ kind, lot, mg, happenedAt, strikes }, i) => {
      const number = i + 1;
      const target = strikes === null ? undefined : events[strikes % Math.max(events.length, 1)];
      if (target && target.kind !== 'void' && !struck.has(target.number)) {
        struck.add(target.number);
        events.push({ number, lot: target.lot, kind: 'void', mg: null, happenedAt, voids: target.number });
      } else events.push({ number, lot, kind, mg: isAmount(kind) ? mg : null, happenedAt, voids: null });
    });
    return events;
  });

describe('any ledger', () => {
  it('leaves whole milligrams, never fewer than none, and doubts only what took something', () => {
    fc.assert(
      fc.property(ledger, (events) => {
        for (const [lot, { mg, doubts }] of foldStock(events)) {
          expect(Number.isSafeInteger(mg)).toBe(true);
          expect(mg).toBeGreaterThanOrEqual(0);
          for (const number of doubts) {
            const doubted = events.find((one) => one.number === number);
            expect(doubted?.lot).toBe(lot);
            expect(['use', 'disposal']).toContain(doubted?.kind);
          }
        }
      }),
    );
  });

  it('comes to the same in whatever order its rows are read, and lot by lot', () => {
    fc.assert(
      fc.property(
        ledger.chain((events) =>
          fc.record({
            events: fc.constant(events),
            read: fc.shuffledSubarray(events, { minLength: events.length }),
          }),
        ),
        ({ events, read }) => {
          const folded = foldStock(events);
          expect(new Map([...foldStock(read)].sort())).toEqual(new Map([...folded].sort()));
          for (const [lot, state] of folded)
            expect(foldLot(events.filter((one) => one.lot === lot))).toEqual(state);
        },
      ),
    );
  });

  it('written in its order, with nothing struck out, comes to what one step after another gives', () => {
    fc.assert(
      fc.property(ledger, (events) => {
        const plain = events
          .filter(({ kind }) => kind !== 'void')
          .map((one) => ({ ...one, lot: 1, happenedAt: one.number }));
        expect(foldLot(plain)).toEqual(plain.reduce(stepLot, NOTHING));
      }),
    );
  });

  it('is put back by striking its last row out', () => {
    fc.assert(
      fc.property(ledger, kinds, fc.integer({ min: 0, max: 1e9 }), (events, kind, mg) => {
        const number = events.length + 1;
        const before = foldStock(events).get(1) ?? NOTHING;
        const more = event(number, kind, isAmount(kind) ? mg : null, { happenedAt: 20 });
        const struck = event(number + 1, 'void', null, { voids: number, happenedAt: 41 });
        expect(foldStock([...events, more, struck]).get(1)).toEqual(before);
      }),
    );
  });
});

describe('what may be weighed', () => {
  const lot = { onHandMg: 2e6, expiresOn: null, recalledAt: null };
  it('leaves out recalled and expired lots; the last good day still counts', () => {
    const lots = [
      lot,
      { ...lot, expiresOn: '2026-03-07' },
      { ...lot, expiresOn: '2026-03-06' },
      { ...lot, recalledAt: 1 },
    ];
    expect(usableMg(lots, '2026-03-07')).toBe(4e6);
    expect(isExpired({ expiresOn: '2026-03-07' }, '2026-03-07')).toBe(false);
    expect(isExpired({ expiresOn: '2026-03-07' }, '2026-03-08')).toBe(true);
  });

  it('is low below the level, not at it, and never where nobody watches it', () => {
    expect(isLow(2, [lot], '2026-03-07')).toBe(false);
    expect(isLow(2.0001, [lot], '2026-03-07')).toBe(true);
    expect(isLow(null, [], '2026-03-07')).toBe(false);
    expect(isLow(1, [{ ...lot, recalledAt: 1 }], '2026-03-07')).toBe(true);
  });
});

describe('amounts', () => {
  it('keep kilograms to the milligram', () => {
    fc.assert(fc.property(fc.integer({ min: 0, max: 1e11 }), (mg) => toMg(toKg(mg)) === mg));
    expect(toMg(0.1 + 0.2)).toBe(300_000);
  });

  it.each([
    [0, 'metric', '0 kg'],
    [300_000, 'metric', '300 g'],
    [12_340, 'metric', '12.3 g'],
    [999_900, 'metric', '1000 g'],
    [25e6, 'metric', '25 kg'],
    [453_592, 'us', '1 lb'],
  ] as const)('%d mg in %s are %s', (mg, units, words) => {
    expect(stockWords(mg, units)).toBe(words);
  });
});
