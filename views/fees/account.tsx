import type { FormState } from '../../server/core/routes.ts';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import type { LitresLeft } from '../../server/fees/litres.ts';
import type { Standing } from '../../server/fees/service/accounts.ts';
import type { Payer } from '../../server/fees/service/ledger.ts';
import type { Reminded } from '../../server/fees/service/reminders.ts';
import { type Entry, entryWords } from '../../server/fees/words.ts';
import { Form, Select, Submit } from '../ui/field.tsx';
import { Flash, Links, More, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { LitresLine } from './hub.tsx';
import { BackToFees, balanceWords, Entries, Money, owesWords } from './parts.tsx';

interface Props {
  account: Payer;
  /** Of whoever looks, and not of somebody they keep the books for. */
  isOwn: boolean;
  standing: Standing;
  /** Newest first. */
  entries: Entry[];
  /** The oldest of what is open, by number. */
  charges: Map<number, Entry>;
  /** Where the older ones begin. */
  before: number | null;
  /** Not the newest ones are shown. */
  isLater: boolean;
  litres: LitresLeft;
  classes: string[];
  /** For technicians, where there was a reminder. */
  reminded: Reminded | null;
  form: FormState;
  done: string | null;
  reader: FeeReader;
}

export function AccountPage(props: Props) {
  const { account, isOwn, standing, entries, before, isLater, litres, reminded, done, reader } = props;
  const at = `/fees/accounts/${account.number}`;
  const words = isOwn ? balanceWords : owesWords;
  return (
    <>
      {done && <Flash words={done} />}
      <h1>{isOwn && account.personId !== null ? 'Your account' : account.name}</h1>
      <p class="balance">{words(standing.balanceMinor, reader.currency)}</p>
      {standing.overdueSince !== null && (
        <p>
          <b>Overdue since {shownDay(standing.overdueSince)}.</b>
        </p>
      )}
      {reminded !== null && (
        <p class="soft">
          Reminded {shownTime(reminded.at, reader.now, reader.timeZone)}
          {reminded.by !== null && ` by ${reminded.by}`}.
        </p>
      )}
      <LitresLine left={litres} />
      {reader.may('fees.pay') && (
        <Links
          label="At the counter"
          links={[
            [`${at}/pay`, 'Take a payment'],
            [`${at}/charge`, 'Charge something'],
            [`${at}/credit`, 'Credit'],
          ]}
        />
      )}
      {!isLater && <Open {...props} />}
      <h2>{isLater ? 'Earlier' : 'Everything, newest first'}</h2>
      {entries.length === 0 && <p class="soft">Nothing yet.</p>}
      <Entries entries={entries} reader={reader} />
      <Links
        label="More of this account"
        links={[
          ...(isLater ? [[at, 'Newest'] as const] : []),
          ...(before === null ? [] : [[`${at}?before=${before}`, 'Earlier'] as const]),
          [`/fees/statements/${account.number}`, 'Statements'],
        ]}
      />
      {reader.may('fees.charge') && <MemberClass {...props} />}
      {reader.may('fees.see-all') && (
        <p>
          <a href="/fees/accounts">All accounts</a>
        </p>
      )}
      <BackToFees />
    </>
  );
}

function Open({ standing, charges, reader }: Props) {
  if (standing.open.length === 0) return null;
  const shown = standing.open.filter(({ number }) => charges.has(number));
  const more = standing.open.length - shown.length;
  return (
    <Panel title="Still to pay, oldest first">
      <Table
        columns={[
          { label: 'What', main: true, wraps: true },
          { label: 'Of', keepLabel: true },
          { label: 'Open', number: true, keepLabel: true },
        ]}
        rows={shown.map(({ number, day, openMinor }) => {
          const entry = charges.get(number);
          return {
            key: number,
            cells: [
              <a key="what" href={`/fees/entries/${number}`}>
                {entry ? entryWords(entry) : `Entry ${number}`}
              </a>,
              shownDay(day),
              <Money key="open" minor={openMinor} reader={reader} />,
            ],
          };
        })}
      />
      {more > 0 && <p class="soft">And {more} newer.</p>}
    </Panel>
  );
}

function MemberClass({ account, classes, form, reader }: Props) {
  return (
    <More summary="Class in the price list" open={form.errors.length > 0}>
      <Form
        action={`/fees/accounts/${account.number}/class`}
        form={form}
        idempotencyKey={`${reader.key}-class`}
      >
        <Select
          name="memberClass"
          label="Class"
          hint="Counts from the next charge on."
          value={account.memberClass ?? classes[0] ?? ''}
          options={classes.map((one) => ({ value: one, label: one }))}
        />
        <Submit label="Save" look="plain" />
      </Form>
    </More>
  );
}
