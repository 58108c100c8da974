import { describe, expect, it } from 'vitest';
import { type PreviewLoad, type PreviewPiece, preview } from '../../server/fees/preview.ts';
import { priceLoad } from '../../server/fees/price.ts';
import { usualTariff } from '../../server/fees/tariff-form.ts';

const piece = (
  number: number,
  chargedMinor: bigint | null,
  more: Partial<PreviewPiece> = {},
): PreviewPiece => ({
  number,
  form: 'cup',
  widthMm: 100,
  depthMm: 100,
  heightMm: 100,
  kg: null,
  kind: 'glaze',
  cone: '6',
  atmosphere: 'oxidation',
  isRush: false,
  memberClass: 'member',
  payer: 'account 1',
  includedCm3: 0,
  chargedMinor,
  ...more,
});
const load = (number: number, pieces: PreviewPiece[]): PreviewLoad => ({
  number,
  kWh: 50,
  power: 'electric',
  pieces,
});

describe('a list on last month’s pieces', () => {
  // By volume: bisque £2.00, anything else £3.50 a litre; a piece of 10 × 10 × 10 cm is a litre.
  const value = usualTariff('volume');

  it('sums before and after, by kind and by class', () => {
    const result = preview(value, 'GBP', [
      load(2, [piece(5, 300n), piece(4, 400n, { memberClass: 'guest' })]),
      load(1, [piece(9, 200n, { kind: 'bisque', cone: '06' })]),
    ]);
    expect(result.rows.map((row) => row.piece)).toEqual([9, 4, 5]);
    // 300 + 400 + 200 = 900 → 350 + 350 + 200 = 900
    expect(result.total).toEqual({ name: 'All', count: 3, beforeMinor: 900n, afterMinor: 900n });
    expect(result.byKind).toEqual([
      { name: 'bisque', count: 1, beforeMinor: 200n, afterMinor: 200n },
      { name: 'glaze', count: 2, beforeMinor: 700n, afterMinor: 700n },
    ]);
    expect(result.byClass.map(({ name, afterMinor }) => [name, afterMinor])).toEqual([
      ['member', 550n],
      ['guest', 350n],
    ]);
    expect(result.risers.map((row) => row.piece)).toEqual([5]);
    expect(result.fallers.map((row) => row.piece)).toEqual([4]);
  });

  it('shares the cost of a whole load as charging would, and compares what was charged only', () => {
    const cost = usualTariff('cost');
    const pieces = [piece(1, 100n), piece(2, null), piece(3, 100n)];
    const result = preview(cost, 'GBP', [load(1, pieces)]);
    const whole = priceLoad(cost, 'GBP', pieces, { kWh: 50, power: 'electric' });
    expect(result.rows.map((row) => row.afterMinor)).toEqual([whole[0]?.amountMinor, whole[2]?.amountMinor]);
    // 50 kWh × 30p + £8.00 = £23.00; a third each: 767, 767, 766
    expect(whole.reduce((sum, { amountMinor }) => sum + amountMinor, 0n)).toBe(2300n);
  });

  it('counts what the list has no price for', () => {
    const [bisque] = value.lines;
    const result = preview({ ...value, lines: bisque ? [bisque] : [] }, 'GBP', [load(1, [piece(1, 350n)])]);
    expect(result.unpriced).toBe(1);
    expect(result.total.afterMinor).toBe(0n);
  });

  it('copes with no pieces and with 5,000', () => {
    expect(preview(value, 'GBP', []).total.count).toBe(0);
    const many = Array.from({ length: 125 }, (_, l) =>
      load(
        l + 1,
        Array.from({ length: 40 }, (_, i) => piece(l * 40 + i + 1, BigInt(i))),
      ),
    );
    const result = preview(value, 'GBP', many);
    expect(result.total.count).toBe(5000);
    expect(result.total.afterMinor).toBe(5000n * 350n);
    expect(result.risers).toHaveLength(5);
    expect(result.fallers).toHaveLength(0);
  });
});
