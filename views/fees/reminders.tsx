import type { FormState } from '../../server/core/routes.ts';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import type { Overdue } from '../../server/fees/service/reminders.ts';
import { Form, Submit } from '../ui/field.tsx';
import { Flash, Panel } from '../ui/panel.tsx';
import { BackToFees, Money } from './parts.tsx';

interface Props {
  overdue: Overdue[];
  form: FormState;
  done: string | null;
  reader: FeeReader;
}

/** Who should have paid, and one tap that says so to them. */
export function RemindersPage({ overdue, form, done, reader }: Props) {
  const others = overdue.filter(({ mayRemind }) => mayRemind).length;
  const refused = typeof form.typed.account === 'string' ? form.typed.account : '';
  const isOfAll = form.errors.length > 0 && !overdue.some((one) => String(one.account.number) === refused);
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Overdue</h1>
      {overdue.length === 0 ? (
        <p>Nobody owes anything that is overdue.</p>
      ) : (
        <p>
          A reminder is a message in the inbox. Nobody gets one about the same account twice in seven days.
        </p>
      )}
      {(others > 1 || isOfAll) && (
        <Form
          action="/fees/reminders"
          id="all"
          form={isOfAll ? form : undefined}
          idempotencyKey={`${reader.key}-all`}
        >
          <Submit label={`Remind all ${others}`} />
        </Form>
      )}
      {overdue.map(({ account, overdueMinor, balanceMinor, since, reminded, mayRemind }) => (
        <Panel
          key={account.number}
          title={<a href={`/fees/accounts/${account.number}`}>{account.name}</a>}
          id={`account-${account.number}`}
        >
          <p>
            <Money minor={overdueMinor} reader={reader} /> overdue since {shownDay(since)}
            {balanceMinor !== overdueMinor && (
              <>
                {', of '}
                <Money minor={balanceMinor} reader={reader} /> owed
              </>
            )}
            .
          </p>
          {reminded && (
            <p class="soft">
              Reminded {shownTime(reminded.at, reader.now, reader.timeZone)}
              {reminded.by && ` by ${reminded.by}`}.
            </p>
          )}
          {mayRemind && (
            <Form
              action="/fees/reminders"
              id={`a${account.number}`}
              form={refused === String(account.number) ? form : undefined}
              idempotencyKey={`${reader.key}-${account.number}`}
              hidden={{ account: String(account.number) }}
            >
              <Submit label="Remind" look="plain" />
            </Form>
          )}
        </Panel>
      ))}
      <p>
        <a href="/fees/months">Months</a>
      </p>
      <BackToFees />
    </>
  );
}
