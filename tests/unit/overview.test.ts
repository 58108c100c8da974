import { describe, expect, it } from 'vitest';
import { kilnMonths, together } from '../../server/fees/overview.ts';

const R1 = { code: 'R1', name: 'Round' };
const F2 = { code: 'F2', name: 'Front' };

describe('a kiln in a month', () => {
  const rows = kilnMonths(
    [
      { period: '2026-02', kiln: R1, litres: 40, energyMinor: 486n },
      { period: '2026-02', kiln: R1, litres: 35.5, energyMinor: 514n },
      { period: '2026-02', kiln: F2, litres: 80, energyMinor: null },
      { period: '2026-01', kiln: R1, litres: 10, energyMinor: 100n },
    ],
    [
      { period: '2026-02', kilnCode: 'R1', kilnName: 'Round', incomeMinor: 9_060n, creditMinor: 755n },
      { period: '2026-02', kilnCode: 'F2', kilnName: 'Front', incomeMinor: 12_000n, creditMinor: 0n },
      { period: '2026-03', kilnCode: 'R1', kilnName: 'Round', incomeMinor: 250n, creditMinor: 0n },
    ],
    { R1: 300 },
  );

  it('stands by month and then by code', () => {
    expect(rows.map(({ period, kiln }) => `${period} ${kiln.code}`)).toEqual([
      '2026-01 R1',
      '2026-02 F2',
      '2026-02 R1',
      '2026-03 R1',
    ]);
  });

  it('keeps what is left of its income after what was given back, energy and wear', () => {
    // 90.60 − 7.55 − (4.86 + 5.14) − 2 × 3.00 = 67.05; (90.60 − 7.55) over 75.5 L = 1.10 a litre.
    expect(rows[2]).toMatchObject({
      loads: 2,
      litres: 75.5,
      energyMinor: 1000n,
      wearMinor: 600n,
      marginMinor: 6705n,
      perLitreMinor: 110n,
    });
  });

  it('counts no wear for a kiln of which none was chosen, whatever its code is', () => {
    const kiln = { code: 'constructor', name: 'Odd' };
    const [row] = kilnMonths([{ period: '2026-02', kiln, litres: 1, energyMinor: 0n }], [], { R1: 300 });
    expect(row?.wearMinor).toBe(0n);
  });

  it('knows no margin where the energy of a load is not known', () => {
    expect(rows[1]).toMatchObject({ energyMinor: null, marginMinor: null, perLitreMinor: 150n });
  });

  it('has a row for what was charged later than it was fired, without a price a litre', () => {
    expect(rows[3]).toMatchObject({
      loads: 0,
      litres: 0,
      incomeMinor: 250n,
      perLitreMinor: null,
      marginMinor: 250n,
    });
  });

  it('adds up', () => {
    const all = together(rows.filter(({ kiln }) => kiln.code === 'R1'));
    // 0 + 90.60 + 2.50 in, 7.55 back, 1.00 + 10.00 energy, 3.00 + 6.00 wear.
    expect(all).toEqual({
      loads: 3,
      litres: 85.5,
      incomeMinor: 9310n,
      creditMinor: 755n,
      energyMinor: 1100n,
      wearMinor: 900n,
      marginMinor: 6555n,
      // 85.55 over 85.5 L
      perLitreMinor: 100n,
    });
    expect(together(rows).marginMinor).toBeNull();
    expect(together([])).toMatchObject({ incomeMinor: 0n, perLitreMinor: null });
  });
});
