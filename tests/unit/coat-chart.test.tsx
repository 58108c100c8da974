import { render } from 'preact-render-to-string';
import { describe, expect, it } from 'vitest';
import type { FittedTile } from '../../server/ware/service/coat.ts';
import { tightened } from '../../views/ware/coat.tsx';
import { CoatChart } from '../../views/ware/coat-chart.tsx';

const tile = (id: number, seconds: number, mm: number, more: Partial<FittedTile> = {}): FittedTile => ({
  id,
  clay: { id: 1, name: 'Buff' },
  bucket: 'CHK',
  at: 0,
  by: { id: 1, name: 'Wren' },
  seconds,
  specificGravity: 1.46,
  areaCm2: 100,
  gainGrams: 10,
  dryGrams: null,
  gramsPerCm2: mm * 0.14,
  mm,
  gravityByTile: null,
  isLeftOut: false,
  note: null,
  struck: null,
  ...more,
});
const curve = [0, 1, 4, 9].map((seconds) => ({
  seconds,
  mm: 0.1 + 0.2 * Math.sqrt(seconds),
  low: 0.05 + 0.15 * Math.sqrt(seconds),
  high: 0.15 + 0.25 * Math.sqrt(seconds),
}));
const dwell = {
  seconds: { low: 3, best: 4, high: 5 },
  counts: { from: 3, to: 5 },
  saturated: false,
  basis: 'own' as const,
  words: '',
};
const html = (more: object = {}) =>
  render(
    <CoatChart
      tiles={[tile(1, 1, 0.3), tile(2, 4, 0.5), tile(3, 6, 1.4, { isLeftOut: true })]}
      curve={curve}
      gravity={1.46}
      wantedMm={0.5}
      dwell={dwell}
      {...more}
    />,
  );
const path = (out: string, look: string) => new RegExp(`class="${look}" d="([^"]+)"`).exec(out)?.[1] ?? '';

describe('the chart of test tiles', () => {
  it('says in words what it shows', () => {
    expect(/aria-label="([^"]+)"/.exec(html())?.[1]).toBe(
      "Dry coat over seconds: 3 tiles, 1 of them left out. At today's gravity of 1.46 the line rises from 0.10 mm " +
        'to 0.70 mm after 9 s. Wanted: 0.50 mm. Today that takes about 4.0 s.',
    );
  });

  it('draws thicker higher and longer further right, all inside', () => {
    const points = Array.from(path(html(), 'line').matchAll(/[ML]([\d.-]+) ([\d.-]+)/g), ([, x, y]) => [
      Number(x),
      Number(y),
    ]);
    expect(points).toHaveLength(curve.length);
    for (const [i, [x = -1, y = -1]] of points.entries()) {
      const [bx = -1, by = 99] = points[i - 1] ?? [];
      expect(x).toBeGreaterThan(bx);
      expect(y).toBeLessThan(by);
      expect(x).toBeLessThanOrEqual(100);
      expect(y).toBeGreaterThanOrEqual(1);
    }
  });

  it('tells tiles apart by shape: counting, left out, of another gravity, and today', () => {
    const out = html({
      tiles: [
        tile(1, 1, 0.3),
        tile(2, 4, 0.5, { isLeftOut: true }),
        tile(3, 2, 0.6, { specificGravity: 1.6 }),
      ],
    });
    for (const words of ['a tile', 'a tile from another gravity', 'left out', 'today', 'wanted'])
      expect(out).toContain(words);
    expect(out).toContain('class="voided"');
    expect(out).toContain('class="unstirred"');
    expect(html({ tiles: [tile(1, 1, 0.3)] })).not.toContain('class="voided"');
  });

  it('leaves struck tiles out, and draws no line or today without a fit', () => {
    const struck = { by: 'Wren', at: 0, why: 'slipped' };
    expect(html({ tiles: [tile(1, 1, 0.3), tile(2, 3, 0.4, { struck })] })).toContain('1 tile.');
    const bare = html({ curve: [], gravity: null });
    expect(path(bare, 'line')).toBe('');
    expect(bare).not.toContain('today');
    expect(html({ curve: [], tiles: [] })).toBe('');
  });

  it('stays whole with odd figures', () => {
    const odd = html({ tiles: [tile(1, 600, 0.001), tile(2, 0, 40)], wantedMm: 0.01 });
    expect(odd).not.toMatch(/NaN|Infinity|undefined/);
  });

  it('says how a count tightens, or that it stays', () => {
    const counted = (from: number, to: number) => ({ ...dwell, counts: { from, to } });
    expect(tightened(counted(2, 5), counted(3, 4))).toBe('Before: count 2 to 5. Now: count 3 to 4.');
    expect(tightened(counted(3, 3), counted(3, 3))).toBe('Still count 3.');
    expect(tightened({ ...dwell, counts: null }, counted(3, 4))).toBe(
      'Before: no count to go by. Now: count 3 to 4.',
    );
  });
});
