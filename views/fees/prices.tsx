import { moneyText } from '../../server/core/money.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownDay } from '../../server/core/wall-time.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import {
  basisWords,
  examples,
  factorWords,
  formsIn,
  itemWords,
  KIND_WORDS,
  limitWords,
} from '../../server/fees/price-words.ts';
import type { TariffListed, TariffNow } from '../../server/fees/service/tariffs.ts';
import type { ItemKind, Line, Tariff } from '../../server/fees/tariff.ts';
import { kindsWithoutPrice } from '../../server/fees/tariff-form.ts';
import { Check, Choice, Field, Form, Submit } from '../ui/field.tsx';
import { Empty, Flash, Links, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { BackToFees } from './parts.tsx';

interface PricesProps {
  /** Null: no list counts today. */
  list: TariffNow | null;
  /** It counts today. */
  isCurrent: boolean;
  studio: string;
  /** The class that most people are in: what is shown of usual pieces is for them. */
  usualClass: string | null;
  done: string | null;
  reader: FeeReader;
}

const stateWords = (list: TariffNow, isCurrent: boolean): string =>
  list.isInForce ? (isCurrent ? '● Counts today' : '◐ In force, not today') : '○ Draft';

const daysWords = ({ validFrom, validUntil }: TariffNow): string =>
  validUntil === null ? `from ${shownDay(validFrom)}` : `${shownDay(validFrom)} to ${shownDay(validUntil)}`;

/** A price list as everybody reads it, and prints it for the wall. */
export function PricesPage({ list, isCurrent, studio, usualClass, done, reader }: PricesProps) {
  const mayEdit = reader.may('tariffs.edit');
  if (!list)
    return (
      <>
        <h1>Price list</h1>
        <Empty title="No price list is in force">
          <p>Nothing is charged for a firing until there is one.</p>
          {mayEdit && <PlainAct href="/fees/prices/new" label="New price list" />}
        </Empty>
        {mayEdit && <Links label="Price lists" links={[['/fees/prices/all', 'All price lists']]} />}
        <BackToFees />
      </>
    );
  const at = `/fees/prices/${list.number}`;
  return (
    <>
      {done && <Flash words={done} />}
      <h1>
        {list.name} <span class="code">{list.number}</span>
      </h1>
      <p class="soft">
        {studio}. {stateWords(list, isCurrent)}, {daysWords(list)}.
      </p>
      {mayEdit && !list.isInForce && <DraftActs list={list} at={at} reader={reader} />}
      <ListBody value={list.value} usualClass={usualClass} reader={reader} />
      <p class="screen-only">
        <button class="plain" type="button" data-print>
          Print it for the wall
        </button>
      </p>
      <Links
        label="Price lists"
        links={[
          ['/fees/prices/all', 'All price lists'],
          ...(mayEdit ? ([[`/fees/prices/new?from=${list.number}`, 'New version of it']] as const) : []),
        ]}
      />
      <BackToFees />
    </>
  );
}

function DraftActs({ list, at, reader }: { list: TariffNow; at: string; reader: FeeReader }) {
  const without = kindsWithoutPrice(list.value);
  return (
    <Panel title="This is a draft">
      <p>Only managers see it. Change it as long as you like; once in force it stays as it is.</p>
      {without.length > 0 && (
        <p>
          ▲ No line prices {without.map((kind) => KIND_WORDS[kind]).join(', ')}: such firings stay uncharged.
        </p>
      )}
      <Links
        label="Parts of the draft"
        links={[
          [`${at}/edit/lines`, 'Firings'],
          [`${at}/edit/factors`, 'Factors'],
          [`${at}/edit/items`, 'Other prices'],
          [`${at}/edit`, 'Name, days and rules'],
        ]}
      />
      <div class="row">
        <PlainAct
          href={`${at}/preview`}
          label="Preview on last month"
          small="Nothing is charged by looking."
        />
        <PlainAct href={`${at}/in-force`} label="Put in force" />
        <PlainAct post={`${at}/drop`} idempotencyKey={`${reader.key}-drop`} label="Throw the draft away" />
      </div>
    </Panel>
  );
}

const ITEM_TITLES: Record<ItemKind, string> = {
  sale: 'For sale',
  card: 'Firing cards',
  dues: 'Every month',
  hire: 'Kiln hire',
  damage: 'Damage',
  work: 'Credit for work',
};

interface BodyProps {
  value: Tariff;
  usualClass: string | null;
  reader: FeeReader;
}

function ListBody({ value, usualClass, reader }: BodyProps) {
  const isByWeight = value.lines.some(({ basis }) => basis.by === 'weight');
  const { currency } = reader;
  const { tax, rush, monthly, factors, items } = value;
  const rules = [
    value.minimumMinor > 0 && `A piece costs at least ${moneyText(BigInt(value.minimumMinor), currency)}.`,
    value.stepMinor > 1 && `Prices go in steps of ${moneyText(BigInt(value.stepMinor), currency)}.`,
    rush && `Wanted within ${rush.withinDays} days: ${rush.percent} % more.`,
    ...monthly.map(
      ({ memberClass, litres }) =>
        `${litres} L of firing is free every month${memberClass === null ? '' : ` for every ${memberClass}`}.`,
    ),
    value.lossPercent !== '0' &&
      `If we ruin or lose a piece, ${value.lossPercent} % of ${value.lossOf === 'this-firing' ? 'that firing' : 'its firings'} comes back.`,
    tax && `Prices ${tax.included ? 'include' : 'come with'} ${tax.percent} % tax.`,
  ].filter((rule): rule is string => typeof rule === 'string');
  return (
    <div class="price-sheet">
      <Panel title="Firing">
        {value.lines.map((line) => (
          <PricedLine key={line.code} line={line} currency={currency} />
        ))}
        {factors.length > 0 && (
          <>
            <h3>Dearer and cheaper</h3>
            <ul>
              {factors.map((factor) => (
                <li key={factorWords(factor)}>{factorWords(factor)}</li>
              ))}
            </ul>
          </>
        )}
      </Panel>
      <Panel title="What that means">
        <Table
          columns={[
            { label: 'Such as', main: true },
            { label: 'Litres', number: true, keepLabel: true },
            { label: 'Bisque, cone 06', number: true, keepLabel: true },
            { label: 'Glaze, cone 6', number: true, keepLabel: true },
          ]}
          rows={examples(value, currency, usualClass).map(({ word, litres, prices }) => ({
            key: word,
            cells: [
              `a ${word}`,
              litres.toFixed(1),
              ...prices.map((minor) =>
                minor === null ? (isByWeight ? 'by weight' : 'no price') : moneyText(minor, currency),
              ),
            ],
          }))}
        />
        <p class="soft">Of usual size, as just made. A piece is as large as the box around it.</p>
      </Panel>
      {(Object.keys(ITEM_TITLES) as ItemKind[]).map((kind) => {
        const some = items.filter((item) => item.kind === kind);
        if (some.length === 0) return null;
        return (
          <Panel key={kind} title={ITEM_TITLES[kind]}>
            <ul>
              {some.map((item) => (
                <li key={item.code}>
                  {item.name}: {itemWords(item, currency)}
                  {item.memberClass !== null && `, every ${item.memberClass}`}
                </li>
              ))}
            </ul>
          </Panel>
        );
      })}
      {rules.length > 0 && (
        <Panel title="Good to know">
          <ul>
            {rules.map((rule) => (
              <li key={rule}>{rule}</li>
            ))}
          </ul>
        </Panel>
      )}
    </div>
  );
}

function PricedLine({ line, currency }: { line: Line; currency: string }) {
  const { name, kinds, basis } = line;
  return (
    <>
      <h3>{name}</h3>
      <p>
        {basisWords(basis, currency)}
        {kinds.length > 0 && <span class="soft"> · {kinds.map((kind) => KIND_WORDS[kind]).join(', ')}</span>}
      </p>
      {basis.by === 'size' && (
        <ul>
          {basis.bands.map((band, i) => {
            const forms = formsIn(basis.bands, i);
            return (
              <li key={band.name}>
                {band.name}, {limitWords(band.upToCm3)}: {moneyText(BigInt(band.minor), currency)}
                {forms.length > 0 && <span class="soft"> (such as a {forms.join(', a ')})</span>}
              </li>
            );
          })}
        </ul>
      )}
    </>
  );
}

interface AllProps {
  lists: TariffListed[];
  done: string | null;
  reader: FeeReader;
}

export function AllPricesPage({ lists, done, reader }: AllProps) {
  return (
    <>
      {done && <Flash words={done} />}
      <h1>All price lists</h1>
      <p class="soft narrow">A firing is charged by the list of the day it was fired.</p>
      {lists.length === 0 ? (
        <Empty title="No price list yet" />
      ) : (
        <Panel>
          <Table
            columns={[
              { label: 'Name', main: true, wraps: true },
              { label: 'Number', number: true, keepLabel: true },
              { label: 'Days' },
              { label: 'State' },
              { label: 'By', wraps: true },
            ]}
            rows={lists.map((list) => ({
              key: list.number,
              cells: [
                <a key="name" href={`/fees/prices/${list.number}`}>
                  {list.name}
                </a>,
                list.number,
                daysWords(list),
                stateWords(list, list.isToday),
                list.by,
              ],
            }))}
          />
        </Panel>
      )}
      {reader.may('tariffs.edit') && <PlainAct href="/fees/prices/new" label="New price list" />}
      <BackToFees />
    </>
  );
}

interface NewProps {
  lists: TariffListed[];
  /** The version that was asked for. */
  from: string;
  form: FormState | undefined;
  reader: FeeReader;
}

export function NewPricesPage({ lists, from, form, reader }: NewProps) {
  const chosen = lists.find(({ number }) => String(number) === from) ?? lists.find(({ isToday }) => isToday);
  return (
    <>
      <h1>New price list</h1>
      <Form action="/fees/prices/new" form={form} idempotencyKey={reader.key}>
        <Field name="name" label="Name" hint="Such as Prices of spring." maxlength={80} autocomplete="off" />
        <Choice
          name="start"
          label="Begin with"
          value={chosen ? String(chosen.number) : 'volume'}
          options={[
            ...lists.map((list) => ({
              value: String(list.number),
              label: `${list.name} (${list.number})`,
              hint: stateWords(list, list.isToday),
            })),
            { value: 'volume', label: 'By volume', hint: 'So much a litre. The figures are examples.' },
            { value: 'size', label: 'By size', hint: 'Small, medium, large. The figures are examples.' },
            {
              value: 'cost',
              label: 'At cost',
              hint: 'Energy and wear of a load, shared. The figures are examples.',
            },
          ]}
        />
        <Submit label="Make a draft" />
      </Form>
      <p>
        <a href="/fees/prices/all">All price lists</a>
      </p>
    </>
  );
}

interface InForceProps {
  /** Fingerprint of the draft as it is looked at. */
  seen: string;
  list: TariffNow;
  current: TariffNow | null;
  /** What of its days stands in the way. */
  faults: { path: string; message: string }[];
  form: FormState | undefined;
  reader: FeeReader;
}

export function InForcePage({ list, seen, current, faults, form, reader }: InForceProps) {
  const at = `/fees/prices/${list.number}`;
  return (
    <>
      <h1>Put {list.name} in force</h1>
      <Panel title="What happens">
        <ul>
          <li>It counts {daysWords(list)}.</li>
          {current ? (
            <li>“{current.name}” counts for whatever is fired before. What was charged stays as it is.</li>
          ) : (
            <li>It is the first price list.</li>
          )}
          <li>Nobody can change it afterwards. A correction is a new version.</li>
        </ul>
        <PlainAct href={`${at}/preview`} label="Preview on last month" />
      </Panel>
      {faults.length > 0 ? (
        <Notice title="Not with these days">
          <ul>
            {faults.map(({ message }) => (
              <li key={message}>{message}</li>
            ))}
          </ul>
          <Act href={`${at}/edit`} label="Change the days" />
        </Notice>
      ) : (
        <Form action={`${at}/in-force`} form={form} idempotencyKey={reader.key} hidden={{ seen }}>
          <Check name="sure" label="I have looked at the list and at its days." />
          <Submit label="Put it in force" />
        </Form>
      )}
      <p>
        <a href={at}>Back to the draft</a>
      </p>
    </>
  );
}
