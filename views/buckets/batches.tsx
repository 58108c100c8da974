import type { Reader } from '../../server/buckets/actions/reader.ts';
import { STAGE_WORDS } from '../../server/buckets/batch.ts';
import { gravityFigure } from '../../server/buckets/sentences.ts';
import type { Batch } from '../../server/buckets/service/index.ts';
import { volume } from '../../server/core/units.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { Empty, Pages } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Act } from '../ui/verdict.tsx';

interface Props {
  batches: Batch[];
  next: number | null;
  isNewest: boolean;
  reader: Reader;
}

export function BatchesPage({ batches, next, isNewest, reader }: Props) {
  return (
    <>
      <h1>Batches</h1>
      <p class="soft narrow">
        Each is weighed by one person and countersigned by another, and every bucket it went into is known.
      </p>
      {batches.length === 0 && isNewest ? (
        <Empty title="No batch yet">
          <p>Say how much of which recipe is wanted: the sheet says what to weigh.</p>
          <Act href="/batches/new" label="Mix the first batch" />
        </Empty>
      ) : (
        <>
          <p>
            <a class="plain" href="/batches/new">
              New batch
            </a>
          </p>
          <section class="panel">
            <Table
              columns={[
                { label: 'Batch', main: true },
                { label: 'Stage' },
                { label: 'Wanted', number: true },
                { label: 'Planned' },
              ]}
              rows={batches.map((batch) => ({
                key: batch.number,
                struck: batch.stage === 'abandoned',
                cells: [
                  <>
                    <a href={`/batches/${batch.number}`}>
                      Batch {batch.number}, {batch.recipeName}
                    </a>
                    {batch.bucketName && <small class="soft"> for {batch.bucketName}</small>}
                  </>,
                  STAGE_WORDS[batch.stage],
                  `${volume(batch.litres, reader.units)} at SG ${gravityFigure(batch.aimSg)}`,
                  `${batch.madeBy}, ${shownTime(batch.madeAt, reader.now, reader.timeZone)}`,
                ],
              }))}
            />
          </section>
          <Pages
            newest={isNewest ? null : '/batches'}
            older={next === null ? null : `/batches?before=${next}`}
          />
        </>
      )}
    </>
  );
}
