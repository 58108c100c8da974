import { divide } from '../core/money.ts';

/** What firing brought in and took, of one kiln in one month. Amounts are minor units. */
export interface KilnMonth {
  period: string;
  kiln: { code: string; name: string };
  loads: number;
  litres: number;
  /** Charged for firings, without tax. */
  incomeMinor: bigint;
  /** Given back for losses, above zero. */
  creditMinor: bigint;
  /** Null where the energy of a load, or a price a kWh, is not known. */
  energyMinor: bigint | null;
  wearMinor: bigint;
}

export interface KilnMonthFigures extends KilnMonth {
  /** Income less credits, energy and wear; null where energy is not known. */
  marginMinor: bigint | null;
  /** Income less credits a litre fired, halves up; null where nothing was fired. */
  perLitreMinor: bigint | null;
}

interface Fired {
  period: string;
  kiln: { code: string; name: string };
  litres: number;
  energyMinor: bigint | null;
}

interface Earned {
  period: string;
  kilnCode: string;
  kilnName: string;
  incomeMinor: bigint;
  creditMinor: bigint;
}

/**
 * Puts what was fired beside what it brought in, a row a month and kiln, months in order and kilns by code. A month in
 * which a kiln only earned (a charge that came later) has a row too.
 *
 * @param wearMinor of elements and furniture a firing, by the kiln's code
 */
export function kilnMonths(
  fired: readonly Fired[],
  earned: readonly Earned[],
  wearMinor: Record<string, number>,
): KilnMonthFigures[] {
  const rows = new Map<string, KilnMonth>();
  const rowOf = (period: string, kiln: { code: string; name: string }): KilnMonth => {
    const key = `${period} ${kiln.code}`;
    const row = rows.get(key) ?? {
      period,
      kiln,
      loads: 0,
      litres: 0,
      incomeMinor: 0n,
      creditMinor: 0n,
      energyMinor: 0n,
      wearMinor: 0n,
    };
    rows.set(key, row);
    return row;
  };
  for (const { period, kiln, litres, energyMinor } of fired) {
    const row = rowOf(period, kiln);
    row.loads++;
    row.litres += litres;
    row.energyMinor = row.energyMinor === null || energyMinor === null ? null : row.energyMinor + energyMinor;
    // A kiln may be called 'constructor'.
    row.wearMinor += BigInt(Object.hasOwn(wearMinor, kiln.code) ? (wearMinor[kiln.code] ?? 0) : 0);
  }
  for (const { period, kilnCode, kilnName, incomeMinor, creditMinor } of earned) {
    const row = rowOf(period, { code: kilnCode, name: kilnName });
    row.incomeMinor += incomeMinor;
    row.creditMinor += creditMinor;
  }
  return [...rows.values()]
    .sort((a, b) => a.period.localeCompare(b.period) || a.kiln.code.localeCompare(b.kiln.code))
    .map(withMargin);
}

function withMargin(row: KilnMonth): KilnMonthFigures {
  const { incomeMinor, creditMinor, energyMinor, wearMinor, litres } = row;
  const kept = incomeMinor - creditMinor;
  const millilitres = BigInt(Math.round(litres * 1000));
  return {
    ...row,
    marginMinor: energyMinor === null ? null : kept - energyMinor - wearMinor,
    perLitreMinor: millilitres > 0n ? divide(kept * 1000n, millilitres, 'half-up') : null,
  };
}

/** The same of several rows together. */
export function together(rows: readonly KilnMonth[]): Omit<KilnMonthFigures, 'period' | 'kiln'> {
  const sum = (of: (row: KilnMonth) => bigint) => rows.reduce((all, row) => all + of(row), 0n);
  const isKnown = rows.every(({ energyMinor }) => energyMinor !== null);
  const {
    period: _,
    kiln: __,
    ...figures
  } = withMargin({
    period: '',
    kiln: { code: '', name: '' },
    loads: rows.reduce((all, { loads }) => all + loads, 0),
    litres: rows.reduce((all, { litres }) => all + litres, 0),
    incomeMinor: sum((row) => row.incomeMinor),
    creditMinor: sum((row) => row.creditMinor),
    energyMinor: isKnown ? sum((row) => row.energyMinor ?? 0n) : null,
    wearMinor: sum((row) => row.wearMinor),
  });
  return figures;
}
