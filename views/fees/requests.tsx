import type { VNode } from 'preact';
import { moneyText } from '../../server/core/money.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { FeeReader } from '../../server/fees/actions/reader.ts';
import type { FeeRequest } from '../../server/fees/service/requests.ts';
import { Choice, Form, Submit, TextArea } from '../ui/field.tsx';
import { Empty, Facts, Flash, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { BackToFees, Because } from './parts.tsx';

const whatWords = ({ kind, name, amountMinor }: FeeRequest, { currency }: FeeReader): string =>
  amountMinor > 0n
    ? `${name ?? 'Damage'}: charge ${moneyText(amountMinor, currency)}`
    : `${kind === 'credit' ? 'Credit' : kind} ${moneyText(-amountMinor, currency)}`;

interface ListProps {
  waiting: FeeRequest[];
  decided: FeeRequest[];
  reader: FeeReader;
}

export function RequestsPage({ waiting, decided, reader }: ListProps) {
  const rows = (requests: FeeRequest[]) =>
    requests.map((one) => ({
      key: one.number,
      cells: [
        <a key="what" href={`/fees/requests/${one.number}`}>
          {whatWords(one, reader)}
        </a>,
        one.account.name,
        `${one.by.name}: ${one.why}`,
        one.decision === null
          ? shownTime(one.at, reader.now, reader.timeZone)
          : `${one.decision === 'yes' ? '✓ Yes' : '✗ No'}, ${one.decidedBy}`,
      ],
    }));
  const columns = (last: string) => [
    { label: 'What', main: true, wraps: true },
    { label: 'Account', wraps: true, keepLabel: true },
    { label: 'Asked and why', wraps: true },
    { label: last },
  ];
  return (
    <>
      <h1>Requests</h1>
      {waiting.length === 0 ? (
        <Empty title="Nothing waits">
          <p>Damage charges and larger credits wait here for the manager’s yes.</p>
        </Empty>
      ) : (
        <Panel title="Waiting for a manager">
          <Table columns={columns('Asked')} rows={rows(waiting)} />
        </Panel>
      )}
      {decided.length > 0 && (
        <Panel title="Decided lately">
          <Table columns={columns('Answer')} rows={rows(decided)} />
        </Panel>
      )}
      <BackToFees />
    </>
  );
}

interface RequestProps {
  request: FeeRequest;
  form: FormState;
  done: string | null;
  reader: FeeReader;
}

export function RequestPage({ request, form, done, reader }: RequestProps) {
  const { number, account, why, because, by, piece, load, decision, decidedBy, word, entry } = request;
  const at = (when: number) => shownTime(when, reader.now, reader.timeZone);
  return (
    <>
      {done && <Flash words={done} />}
      <h1>{whatWords(request, reader)}</h1>
      <p>{why}</p>
      <Because lines={because} />
      <Facts
        items={[
          ['Account', <a href={`/fees/accounts/${account.number}`}>{account.name}</a>],
          ['Asked', `${by.name}, ${at(request.at)}`],
          ...(piece === null ? [] : [['Piece', <a href={`/ware/${piece}`}>{piece}</a>] as [string, VNode]]),
          ...(load === null
            ? []
            : [['Load', <a href={`/kilns/loads/${load}`}>{load}</a>] as [string, VNode]]),
        ]}
      />
      {decision !== null ? (
        <p>
          <b>{decision === 'yes' ? '✓ Yes' : '✗ No'}</b>, {decidedBy}
          {request.decidedAt !== null && `, ${at(request.decidedAt)}`}.{word && ` “${word}”`}
          {entry !== null && (
            <>
              {' '}
              <a href={`/fees/entries/${entry}`}>Entry {entry}</a>
            </>
          )}
        </p>
      ) : reader.may('fees.decide') ? (
        <Form action={`/fees/requests/${number}`} form={form} idempotencyKey={reader.key}>
          <Choice
            name="decision"
            label="Your answer"
            options={[
              { value: 'yes', label: 'Yes', hint: 'It is written at once' },
              { value: 'no', label: 'No' },
            ]}
          />
          <TextArea
            name="word"
            label="A word with it"
            hint={`${by.name} reads it. Needed for a no.`}
            rows={2}
            maxlength={300}
            optional
          />
          <Submit label="Answer" />
        </Form>
      ) : (
        <p>
          <b>Waits</b> for a manager.
        </p>
      )}
      <p>
        <a href="/fees/requests">All requests</a>
      </p>
    </>
  );
}
