import { type Calibration, markFor } from '../../server/buckets/float.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';

/** Everything in mm, as it comes out of the printer. */
const CODES = 26;
const ROW = 6;
const RULER = 9;
const BEYOND = 8;

/** The lines of every bucket in true size beside a mm scale, to cut out or to copy from. */
export function FloatStrip({ calibration, buckets }: { calibration: Calibration; buckets: BucketNow[] }) {
  const rows = buckets.flatMap(({ code, target }) => {
    const [thick, aim, thin] = [target.high, target.aim, target.low].map((sg) => markFor(calibration, sg));
    return thick == null || aim == null || thin == null || thick < 0 ? [] : [{ code, thick, aim, thin }];
  });
  if (rows.length === 0) return null;
  const from = Math.max(0, Math.floor((Math.min(...rows.map((row) => row.thick)) - BEYOND) / 10) * 10);
  const to = Math.ceil((Math.max(...rows.map((row) => row.thin)) + BEYOND) / 10) * 10;
  const width = CODES + to - from + BEYOND;
  const height = RULER + ROW * rows.length + 1;
  const at = (mm: number) => CODES + mm - from;
  return (
    <figure class="strip">
      <figcaption>
        In true size when printed at 100 %: check that 10 mm on it are 10 mm. Left is down the neck; each
        bucket has its thick line, its aim (a dot) and its thin line.
      </figcaption>
      <svg width={`${width}mm`} height={`${height}mm`} viewBox={`0 0 ${width} ${height}`} aria-hidden="true">
        {Array.from({ length: to - from + 1 }, (_, i) => from + i).map((mm) => (
          <path
            key={mm}
            d={`M${at(mm)} ${RULER}v${mm % 10 === 0 ? -4 : mm % 5 === 0 ? -3 : -1.8}`}
            stroke-width="0.15"
          />
        ))}
        {Array.from({ length: (to - from) / 10 + 1 }, (_, i) => from + 10 * i).map((mm) => (
          <text key={mm} x={at(mm)} y={RULER - 5} text-anchor="middle" font-size="3">
            {mm}
          </text>
        ))}
        <path d={`M${at(from)} ${RULER}H${at(to)}`} stroke-width="0.15" />
        {rows.map(({ code, thick, aim, thin }, i) => {
          const y = RULER + ROW * (i + 1) - 2;
          return (
            <g key={code}>
              <text x="0" y={y + 1} font-size="3">
                {code}
              </text>
              <path d={`M${at(thick)} ${y}H${at(thin)}`} stroke-width="0.15" />
              <path d={`M${at(thick)} ${y - 2}v4M${at(thin)} ${y - 2}v4`} stroke-width="0.4" />
              <circle cx={at(aim)} cy={y} r="0.7" />
            </g>
          );
        })}
      </svg>
    </figure>
  );
}
