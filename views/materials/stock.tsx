import type { FormState } from '../../server/core/routes.ts';
import { fromKg, massUnit } from '../../server/core/units.ts';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import type { StockReader } from '../../server/materials/actions/stock-reader.ts';
import type { LotNow, StockNow, StockPage, StockRow } from '../../server/materials/service/index.ts';
import { KIND_WORDS, stockWords, toMg } from '../../server/materials/stock.ts';
import { Caution } from '../safety/parts.tsx';
import { Beside, Field, Form, NumberField, Submit, TextArea } from '../ui/field.tsx';
import { State } from '../ui/icons.tsx';
import { Empty, More, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { LotState } from './lot-state.tsx';
import { ActForm, Done, kilograms, note, StockRows, WhichLot, when } from './stock-parts.tsx';

const total = (lots: LotNow[]): number => lots.reduce((sum, { onHandMg }) => sum + onHandMg, 0);

/** All that is kept, by material. */
export function StockPageView({ stock, reader }: { stock: StockNow[]; reader: StockReader }) {
  const kept = stock.filter(({ lots, reorderKg }) => lots.length > 0 || reorderKg !== null);
  const others = stock.filter((one) => !kept.includes(one) && !one.isRetired);
  return (
    <>
      <h1>Stock</h1>
      <p class="soft narrow">
        What is on the shelf, by lot. Deliveries, batches, counts and what was thrown away are added up;
        nothing is ever erased.
      </p>
      {kept.length === 0 ? (
        <Empty title="No delivery yet">
          <p>Record the first one at its material below.</p>
        </Empty>
      ) : (
        <section class="panel">
          <Table
            columns={[
              { label: 'Material', main: true },
              { label: 'On hand', number: true, keepLabel: true },
              { label: 'Bought below', number: true, keepLabel: true },
              { label: 'Good until', keepLabel: true },
              { label: 'Mind' },
            ]}
            rows={kept.map((one) => ({
              key: one.id,
              cells: [
                <a href={`/materials/${one.id}/stock`}>{one.name}</a>,
                stockWords(total(one.lots), reader.units),
                one.reorderKg === null ? '' : stockWords(toMg(one.reorderKg), reader.units),
                shownDay(firstDate(one.lots)),
                <Mind stock={one} />,
              ],
            }))}
          />
        </section>
      )}
      {others.length > 0 && (
        <More summary={`Materials with nothing recorded: ${others.length}`} open={kept.length === 0}>
          <ul>
            {others.map(({ id, name }) => (
              <li key={id}>
                <a href={`/materials/${id}/stock`}>{name}</a>
              </li>
            ))}
          </ul>
        </More>
      )}
      <Caution />
      <p>
        <a href="/materials">All materials</a> · <a href="/safety">Back to Safety</a>
      </p>
    </>
  );
}

/** The earliest last good day of what is still there. */
const firstDate = (lots: LotNow[]): string | null =>
  lots
    .flatMap(({ onHandMg, expiresOn }) => (onHandMg > 0 && expiresOn !== null ? [expiresOn] : []))
    .sort()[0] ?? null;

/** What somebody should do about a material's stock, the worst first. */
function Mind({ stock: { lots, isLow } }: { stock: StockNow }) {
  const there = lots.filter(({ onHandMg }) => onHandMg > 0);
  if (there.some(({ recalledAt }) => recalledAt !== null))
    return <State state="do-not-use" words="Recalled lot" />;
  if (there.some(({ isExpired }) => isExpired)) return <State state="ask-technician" words="Expired lot" />;
  return isLow ? <State state="needs-reading" words="To be bought" /> : null;
}

interface Props {
  stock: StockPage;
  isNewest: boolean;
  did: string | null;
  form: FormState;
  reader: StockReader;
}

/** One material: what is on hand of each lot, what can be recorded, and the ledger. */
export function MaterialStockPage({ stock, isNewest, did, form, reader }: Props) {
  const { id, name, reorderKg, isLow, usableMg: left } = stock;
  const at = `/materials/${id}/stock`;
  return (
    <>
      <Done did={did} />
      <h1>Stock of {name}</h1>
      {isLow && (
        <Notice title="To be bought">
          <p>
            {left === 0 ? 'None' : stockWords(left, reader.units)} left to use; it is bought below{' '}
            {stockWords(toMg(reorderKg ?? 0), reader.units)}.
          </p>
        </Notice>
      )}
      <div class="split">
        <div>
          <Panel title="On hand">
            <Lots stock={stock} reader={reader} />
          </Panel>
          <Panel title="Ledger">
            <StockRows stock={stock} at={at} isNewest={isNewest} reader={reader} />
          </Panel>
        </div>
        <div>
          {reader.mayEdit && (
            <Panel title="Record">
              <StockForms stock={stock} at={at} form={form} reader={reader} />
            </Panel>
          )}
          <Caution />
          <p>
            <a href={`/materials/${id}`}>{name}</a> · <a href="/stock">All stock</a> ·{' '}
            <a href="/safety">Safety</a>
          </p>
        </div>
      </div>
    </>
  );
}

function Lots({ stock: { id, lots, doubts }, reader }: Pick<Props, 'stock' | 'reader'>) {
  if (lots.length === 0) return <p class="soft">No delivery was recorded yet.</p>;
  const open = lots.filter(({ onHandMg, number }) => onHandMg > 0 || doubts.get(number)?.length);
  const spent = lots.filter((lot) => !open.includes(lot));
  const table = (some: LotNow[]) => (
    <Table
      columns={[
        { label: 'Lot', main: true, wraps: true },
        { label: 'On hand', number: true, keepLabel: true },
        { label: 'Good until', keepLabel: true },
        { label: 'Supplier', wraps: true },
        { label: 'Mind' },
      ]}
      rows={some.map((lot) => ({
        key: lot.number,
        cells: [
          <a href={`/materials/${id}/lots/${lot.number}`}>{lot.lot}</a>,
          stockWords(lot.onHandMg, reader.units),
          shownDay(lot.expiresOn),
          lot.supplier,
          doubts.get(lot.number)?.length ? (
            <State state="needs-reading" words="Count it" />
          ) : (
            <LotState lot={lot} />
          ),
        ],
      }))}
    />
  );
  return (
    <>
      {open.length > 0 ? table(open) : <p>Nothing is left.</p>}
      {spent.length > 0 && <More summary={`Lots that are used up: ${spent.length}`}>{table(spent)}</More>}
    </>
  );
}

interface FormsProps extends Pick<Props, 'stock' | 'form' | 'reader'> {
  at: string;
}

function StockForms({ stock: { lots, reorderKg, isRetired }, at, form, reader }: FormsProps) {
  const common = { action: at, form, reader };
  const lot = <WhichLot lots={lots} reader={reader} />;
  const tail = (
    <>
      {when(reader)}
      {note()}
    </>
  );
  return (
    <>
      {!isRetired && (
        <ActForm {...common} what="delivery" summary="A delivery" label="Record the delivery">
          <Field
            name="lot"
            label="Lot"
            hint="As it is printed on the bag. The same name again adds to that lot."
            maxlength={40}
            autocomplete="off"
            spellcheck={false}
          />
          {kilograms('Delivered', reader)}
          <Beside>
            <Field name="supplier" label="Supplier" maxlength={120} optional />
            <Field name="expiresOn" type="date" label="Good until" optional />
          </Beside>
          {tail}
        </ActForm>
      )}
      {lots.length > 0 && (
        <>
          <ActForm {...common} what="count" summary="A count" label="Record the count">
            {lot}
            {kilograms('Found', reader, 'All that is there of this lot, opened bags included.')}
            {tail}
          </ActForm>
          <ActForm {...common} what="use" summary="Used outside a batch" label="Record the use">
            {lot}
            {kilograms('Used', reader)}
            {tail}
          </ActForm>
          <ActForm {...common} what="disposal" summary="Thrown away" label="Record it">
            {lot}
            {kilograms('Thrown away', reader)}
            {when(reader)}
            {note('How, and by whom it was taken')}
          </ActForm>
          <ActForm {...common} what="recall" summary="A lot is recalled" label="Recall it" danger>
            {lot}
            {note('What is wrong with it', false)}
          </ActForm>
        </>
      )}
      <ActForm {...common} what="reorder" summary="When to buy more" label="Keep this level">
        <NumberField
          name="kg"
          label="Bought below"
          unit={massUnit(reader.units)}
          value={reorderKg === null ? undefined : Number(fromKg(reorderKg, reader.units).toFixed(3))}
          hint="Without it nobody is reminded."
          optional
        />
      </ActForm>
    </>
  );
}

interface VoidProps {
  stock: StockPage;
  row: StockRow;
  form: FormState;
  reader: StockReader;
}

export function StockVoidPage({ stock, row, form, reader }: VoidProps) {
  const { id, name } = stock;
  const { number, kind, mg, lotName, by, happenedAt, voidedBy } = row;
  const back = `/materials/${id}/stock`;
  return (
    <>
      <h1>Strike out number {number}</h1>
      <p class="narrow">
        {KIND_WORDS[kind]}
        {mg !== null && ` ${stockWords(mg, reader.units)}`}, lot {lotName} of {name}, {by},{' '}
        {shownTime(happenedAt, reader.now, reader.timeZone)}. It stays in the ledger, crossed through.
      </p>
      {kind === 'void' || voidedBy !== null ? (
        <p>{kind === 'void' ? 'This only strikes out another row.' : 'This is struck out already.'}</p>
      ) : (
        <Form
          action={`${back}/${number}/void`}
          form={form}
          idempotencyKey={reader.key}
          hidden={{ confirm: form.doubtful ? 'yes' : undefined }}
        >
          <TextArea name="reason" label="What was wrong with it" rows={2} maxlength={500} />
          <Submit label={form.doubtful ? 'Yes, strike it out' : 'Strike it out'} />
        </Form>
      )}
      <p>
        <a href={back}>Back to the stock of {name}</a>
      </p>
    </>
  );
}
