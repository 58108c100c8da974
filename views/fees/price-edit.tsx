import type { FormState } from '../../server/core/routes.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import { OWN_ACCOUNTS } from '../../server/fees/ledger.ts';
import { MOST_BANDS, type Way } from '../../server/fees/price-rows.ts';
import { KIND_WORDS } from '../../server/fees/price-words.ts';
import type { TariffNow } from '../../server/fees/service/tariffs.ts';
import { ITEM_KINDS, type ItemKind } from '../../server/fees/tariff.ts';
import { INCOME_WORDS } from '../../server/fees/words.ts';
import { FIRING_KINDS } from '../../server/ware/firing.ts';
import { Group } from '../kilns/kiln-parts.tsx';
import {
  Beside,
  Check,
  Choice,
  Field,
  Form,
  NumberField,
  type Option,
  Select,
  Submit,
} from '../ui/field.tsx';

interface Common {
  list: TariffNow;
  /** Fingerprint of the draft as the form shows it. */
  seen: string;
  form: FormState;
  reader: FeeReader;
}
interface Rows extends Common {
  rows: number;
}

const at = ({ number }: TariffNow) => `/fees/prices/${number}`;

function Back({ list }: { list: TariffNow }) {
  return (
    <p>
      <a href={at(list)}>Back to {list.name}</a>
    </p>
  );
}

const classOptions = (classes: string[]): Option[] => classes.map((value) => ({ value, label: value }));

const WAY_OPTIONS: { value: Way; label: string }[] = [
  { value: 'volume:litre', label: 'Volume, a litre' },
  { value: 'volume:cm3', label: 'Volume, a cm³' },
  { value: 'volume:in3', label: 'Volume, a cubic inch' },
  { value: 'area:cm2', label: 'Footprint, a cm²' },
  { value: 'area:in2', label: 'Footprint, a square inch' },
  { value: 'weight:kg', label: 'Weight, a kilogram' },
  { value: 'weight:lb', label: 'Weight, a pound' },
  { value: 'size', label: 'Size: small, medium, large' },
  { value: 'shelf', label: 'Half shelves, shelves, loads' },
  { value: 'cost', label: 'At cost, shared by volume' },
  { value: 'included', label: 'Included: costs nothing' },
];

/** The figures of a line, for the way that is chosen in it. */
function figures(way: string, n: number, currency: string) {
  const [by] = way.split(':');
  switch (by) {
    case 'volume':
    case 'area':
    case 'weight':
      return <NumberField name={`rate${n}`} label="Price of one" unit={currency} />;
    case 'size':
      return (
        <fieldset class="field lines">
          <legend>Sizes</legend>
          <p class="hint">
            Of the box around a piece. The last one has no limit; leave out what you do not need.
          </p>
          {Array.from({ length: MOST_BANDS }, (_, b) => (
            <Beside key={`band ${b + 1}`}>
              <Field name={`bandname${n}x${b + 1}`} label={`Size ${b + 1}`} optional autocomplete="off" />
              <NumberField name={`bandto${n}x${b + 1}`} label="Up to, cm³" optional />
              <NumberField name={`bandprice${n}x${b + 1}`} label={`Price, ${currency}`} optional />
            </Beside>
          ))}
        </fieldset>
      );
    case 'shelf':
      return (
        <>
          <Beside>
            <NumberField name={`half${n}`} label="Half a shelf" unit={currency} />
            <NumberField name={`shelf${n}`} label="A shelf" unit={currency} />
            <NumberField name={`load${n}`} label="A whole load" unit={currency} />
          </Beside>
          <Beside>
            <NumberField name={`cm2${n}`} label="Half a shelf holds" unit="cm²" />
            <NumberField name={`halves${n}`} label="Half shelves in a load" />
          </Beside>
        </>
      );
    case 'cost':
      return (
        <>
          <Beside>
            <NumberField name={`rate${n}`} label="A kWh" unit={currency} />
            <NumberField name={`wear${n}`} label="Wear, a firing" unit={currency} />
            <NumberField name={`fuel${n}`} label="Fuel, with burners" unit={currency} />
          </Beside>
          <Beside>
            <NumberField name={`kwh${n}`} label="A load usually takes" unit="kWh" hint="For a quote only." />
            <NumberField name={`litres${n}`} label="And usually holds" unit="L" hint="For a quote only." />
          </Beside>
        </>
      );
    case 'included':
      return <p class="hint">Nothing to fill in.</p>;
    default:
      return <p class="hint">Choose a way and press “Show the fields”.</p>;
  }
}

