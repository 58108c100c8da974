import type { Reader } from '../../server/buckets/actions/reader.ts';
import type { BucketNow, LotInBucket } from '../../server/buckets/service/index.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { stockWords, toMg } from '../../server/materials/stock.ts';
import { LotState } from '../materials/lot-state.tsx';
import { Notice } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { SubPage } from './parts.tsx';

interface Props {
  bucket: BucketNow;
  lots: LotInBucket[];
  reader: Reader;
}

/** Which lots of its materials are in a bucket: for whoever hears of one that is no good. */
export function LotsPage({ bucket, lots, reader }: Props) {
  const recalled = lots.filter(({ known }) => known?.recalledAt != null);
  return (
    <SubPage bucket={bucket} title="Lots in it">
      {recalled.length > 0 && (
        <Notice title="A recalled lot is in it" tone="do-not-use">
          <p>
            {recalled.map(({ material, lot }) => `${material}, lot ${lot}`).join('; ')}.{' '}
            <a href={`/buckets/${bucket.code}/service`}>Mark the bucket “Do not use”</a>
          </p>
        </Notice>
      )}
      {lots.length === 0 ? (
        <p>No weighed batch is in it, so nobody wrote down any lots.</p>
      ) : (
        <Table
          columns={[
            { label: 'Material', main: true },
            { label: 'Lot', keepLabel: true, wraps: true },
            { label: 'Weighed', number: true, keepLabel: true },
            { label: 'Batch', keepLabel: true },
          ]}
          rows={lots.map(({ batch, happenedAt, materialId, material, grams, lot, known }, at) => ({
            key: at,
            cells: [
              material,
              known ? (
                <>
                  <a href={`/materials/${materialId}/lots/${known.number}`}>{known.lot}</a>{' '}
                  <LotState lot={known} />
                </>
              ) : (
                lot || 'not written down'
              ),
              stockWords(toMg(grams / 1000), reader.units),
              <>
                {reader.technician ? <a href={`/batches/${batch}`}>{batch}</a> : batch}, in it since{' '}
                {shownTime(happenedAt, reader.now, reader.timeZone)}
              </>,
            ],
          }))}
        />
      )}
      <p class="soft">
        Batches since it was last set up. What came by hand, as rinse or out of another bucket is not among
        them.
      </p>
    </SubPage>
  );
}
