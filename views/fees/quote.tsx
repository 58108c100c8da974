import { moneyText } from '../../server/core/money.ts';
import type { FormState } from '../../server/core/routes.ts';
import { massUnit } from '../../server/core/units.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import type { Quote } from '../../server/fees/service/quote.ts';
import type { TariffNow } from '../../server/fees/service/tariffs.ts';
import { Beside, Check, Choice, Field, Form, NumberField, Select, Submit } from '../ui/field.tsx';
import { Panel } from '../ui/panel.tsx';
import { BackToFees } from './parts.tsx';

interface QuotePageProps {
  /** In force today. */
  list: TariffNow | null;
  found: Quote | null;
  form: FormState;
  reader: FeeReader;
}

const KINDS = [
  { value: 'bisque', label: 'Bisque' },
  { value: 'glaze', label: 'Glaze' },
  { value: 'lustre', label: 'Lustre or decal' },
  { value: 'other', label: 'Something else' },
];

const ATMOSPHERES = [
  { value: 'oxidation', label: 'Oxidation' },
  { value: 'reduction', label: 'Reduction' },
];

/** What a firing would cost, from its size: nothing is recorded. */
export function QuotePage({ list, found, form, reader }: QuotePageProps) {
  return (
    <>
      <BackToFees />
      <h1>What would it cost?</h1>
      {list ? (
        <>
          <p class="soft">
            By the <a href="/fees/prices">price list</a> of today. Nothing is recorded.
          </p>
          <div class="split">
            <Panel title="The piece">
              <PieceForm list={list} form={form} reader={reader} />
            </Panel>
            {found && (
              <div id="price">
                <Result {...found} />
              </div>
            )}
          </div>
        </>
      ) : (
        <p>No price list is in force today. Ask in the studio what firing costs.</p>
      )}
    </>
  );
}

function PieceForm({
  list: { value },
  form,
  reader,
}: {
  list: TariffNow;
  form: FormState;
  reader: FeeReader;
}) {
  const isWeighed = value.lines.some(({ basis }) => basis.by === 'weight');
  return (
    <Form action="/fees/quote#price" method="get" form={form} boosted={false}>
      <Beside>
        <NumberField name="widthMm" label="Width" unit="mm" />
        <NumberField name="depthMm" label="Depth" unit="mm" />
        <NumberField name="heightMm" label="Height" unit="mm" />
      </Beside>
      {isWeighed && <NumberField name="kg" label="Weight" unit={massUnit(reader.units)} optional />}
      <Choice name="kind" label="Firing" value="glaze" options={KINDS} />
      <Beside>
        <Field name="cone" label="Cone" value="6" />
        <Select name="atmosphere" label="Atmosphere" value="oxidation" options={ATMOSPHERES} />
        <NumberField name="count" label="How many" value={1} />
      </Beside>
      {value.rush && (
        <Check
          name="soon"
          label={`Wanted within ${value.rush.withinDays} ${value.rush.withinDays === 1 ? 'day' : 'days'}`}
          checked={form.typed.soon !== undefined}
        />
      )}
      <Submit label="What does it cost?" />
    </Form>
  );
}

function Result({ rows, currency, totalMinor }: Quote) {
  const [row] = rows;
  if (!row) return null;
  const { all, each, count } = row;
  return (
    <Panel title={all.line?.name ?? 'No price'}>
      {all.line && <p class="fee-price">{moneyText(totalMinor, currency)}</p>}
      {all.line && count > 1 && (
        <p>
          {count} pieces, {moneyText(each.amountMinor, currency)} each
        </p>
      )}
      <ul>
        {all.because.map((line) => (
          <li key={line}>{line}</li>
        ))}
      </ul>
    </Panel>
  );
}
