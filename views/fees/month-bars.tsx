import { moneyText } from '../../server/core/money.ts';
import { monthWords } from '../../server/fees/month-words.ts';
import { em, pc } from '../ui/plot.ts';

interface Month {
  period: string;
  incomeMinor: bigint;
  costMinor: bigint;
}

const BOTTOM = 13;
const TOP = 0.6;
// Labels nearer than this, in per cent of the width, would run into each other.
const LABEL_APART = 14;

/** Income beside cost, a pair of bars a month; the cost is hatched, so that colour is not needed. */
export function MonthBars({ months, currency }: { months: Month[]; currency: string }) {
  const values = months.flatMap(({ incomeMinor, costMinor }) => [Number(incomeMinor), Number(costMinor)]);
  const { ticks, min, max } = moneyScale(values);
  const y = (value: number) => TOP + ((BOTTOM - TOP) * (max - value)) / (max - min);
  const slot = 100 / months.length;
  const every = Math.ceil(LABEL_APART / slot);
  const bar = (value: bigint, x: number, kind: string) => {
    const [from, to] = [y(Math.max(0, Number(value))), y(Math.min(0, Number(value)))];
    return <rect class={kind} x={pc(x)} width={pc(slot * 0.36)} y={em(from)} height={em(to - from)} />;
  };
  return (
    <figure class="trend-figure">
      <div class="trend bars" role="img" aria-label={inWords(months, currency)}>
        <svg aria-hidden="true">
          {ticks.map((tick) => (
            <text key={tick} x="92%" y={em(y(tick) + 0.35)} text-anchor="end">
              {moneyText(BigInt(tick), currency).replace(/[.]0+$/, '')}
            </text>
          ))}
        </svg>
        <svg aria-hidden="true">
          <defs>
            <pattern
              id="cost-hatch"
              width="6"
              height="6"
              patternUnits="userSpaceOnUse"
              patternTransform="rotate(45)"
            >
              <rect class="hatch-ground" width="6" height="6" />
              <rect class="hatch-line" width="3" height="6" />
            </pattern>
          </defs>
          {ticks.map((tick) => (
            <line key={tick} class="grid" x1="0" x2="100%" y1={em(y(tick))} y2={em(y(tick))} />
          ))}
          {months.map(({ period, incomeMinor, costMinor }, i) => (
            <g key={period}>
              {bar(incomeMinor, slot * (i + 0.12), 'income')}
              {bar(costMinor, slot * (i + 0.52), 'cost')}
              {i % every === 0 && (
                <text x={pc(slot * (i + 0.5))} y={em(BOTTOM + 1.7)} text-anchor="middle">
                  {shortMonth(period)}
                </text>
              )}
            </g>
          ))}
        </svg>
      </div>
      <figcaption class="trend-key bars">
        <span>
          <svg aria-hidden="true">
            <rect class="income" width="100%" height="100%" />
          </svg>{' '}
          income less what was given back
        </span>
        <span>
          <svg aria-hidden="true">
            <rect class="cost" width="100%" height="100%" />
          </svg>{' '}
          energy and wear
        </span>
      </figcaption>
    </figure>
  );
}

/** 'Jul 26' */
const shortMonth = (period: string): string => {
  const [month = '', year = ''] = monthWords(period).split(' ');
  return `${month.slice(0, 3)} ${year.slice(2)}`;
};

/** Round steps from the lowest to the highest amount, zero among them, at most seven; minor units. */
function moneyScale(values: number[]): { ticks: number[]; min: number; max: number } {
  const [lowest, highest] = [Math.min(0, ...values), Math.max(1, ...values)];
  const rough = (highest - lowest) / 5;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = Math.max(1, [1, 2, 5, 10].map((by) => by * power).find((one) => one >= rough) ?? rough);
  const first = Math.floor(lowest / step);
  const last = Math.ceil(highest / step);
  const ticks = Array.from({ length: last - first + 1 }, (_, i) => Math.round((first + i) * step));
  return { ticks, min: first * step, max: last * step };
}

const inWords = (months: Month[], currency: string): string =>
  `Bars, month by month. ${months
    .map(
      ({ period, incomeMinor, costMinor }) =>
        `${monthWords(period)}: income ${moneyText(incomeMinor, currency)}, energy and wear ${moneyText(costMinor, currency)}`,
    )
    .join('. ')}.`;
