import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { Chip } from '../ui/icons.tsx';
import { Empty } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';

export function RetiredPage({ buckets, reader }: { buckets: BucketNow[]; reader: Reader }) {
  return (
    <>
      <h1>Retired buckets</h1>
      <p class="soft narrow">
        They keep their ledger and their code. From its page a bucket can be put back in service.
      </p>
      {buckets.length === 0 ? (
        <Empty title="No bucket is retired">
          <p>Retire one from its page, under "In or out of use"; nothing of it is lost.</p>
        </Empty>
      ) : (
        <section class="panel narrow">
          <Table
            columns={[
              { label: 'Bucket', main: true },
              { label: 'Retired' },
              { label: 'Why' },
              { label: 'Put back' },
            ]}
            rows={buckets.map(({ code, name, colour, facts, serviceReason }) => ({
              key: code,
              cells: [
                <>
                  <Chip colour={colour} /> <a href={`/buckets/${code}`}>{name}</a>{' '}
                  <span class="code">{code}</span>
                </>,
                facts.serviceSince === null ? '' : shownTime(facts.serviceSince, reader.now, reader.timeZone),
                serviceReason ?? '',
                <a key="back" href={`/buckets/${code}/service`} aria-label={`Put back ${name}`}>
                  Put back
                </a>,
              ],
            }))}
          />
        </section>
      )}
      <p>
        <a href="/wall">Back to the glaze wall</a>
      </p>
    </>
  );
}
