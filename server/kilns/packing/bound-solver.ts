import loadHighs from 'highs';

/** One column: its name's index is its place in the list. */
export interface Column {
  cost: number;
  most: number;
  whole: boolean;
}

/** Σ terms ≤ most. */
export interface Row {
  terms: [column: number, factor: number][];
  most: number;
}

export interface Programme {
  sense: 'Minimize' | 'Maximize';
  columns: Column[];
  rows: Row[];
}

/**
 * The proven optimum of a programme, with its whole numbers kept whole or let be fractions; null when it is not proven
 * within `part` of the time left.
 */
export type Solver = (programme: Programme, whole: boolean, part: number) => number | null;

/** Below this it does not pay to start, ms. */
const LEAST_MS = 8;
/** Whole numbers are tried where there is so much time a column, ms: with less they are hardly ever proven. */
const LEAST_MS_A_COLUMN = 4;
/** Instead of time where the same answer is wanted every time: nodes, and columns at most. */
const NODES = 500;
const MOST_COLUMNS = 120;

let loaded: ReturnType<typeof loadHighs> | undefined;

/**
 * HiGHS, told by `left` how many ms there are (null: as long as it takes, but small programmes and few nodes only, the same
 * every time). A value counts only when the solver says it is optimal.
 */
export async function solver(left: () => number | null): Promise<Solver> {
  loaded ??= loadHighs();
  const highs = await loaded;
  return (programme, whole, part) => {
    const ms = left();
    const size = programme.columns.length;
    if (ms === null && whole && size > MOST_COLUMNS) return null;
    if (ms !== null && ms * part < (whole ? LEAST_MS_A_COLUMN * size : LEAST_MS)) return null;
    const limit = ms === null ? { mip_max_nodes: NODES } : { time_limit: (ms * part) / 1000 };
    try {
      const answer = highs.solve(written(programme, whole), {
        output_flag: false,
        mip_rel_gap: 0,
        mip_abs_gap: 1e-6,
        ...limit,
      });
      const proven = answer.Status === 'Optimal' && Number.isFinite(answer.ObjectiveValue);
      return proven ? answer.ObjectiveValue : null;
    } catch {
      // The solver's memory may be in any state now: the next problem gets a new one.
      loaded = undefined;
      return null;
    }
  };
}

/** The programme in the LP format. */
function written({ sense, columns, rows }: Programme, whole: boolean): string {
  const sum = (terms: [number, number][]) =>
    terms.map(([column, factor], i) => `${i % 8 === 7 ? '\n' : ''} ${signed(factor)} x${column}`).join('');
  const objective = columns.flatMap(({ cost }, i): [number, number][] => (cost === 0 ? [] : [[i, cost]]));
  return [
    sense,
    ` obj:${sum(objective) || ' 0 x0'}`,
    'Subject To',
    ...rows.map((row, i) => ` r${i}:${sum(row.terms)} <= ${row.most}`),
    'Bounds',
    ...columns.flatMap(({ most }, i) => (Number.isFinite(most) ? [` 0 <= x${i} <= ${most}`] : [])),
    ...(whole ? ['General', ...columns.flatMap((column, i) => (column.whole ? [` x${i}`] : []))] : []),
    'End',
  ].join('\n');
}

const signed = (factor: number) => `${factor < 0 ? '-' : '+'} ${Math.abs(factor)}`;
