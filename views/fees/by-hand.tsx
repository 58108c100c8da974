import type { ComponentChildren } from 'preact';
import { moneyText, plainMoney } from '../../server/core/money.ts';
import type { FormState } from '../../server/core/routes.ts';
import { toWallTime } from '../../server/core/wall-time.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import { itemWords } from '../../server/fees/price-words.ts';
import type { Payer } from '../../server/fees/service/ledger.ts';
import type { Item } from '../../server/fees/tariff.ts';
import { HOW_WORDS } from '../../server/fees/words.ts';
import { upper } from '../../server/ware/words.ts';
import { Beside, Choice, Field, Form, NumberField, Select, Submit, TextArea } from '../ui/field.tsx';
import { Links, More } from '../ui/panel.tsx';
import { owesWords } from './parts.tsx';

interface Common {
  account: Payer;
  balanceMinor: bigint;
  form: FormState;
  reader: FeeReader;
}

const HOW = Object.entries(HOW_WORDS).map(([value, words]) => ({ value, label: upper(words) }));

export function PayPage(props: Common & { isRefund: boolean }) {
  const { account, balanceMinor, form, reader, isRefund } = props;
  const owed = isRefund ? -balanceMinor : balanceMinor;
  return (
    <Frame
      {...props}
      title={isRefund ? `Give money back to ${account.name}` : `Payment from ${account.name}`}
    >
      <Form
        action={`/fees/accounts/${account.number}/${isRefund ? 'give-back' : 'pay'}`}
        form={form}
        idempotencyKey={reader.key}
      >
        <NumberField
          name="amountMinor"
          label="Amount"
          hint={isRefund ? undefined : 'More than is owed stays as credit.'}
          value={owed > 0n ? plainMoney(owed, reader.currency) : ''}
          unit={reader.currency}
          big
        />
        <Choice name="how" label="How" options={HOW} />
        <Field
          name="reference"
          label="Reference"
          hint="What the terminal or the bank calls it. Never the number of a card."
          maxlength={60}
          autocomplete="off"
          spellcheck={false}
          optional
        />
        <When reader={reader} />
        <TextArea name="note" label="Note" hint="The payer reads it." rows={2} maxlength={300} optional />
        <Submit label={isRefund ? 'Given back' : 'Record this payment'} />
      </Form>
      {!isRefund && reader.may('fees.decide') && (
        <p>
          <a href={`/fees/accounts/${account.number}/give-back`}>Give money back instead</a>
        </p>
      )}
    </Frame>
  );
}

export function ChargePage(props: Common & { items: Item[] }) {
  const { account, form, reader, items } = props;
  return (
    <Frame {...props} title={`Charge ${account.name}`}>
      <Form action={`/fees/accounts/${account.number}/charge`} form={form} idempotencyKey={reader.key}>
        {items.length > 0 && (
          <>
            <Select
              name="item"
              label="From the price list"
              none="Not on the list: an amount by hand"
              options={items.map((item) => ({
                value: item.code,
                label: `${item.name}, ${itemWords(item, reader.currency)}`,
              }))}
              optional
            />
            <NumberField name="quantity" label="How many, or how much" value="1" optional />
          </>
        )}
        <NumberField
          name="amountMinor"
          label="Or an amount by hand"
          hint="Tax included. Left alone for what stands on the list."
          unit={reader.currency}
          optional
        />
        <TextArea
          name="reason"
          label="What it is for"
          hint="Needed for an amount by hand and for damage. The payer reads it."
          rows={2}
          maxlength={300}
          optional
        />
        <When reader={reader} />
        <Beside>
          <NumberField name="piece" label="Piece number" optional />
          <NumberField name="load" label="Load number" optional />
        </Beside>
        <Submit
          label="Charge this"
          small={reader.may('fees.decide') ? undefined : 'Damage waits for the manager’s yes.'}
        />
      </Form>
    </Frame>
  );
}

interface CreditProps {
  /** What an hour of work is worth; null where the price list does not say. */
  rate: Item | null;
  limitMinor: number;
  about: string | undefined;
}

export function CreditPage(props: Common & CreditProps) {
  const { account, form, reader, rate, limitMinor, about } = props;
  return (
    <Frame {...props} title={`Credit for ${account.name}`}>
      <Form action={`/fees/accounts/${account.number}/credit`} form={form} idempotencyKey={reader.key}>
        <Choice
          name="for"
          label="What for"
          value="goodwill"
          options={[
            { value: 'goodwill', label: 'Goodwill', hint: 'Something went wrong here' },
            {
              value: 'work',
              label: 'Work',
              hint: rate ? itemWords(rate, reader.currency) : 'Hours for the studio',
            },
            { value: 'write-off', label: 'Written off', hint: 'Nobody will pay it' },
          ]}
        />
        <NumberField name="amountMinor" label="Amount" unit={reader.currency} optional />
        {rate && <NumberField name="hours" label="Or hours worked" unit="h" optional />}
        <TextArea name="reason" label="Why" hint="The payer reads it." rows={2} maxlength={300} />
        <NumberField
          name="about"
          label="Of which entry"
          hint="Its number. Left empty it counts against the oldest that is open."
          value={about}
          optional
        />
        <Submit
          label="Credit this"
          small={
            reader.may('fees.decide')
              ? undefined
              : `Above ${moneyText(BigInt(limitMinor), reader.currency)} a day it waits for the manager’s yes.`
          }
        />
      </Form>
    </Frame>
  );
}

function When({ reader }: { reader: FeeReader }) {
  return (
    <More summary="Not just now">
      <Field
        name="happenedAt"
        type="datetime-local"
        label="When"
        hint={`Empty: now, ${toWallTime(reader.now, reader.timeZone).replace('T', ' ')}. A closed month stays as it is: the entry then stands in the open one.`}
        optional
      />
    </More>
  );
}

function Frame({
  account,
  balanceMinor,
  reader,
  title,
  children,
}: Common & { title: string; children: ComponentChildren }) {
  return (
    <>
      <h1>{title}</h1>
      <p>{owesWords(balanceMinor, reader.currency)}.</p>
      {children}
      <Links label="Back" links={[[`/fees/accounts/${account.number}`, `Account of ${account.name}`]]} />
    </>
  );
}
