import type { Reader } from '../../server/buckets/actions/reader.ts';
import {
  type Calibration,
  isCoarse,
  lineAt,
  middleOf,
  mmPerHundredth,
  rangeOf,
} from '../../server/buckets/float.ts';
import { gravityFigure } from '../../server/buckets/sentences.ts';
import type { BucketNow, Float } from '../../server/buckets/service/index.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import { Chip } from '../ui/icons.tsx';
import { Empty, Notice } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { FloatStrip } from './float-strip.tsx';

interface Props {
  float: Float;
  buckets: BucketNow[];
  reader: Reader;
}

export function FloatSheetPage({ float, buckets, reader }: Props) {
  const { name, code, calibration } = float;
  return (
    <>
      <h1>
        Lines for {name} <span class="code">{code}</span>
      </h1>
      {calibration ? (
        <Lines calibration={calibration} buckets={buckets} reader={reader} at={calibration.madeAt} />
      ) : (
        <Empty title="Not calibrated yet">
          <p>A technician calibrates it with two or more weighed glazes; then every bucket has its lines.</p>
        </Empty>
      )}
      <p class="screen-only">
        <a href={reader.technician ? `/gear/floats/${code}` : '/wall'}>
          {reader.technician ? `Back to ${name}` : 'The glaze wall'}
        </a>
      </p>
    </>
  );
}

function Lines({
  calibration,
  buckets,
  reader,
  at,
}: {
  calibration: Calibration;
  buckets: BucketNow[];
  reader: Reader;
  at: number;
}) {
  const middle = middleOf(calibration);
  const { low, high } = rangeOf(calibration);
  const coarse = buckets.some(({ target }) => isCoarse(calibration, target.aim));
  return (
    <>
      <p>
        0.01 SG is {mmPerHundredth(calibration, middle).toFixed(1)} mm at SG {middle.toFixed(2)}. Calibrated
        on {toWallTime(at, reader.timeZone).slice(0, 10)}, SG {low.toFixed(2)} to {high.toFixed(2)}.
      </p>
      {coarse && (
        <Notice title="Less than 3 mm for 0.01 SG">
          <p>Too coarse to steer by where it is marked: use a weighted bottle with a thin neck.</p>
        </Notice>
      )}
      <p>
        Draw each line at so many mm from the zero of its scale. Wet it, bob it, let it rest: surface above
        the thin line, the glaze is too thin; below the thick line, too thick.
      </p>
      <p class="screen-only narrow">
        <button class="do" type="button" data-print>
          Print the sheet
        </button>
      </p>
      <Table
        columns={[
          { label: 'Bucket', main: true },
          { label: 'Wanted SG', keepLabel: true },
          { label: 'Thick line', number: true, keepLabel: true },
          { label: 'Aim', number: true, keepLabel: true },
          { label: 'Thin line', number: true, keepLabel: true },
          { label: '0.01 SG is', number: true, keepLabel: true },
        ]}
        rows={buckets.map(({ code, name, colour, target }) => ({
          key: code,
          cells: [
            <>
              <Chip colour={colour} /> {name} <span class="code">{code}</span>
            </>,
            `${gravityFigure(target.low)} to ${gravityFigure(target.high)}`,
            lineAt(calibration, target.high),
            lineAt(calibration, target.aim),
            lineAt(calibration, target.low),
            `${mmPerHundredth(calibration, target.aim).toFixed(1)} mm${isCoarse(calibration, target.aim) ? ', coarse' : ''}`,
          ],
        }))}
      />
      <FloatStrip calibration={calibration} buckets={buckets} />
    </>
  );
}