const kindTicks = (n: number) => (
  <>
    {FIRING_KINDS.map((kind) => (
      <Check key={kind} name={`${kind}${n}`} label={KIND_WORDS[kind]} />
    ))}
  </>
);

export function LinesPage({ list, seen, form, rows, reader }: Rows) {
  const wayIn = (n: number) => [form.typed[`way${n}`] ?? ''].flat().at(-1) ?? '';
  return (
    <>
      <h1>Firings</h1>
      <p class="soft narrow">
        The first line that fits a firing counts. A line with no kind ticked fits all of them. Empty a line’s
        code, name and way to take it out.
      </p>
      <Form action={`${at(list)}/edit/lines`} form={form} idempotencyKey={reader.key} hidden={{ seen }}>
        <div class="groups">
          {Array.from({ length: rows }, (_, i) => i + 1).map((n) => (
            <Group key={n} title={`Line ${n}`}>
              <Beside>
                <Field name={`name${n}`} label="Name" optional maxlength={80} autocomplete="off" />
                <Field name={`code${n}`} label="Code" optional maxlength={12} autocomplete="off" />
              </Beside>
              {kindTicks(n)}
              <Select name={`way${n}`} label="Priced by" none="Not used" options={WAY_OPTIONS} optional />
              {figures(wayIn(n), n, reader.currency)}
            </Group>
          ))}
        </div>
        <Submit label="Save the firings" />
        <Submit
          label="Show the fields"
          small="After choosing another way; adds a row too. Nothing is saved."
          look="plain"
          name="more"
          value="yes"
        />
      </Form>
      <Back list={list} />
    </>
  );
}

export function FactorsPage({ list, seen, classes, form, rows, reader }: Rows & { classes: string[] }) {
  return (
    <>
      <h1>Factors</h1>
      <p class="soft narrow">
        A factor multiplies a price where everything it names fits: 1.25 is a quarter more, 0.5 half. What you
        leave open fits all.
      </p>
      <Form action={`${at(list)}/edit/factors`} form={form} idempotencyKey={reader.key} hidden={{ seen }}>
        <div class="groups">
          {Array.from({ length: rows }, (_, i) => i + 1).map((n) => (
            <Group key={n} title={`Factor ${n}`}>
              <Beside>
                <Field name={`name${n}`} label="Name" optional maxlength={80} autocomplete="off" />
                <NumberField name={`factor${n}`} label="Times" optional />
              </Beside>
              {kindTicks(n)}
              <Beside>
                <Field name={`coneFrom${n}`} label="From cone" optional maxlength={5} autocomplete="off" />
                <Field name={`coneTo${n}`} label="To cone" optional maxlength={5} autocomplete="off" />
              </Beside>
              <Beside>
                <Select
                  name={`atmosphere${n}`}
                  label="Atmosphere"
                  none="Any"
                  optional
                  options={[
                    { value: 'oxidation', label: 'Oxidation' },
                    { value: 'reduction', label: 'Reduction' },
                  ]}
                />
                <Select
                  name={`memberClass${n}`}
                  label="Class"
                  none="Every class"
                  optional
                  options={classOptions(classes)}
                />
              </Beside>
            </Group>
          ))}
        </div>
        <Submit label="Save the factors" />
        <Submit label="Add rows" look="plain" name="more" value="yes" />
      </Form>
      <Back list={list} />
    </>
  );
}

const INCOME_OPTIONS: Option[] = OWN_ACCOUNTS.income.map((value) => ({
  value,
  label: `Income from ${INCOME_WORDS[value]}`,
}));

const ITEM_WORDS: Record<ItemKind, string> = {
  sale: 'Sold by quantity',
  card: 'Firing card',
  dues: 'Dues, every month',
  hire: 'Kiln hire',
  damage: 'Damage',
  work: 'Credit for work',
};

