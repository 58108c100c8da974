import type { FormState } from '../../server/core/routes.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import { accountWords } from '../../server/fees/words.ts';
import { Group } from '../kilns/kiln-parts.tsx';
import { Choice, Field, Form, NumberField, Submit, TextArea } from '../ui/field.tsx';
import { Flash } from '../ui/panel.tsx';
import { BackToFees } from './parts.tsx';

interface Props {
  form: FormState;
  /** The accounts that have a code, and the field of each. */
  accounts: { account: string; field: string }[];
  kilns: { name: string; field: string }[];
  saved: boolean;
  /** Fingerprint of the settings as the form shows them. */
  seen: string;
  reader: FeeReader;
}

export function FeeSettingsPage({ form, accounts, kilns, saved, seen, reader }: Props) {
  return (
    <>
      {saved && <Flash words="Saved. It counts from now on; what was charged stays as it is." />}
      <h1>Fee settings</h1>
      <Form action="/fees/settings" form={form} idempotencyKey={reader.key} hidden={{ seen }}>
        <div class="groups">
          <Group title="Who pays">
            <TextArea
              name="classes"
              label="Classes"
              hint="One a line. Whoever was put in none is in the first. One that is in use stays."
              rows={4}
            />
            <NumberField
              name="dueDays"
              label="To be paid within"
              unit="days"
              hint="After the end of the month."
            />
            <TextArea
              name="payWords"
              label="How to pay"
              hint="Below every statement: where to, and what to write with it."
              optional
            />
          </Group>
          <Group title="Credits">
            <NumberField
              name="creditLimitMinor"
              label="A technician credits at most"
              unit={reader.currency}
              hint="At once, without a manager."
            />
          </Group>
          {kilns.length > 0 && (
            <Group title="Wear of a firing">
              <p class="hint">Elements and furniture, for the overview. Empty: not counted.</p>
              {kilns.map(({ name, field }) => (
                <NumberField key={field} name={field} label={name} unit={reader.currency} optional />
              ))}
            </Group>
          )}
          <Group title="Exports">
            <Choice
              name="delimiter"
              label="Between two cells"
              options={[
                { value: ',', label: 'Comma' },
                { value: ';', label: 'Semicolon' },
                { value: 'tab', label: 'Tab' },
              ]}
            />
            <Choice
              name="decimalMark"
              label="Before the decimals"
              options={[
                { value: '.', label: 'Point' },
                { value: ',', label: 'Comma' },
              ]}
            />
          </Group>
          <Group title="Account codes">
            <p class="hint">As your own bookkeeping calls them. Empty: the usual one.</p>
            {accounts.map(({ account, field }) => (
              <Field
                key={field}
                name={field}
                label={accountWords(account)}
                maxlength={20}
                autocomplete="off"
                spellcheck={false}
                optional
              />
            ))}
          </Group>
        </div>
        <Submit label="Save" />
      </Form>
      <BackToFees />
    </>
  );
}
