import type { FormState } from '../../server/core/routes.ts';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import type { StockReader } from '../../server/materials/actions/stock-reader.ts';
import type { LotBatch, LotNow, StockPage } from '../../server/materials/service/index.ts';
import { stockWords, toMg } from '../../server/materials/stock.ts';
import { Caution } from '../safety/parts.tsx';
import { Chip, State } from '../ui/icons.tsx';
import { Facts, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { ActForm, Done, kilograms, note, StockRows, when } from './stock-parts.tsx';

interface Props {
  stock: StockPage;
  lot: LotNow;
  batches: LotBatch[];
  isNewest: boolean;
  did: string | null;
  form: FormState;
  reader: StockReader;
}

/** One lot, from the delivery to the buckets it is in. */
export function StockLotPage({ stock, lot, batches, isNewest, did, form, reader }: Props) {
  const { id, name } = stock;
  const at = `/materials/${id}/lots/${lot.number}`;
  const doubts = stock.doubts.get(lot.number) ?? [];
  return (
    <>
      <Done did={did} />
      <h1>
        Lot {lot.lot} of {name}
      </h1>
      {lot.recalledAt !== null && (
        <Notice title="Recalled: do not weigh from it" tone="do-not-use">
          <p>
            Since {shownTime(lot.recalledAt, reader.now, reader.timeZone)}. Set what is left aside, and see
            the buckets below.
          </p>
        </Notice>
      )}
      {lot.recalledAt === null && lot.isExpired && (
        <Notice title={`It was good until ${shownDay(lot.expiresOn)}`} tone="ask-technician">
          <p>Use it no more, or have somebody who knows it decide.</p>
        </Notice>
      )}
      {doubts.length > 0 && (
        <Notice title="Count it">
          <p>More was taken than was there. What is left is not known until somebody counts.</p>
        </Notice>
      )}
      <div class="split">
        <div>
          <Panel title="Where it went">
            <WhereItWent lot={lot} batches={batches} reader={reader} />
          </Panel>
          <Panel title="What came and went">
            <StockRows stock={stock} at={at} isNewest={isNewest} isOneLot reader={reader} />
          </Panel>
        </div>
        <div>
          <Panel title="About it">
            <Facts
              items={[
                ['On hand', stockWords(lot.onHandMg, reader.units)],
                ['Supplier', lot.supplier || 'not written down'],
                ['Good until', shownDay(lot.expiresOn) || 'no date'],
              ]}
            />
          </Panel>
          {reader.mayEdit && (
            <Panel title="Record">
              <LotForms lot={lot} at={at} form={form} reader={reader} />
            </Panel>
          )}
          <Caution />
          <p>
            <a href={`/materials/${id}/stock`}>Stock of {name}</a> · <a href="/safety">Safety</a>
          </p>
        </div>
      </div>
    </>
  );
}

function WhereItWent({ lot, batches, reader }: Pick<Props, 'lot' | 'batches' | 'reader'>) {
  if (batches.length === 0) return <p class="soft">Nobody weighed it into a batch.</p>;
  const rows = batches.flatMap((batch) =>
    (batch.buckets.length > 0 ? batch.buckets : [null]).map((bucket) => ({ batch, bucket })),
  );
  return (
    <>
      <Table
        columns={[
          { label: 'Bucket', main: true },
          { label: 'Batch', keepLabel: true, wraps: true },
          { label: 'Weighed', number: true, keepLabel: true },
          { label: 'Now' },
        ]}
        rows={rows.map(({ batch, bucket }) => ({
          key: `${batch.number} ${bucket?.code} ${bucket?.number}`,
          struck: bucket?.isVoided ?? false,
          cells: [
            bucket ? (
              <>
                <Chip colour={bucket.colour} /> <a href={`/buckets/${bucket.code}`}>{bucket.name}</a>{' '}
                <span class="code">{bucket.code}</span>
              </>
            ) : (
              'In no bucket'
            ),
            <>
              {reader.seesBatches ? (
                <a href={`/batches/${batch.number}`}>Batch {batch.number}</a>
              ) : (
                `Batch ${batch.number}`
              )}
              , {batch.recipe}, {shownTime(batch.weighedAt, reader.now, reader.timeZone)}
            </>,
            stockWords(toMg(batch.grams / 1000), reader.units),
            <Now batch={batch} bucket={bucket} isRecalled={lot.recalledAt !== null} reader={reader} />,
          ],
        }))}
      />
      <p class="soft">
        What was washed off into rinse, or poured from one bucket into another, is not followed here.
      </p>
    </>
  );
}

interface NowProps {
  batch: LotBatch;
  bucket: LotBatch['buckets'][number] | null;
  isRecalled: boolean;
  reader: StockReader;
}

function Now({ batch, bucket, isRecalled, reader }: NowProps) {
  if (bucket === null) return batch.isAbandoned ? 'abandoned' : 'not poured yet';
  if (bucket.isVoided) return 'struck out';
  const since = shownTime(bucket.happenedAt, reader.now, reader.timeZone);
  if (!bucket.isStillIn) return `in it from ${since}, not any more`;
  return isRecalled ? (
    <>
      <State state="do-not-use" words="Still in it" />, since {since}.{' '}
      <a href={`/buckets/${bucket.code}/service`}>
        Take it out of use<span class="hidden-text">: {bucket.name}</span>
      </a>
    </>
  ) : (
    `still in it, since ${since}`
  );
}

interface FormsProps extends Pick<Props, 'lot' | 'form' | 'reader'> {
  at: string;
}

function LotForms({ lot, at, form, reader }: FormsProps) {
  const common = { action: at, form, reader };
  const named = <input type="hidden" name="lot" value={lot.lot} />;
  return (
    <>
      <ActForm {...common} what="count" summary="A count" label="Record the count">
        {named}
        {kilograms('Found', reader, 'All that is there of this lot, opened bags included.')}
        {when(reader)}
        {note()}
      </ActForm>
      <ActForm {...common} what="disposal" summary="Thrown away" label="Record it">
        {named}
        {kilograms('Thrown away', reader)}
        {when(reader)}
        {note('How, and by whom it was taken')}
      </ActForm>
      {lot.recalledAt === null ? (
        <ActForm {...common} what="recall" summary="It is recalled" label="Recall it" danger>
          {named}
          {note('What is wrong with it', false)}
        </ActForm>
      ) : (
        <ActForm {...common} what="recall-lifted" summary="It may be used again" label="Lift the recall">
          {named}
          {note('Why it may', false)}
        </ActForm>
      )}
    </>
  );
}
