import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import { monthWords } from '../../server/fees/month-words.ts';
import type {
  Closing,
  MonthListed,
  MonthPage,
  MonthState,
  Unfinished,
} from '../../server/fees/service/months.ts';
import type { Difference } from '../../server/fees/statement.ts';
import { accountWords } from '../../server/fees/words.ts';
import { Check, Form, Submit, TextArea } from '../ui/field.tsx';
import { Facts, Flash, Links, More, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { BackToFees, Money, Owed } from './parts.tsx';

interface ListProps {
  state: MonthState;
  months: MonthListed[];
  reader: FeeReader;
}

export function MonthsPage({ state, months, reader }: ListProps) {
  return (
    <>
      <h1>Months</h1>
      {state.next !== null && (
        <Notice title={`${monthWords(state.next)} can be closed`} tone="ask-technician">
          <p>It is over. Closing it keeps its figures as they are and tells everybody their balance.</p>
          <a class="do" href={`/fees/months/${state.next}`}>
            Look it over and close it
          </a>
        </Notice>
      )}
      <Links label="More about money owed" links={[['/fees/reminders', 'Overdue']]} />
      <Panel>
        {months.length === 0 ? (
          <p>Nothing was charged or paid yet.</p>
        ) : (
          <Table
            columns={[
              { label: 'Month', main: true },
              { label: 'State', keepLabel: true },
              { label: 'Charged', number: true, keepLabel: true },
              { label: 'Credited', number: true, keepLabel: true },
              { label: 'Paid', number: true, keepLabel: true },
              { label: 'Owed at its end', number: true, keepLabel: true },
            ]}
            rows={months.map(({ period, parts, closingMinor, ...one }) => ({
              key: period,
              cells: [
                <a href={`/fees/months/${period}`}>{monthWords(period)}</a>,
                <StateWord {...one} />,
                <Money minor={parts.charges} reader={reader} />,
                <Money minor={parts.credits} reader={reader} />,
                <Money minor={parts.payments} reader={reader} />,
                <Owed minor={closingMinor} reader={reader} />,
              ],
            }))}
          />
        )}
      </Panel>
      <BackToFees />
    </>
  );
}

/** A closed month is a full square, one to close next a half one, an open one empty. */
function StateWord({ isClosed, isNext }: { isClosed: boolean; isNext: boolean }) {
  const [shape, word] = isClosed ? ['■', 'closed'] : isNext ? ['◧', 'to be closed'] : ['□', 'open'];
  return (
    <span>
      <span aria-hidden="true">{shape} </span>
      {word}
    </span>
  );
}

interface MonthProps {
  period: string;
  month: MonthPage;
  form: FormState;
  done: string | null;
  reader: FeeReader;
}

export function MonthPageView({ period, month, form, done, reader }: MonthProps) {
  const { totals, isClosed, isNext, mayReopen, unfinished, closings, state } = month;
  const words = monthWords(period);
  return (
    <>
      {done && <Flash words={done} />}
      <h1>{words}</h1>
      <p>
        <StateWord isClosed={isClosed} isNext={isNext} />
        {!isClosed && !isNext && `. ${whyNotYet(period, state)}`}
      </p>
      <Panel title="Totals">
        <Facts
          items={[
            ['Owed when it began', <Owed minor={totals.openingMinor} reader={reader} />],
            ['Charged', <Money minor={totals.parts.charges} reader={reader} />],
            ['Credited', <Money minor={totals.parts.credits} reader={reader} />],
            ['Paid', <Money minor={totals.parts.payments} reader={reader} />],
            ['Owed at its end', <Owed minor={totals.closingMinor} reader={reader} />],
            ['Entries', String(totals.entries)],
          ]}
        />
        <More summary="By account">
          <Facts
            items={Object.entries(totals.accounts).map(([name, minor]) => [
              accountWords(name),
              <Money minor={minor} reader={reader} />,
            ])}
          />
          <p class="soft">
            What comes in counts up where it arrives and down where it is earned: it sums to zero.
          </p>
        </More>
        <Links
          label="On paper and as files"
          links={[
            [
              `/fees/months/${period}/statements`,
              month.statements === 1 ? 'One statement' : `All ${month.statements} statements`,
            ],
            ['/fees/export', 'Export'],
          ]}
        />
      </Panel>
      {!isClosed && <Checklist unfinished={unfinished} />}
      {isNext && (
        <Panel title={`Close ${words}`}>
          <p>
            Nothing is written into it any more. What is put right later stands in the month that is open,
            with a link back.
          </p>
          <Form
            action={`/fees/months/${period}/close`}
            id="close"
            form={form}
            idempotencyKey={`${reader.key}-close`}
          >
            {hasAny(unfinished) && (
              <Check
                name="confirm"
                label="Close it all the same"
                hint="What is unfinished lands in a later month."
              />
            )}
            <Submit label={`Close ${words}`} />
          </Form>
        </Panel>
      )}
      {mayReopen && (
        <More summary={`Open ${words} again`} open={form.errors.length > 0}>
          <p>Who, when and why stay below. Close it once it is right.</p>
          <Form
            action={`/fees/months/${period}/reopen`}
            id="reopen"
            form={form}
            idempotencyKey={`${reader.key}-reopen`}
          >
            <TextArea name="reason" label="Why" maxlength={400} />
            <Submit label="Open it again" look="plain danger" />
          </Form>
        </More>
      )}
      {!isNext && !mayReopen && form.errors.length > 0 && (
        <Flash words={form.errors.map(({ message }) => message).join(' ')} tone="refused" />
      )}
      <Trace closings={closings} reader={reader} />
      <p>
        <a href="/fees/months">All months</a>
      </p>
      <BackToFees />
    </>
  );
}

const whyNotYet = (period: string, { current, next }: MonthState): string => {
  if (period >= current) return 'It is closed once it is over.';
  return next === null ? '' : `${monthWords(next)} is closed first.`;
};

const hasAny = ({ loads, dues, requests }: Unfinished): boolean => loads.length + dues + requests > 0;

const LOADS_NAMED = 8;

function Checklist({ unfinished }: { unfinished: Unfinished }) {
  const { loads, dues, requests } = unfinished;
  return (
    <Panel title="Before it is closed">
      <ul class="plain-list">
        <li>
          {loads.length === 0 ? (
            '✓ Every load that was emptied is charged.'
          ) : (
            <>
              ○ Emptied, not all of it charged:{' '}
              {loads.slice(0, LOADS_NAMED).map((load, at) => (
                <>
                  {at > 0 && ', '}
                  <a href={`/fees/loads/${load}`}>load {load}</a>
                </>
              ))}
              {loads.length > LOADS_NAMED && ` and ${loads.length - LOADS_NAMED} more`}.
            </>
          )}
        </li>
        <li>
          {dues === 0 ? (
            '✓ Dues and shelf rent are charged.'
          ) : (
            <>
              ○ Dues and shelf rent: {dues} not charged yet. <a href="/fees/dues">Charge them</a>.
            </>
          )}
        </li>
        <li>
          {requests === 0 ? (
            '✓ No request waits.'
          ) : (
            <>
              ○ {requests === 1 ? 'One request waits' : `${requests} requests wait`} for a yes or no.{' '}
              <a href="/fees/requests">Decide</a>.
            </>
          )}
        </li>
      </ul>
    </Panel>
  );
}

const DIFFERENCE_WORDS: Record<Difference['what'], string> = {
  charges: 'charged',
  credits: 'credited',
  payments: 'paid',
  closingMinor: 'owed at its end',
};

/** Who closed and opened the month, and what was otherwise the next time. */
function Trace({ closings, reader }: { closings: Closing[]; reader: FeeReader }) {
  if (closings.length === 0) return null;
  return (
    <Panel title="Closed and opened">
      <ul class="plain-list">
        {closings.map(({ act, at, by, note, totals, differences, payersChanged }) => (
          <li key={`${act} ${at}`}>
            {act === 'closed' ? 'Closed' : 'Opened again'} {shownTime(at, reader.now, reader.timeZone)} by{' '}
            {by}
            {act === 'closed' ? (
              <>
                , owed at its end <Owed minor={BigInt(totals.closingMinor)} reader={reader} />.
              </>
            ) : (
              `: ${note ?? ''}`
            )}
            {differences.map(({ what, beforeMinor, afterMinor }) => (
              <div key={what}>
                {DIFFERENCE_WORDS[what]}: <Money minor={beforeMinor} reader={reader} /> before,{' '}
                <Money minor={afterMinor} reader={reader} /> now
              </div>
            ))}
            {payersChanged.length > 0 && (
              <div>
                {payersChanged.length === 1 ? 'One payer stands' : `${payersChanged.length} payers stand`}{' '}
                otherwise than before.
              </div>
            )}
          </li>
        ))}
      </ul>
    </Panel>
  );
}