export function ItemsPage({ list, seen, classes, form, rows, reader }: Rows & { classes: string[] }) {
  return (
    <>
      <h1>Other prices</h1>
      <p class="soft narrow">
        Clay, glaze, cards, dues, hire, damage, hours of work. Litres are firing that comes with one of it.
      </p>
      <Form action={`${at(list)}/edit/items`} form={form} idempotencyKey={reader.key} hidden={{ seen }}>
        <div class="groups">
          {Array.from({ length: rows }, (_, i) => i + 1).map((n) => (
            <Group key={n} title={`Item ${n}`}>
              <Beside>
                <Field name={`name${n}`} label="Name" optional maxlength={80} autocomplete="off" />
                <Field name={`code${n}`} label="Code" optional maxlength={12} autocomplete="off" />
              </Beside>
              <Select
                name={`kind${n}`}
                label="What it is"
                none="Not used"
                optional
                options={ITEM_KINDS.map((value) => ({ value, label: ITEM_WORDS[value] }))}
              />
              <Beside>
                <NumberField name={`minor${n}`} label="Price" unit={reader.currency} optional />
                <Field name={`unit${n}`} label="Of one" hint="kg, bag, month" optional maxlength={20} />
              </Beside>
              <Beside>
                <NumberField name={`litres${n}`} label="Litres with it" optional />
                <Select
                  name={`memberClass${n}`}
                  label="Dues for all of"
                  none="Nobody"
                  optional
                  options={classOptions(classes)}
                />
              </Beside>
              <Select
                name={`income${n}`}
                label="In the books"
                none="The usual, by what it is"
                options={INCOME_OPTIONS}
                optional
              />
            </Group>
          ))}
        </div>
        <Submit label="Save the prices" />
        <Submit label="Add rows" look="plain" name="more" value="yes" />
      </Form>
      <Back list={list} />
    </>
  );
}

export function RulesPage({ list, seen, classes, form, reader }: Common & { classes: string[] }) {
  return (
    <>
      <h1>Name, days and rules</h1>
      <Form action={`${at(list)}/edit`} form={form} idempotencyKey={reader.key} hidden={{ seen }}>
        <div class="groups">
          <Group title="Name and days">
            <Field name="name" label="Name" maxlength={80} autocomplete="off" />
            <Beside>
              <Field name="validFrom" type="date" label="First day" />
              <Field name="validUntil" type="date" label="Last day" optional />
            </Beside>
            <p class="hint">Without a last day it counts until a later list begins.</p>
          </Group>
          <Group title="Rounding">
            <NumberField name="minimum" label="A piece costs at least" unit={reader.currency} />
            <NumberField name="step" label="Prices go in steps of" unit={reader.currency} />
            <Select
              name="rounding"
              label="What lies between two steps"
              options={[
                { value: 'half-up', label: 'Goes to the nearer, halves up' },
                { value: 'half-even', label: 'Goes to the nearer, halves to the even one' },
                { value: 'up', label: 'Goes up' },
                { value: 'down', label: 'Goes down' },
              ]}
            />
          </Group>
          <Group title="Tax">
            <Choice
              name="tax"
              label="Tax"
              options={[
                { value: 'none', label: 'None' },
                { value: 'included', label: 'Included', hint: 'The prices hold it already.' },
                { value: 'added', label: 'Added', hint: 'On top of the prices.' },
              ]}
            />
            <NumberField name="taxPercent" label="Rate" unit="%" optional />
          </Group>
          <Group title="In a hurry">
            <Beside>
              <NumberField name="rushDays" label="Wanted within" unit="days" optional />
              <NumberField name="rushPercent" label="Costs more" unit="%" optional />
            </Beside>
          </Group>
          <Group title="Free every month">
            <NumberField name="freeAll" label="Everybody" unit="litres" optional />
            {classes.map((name, i) => (
              <NumberField
                key={name}
                name={`free${i + 1}`}
                label={`Every ${name}`}
                unit="litres"
                hint="In place of what everybody has."
                optional
              />
            ))}
          </Group>
          <Group title="When we ruin or lose a piece">
            <NumberField name="lossPercent" label="Comes back" unit="%" />
            <Choice
              name="lossOf"
              label="Of"
              options={[
                { value: 'this-firing', label: 'That firing' },
                { value: 'every-firing', label: 'Every firing it had' },
              ]}
            />
          </Group>
        </div>
        <Submit label="Save" />
      </Form>
      <Back list={list} />
    </>
  );
}
