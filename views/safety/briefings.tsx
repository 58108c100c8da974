import type { FormState } from '../../server/core/routes.ts';
import { shownDay } from '../../server/core/wall-time.ts';
import type { Briefing, BriefingRow, ClassBucket } from '../../server/safety/service/briefings.ts';
import { Beside, Check, Field, Form, NumberField, Submit, TextArea } from '../ui/field.tsx';
import { Chip } from '../ui/icons.tsx';
import { Empty, Facts, Flash, Notice, Pages, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Ticks } from '../ui/ticks.tsx';
import { Caution } from './parts.tsx';

interface ListProps {
  briefings: BriefingRow[];
  next: number | null;
}

export function BriefingsPage({ briefings, next }: ListProps) {
  return (
    <>
      <h1>Briefings of classes</h1>
      <p class="narrow">
        Whoever teaches briefs the class, writes down who was there, and dips and records for all of them.
        Students need no account.
      </p>
      <p>
        <a class="do" href="/safety/briefings/new">
          Brief a class
        </a>
      </p>
      {briefings.length === 0 ? (
        <Empty title="No class was briefed yet" />
      ) : (
        <Panel>
          <Table
            columns={[
              { label: 'Class', main: true },
              { label: 'On' },
              { label: 'Heads', number: true, keepLabel: true },
              { label: 'By' },
              { label: 'Buckets' },
              { label: 'Wrong?', wraps: true },
            ]}
            rows={briefings.map((briefing) => ({
              key: briefing.number,
              struck: briefing.struckBy !== null,
              cells: [
                <a href={`/safety/briefings/${briefing.number}`}>{briefing.className}</a>,
                shownDay(briefing.heldOn),
                briefing.hasChildren ? `${briefing.heads}, with children` : briefing.heads,
                briefing.by,
                briefing.bucketCodes.join(' '),
                <Wrong briefing={briefing} />,
              ],
            }))}
          />
        </Panel>
      )}
      <Pages
        newest={null}
        older={next === null ? null : `/safety/briefings?before=${next}`}
        olderWords="Older ones"
      />
      <p>
        <a href="/safety">Back to safety</a>
      </p>
      <Caution />
    </>
  );
}

function Wrong({
  briefing: { number, className, struckBy, reason, mayStrikeOut },
}: {
  briefing: BriefingRow;
}) {
  if (struckBy !== null) return <>{struckOutWords(struckBy, reason)}</>;
  if (!mayStrikeOut) return null;
  return (
    <a class="plain" href={`/safety/briefings/${number}/strike-out`}>
      Strike out<span class="hidden-text"> {className}</span>
    </a>
  );
}

const struckOutWords = (by: string, reason: string | null): string => `Struck out by ${by}: ${reason ?? ''}`;

interface NewProps {
  buckets: ClassBucket[];
  childAge: number;
  form: FormState;
  today: string;
  newKey: string;
}

export function NewBriefingPage({ buckets, childAge, form, today, newKey }: NewProps) {
  const kept = buckets.filter((bucket) => bucket.notForChildren);
  return (
    <>
      <h1>Brief a class</h1>
      <p class="narrow">
        Say the <a href="/safety/rules">common rules</a> aloud, read out the notices of the buckets you will
        use, then write down who was there.
      </p>
      {kept.length > 0 && (
        <Notice title="Not for children" tone="ask-technician">
          <p>
            {kept.map(({ code, name }) => `${name} (${code})`).join(', ')}: nobody under {childAge} dips
            there. Choose other buckets for them.
          </p>
        </Notice>
      )}
      <Form action="/safety/briefings/new" form={form} idempotencyKey={newKey}>
        <Beside>
          <Field name="className" label="Class" hint="Such as Tuesday beginners." maxlength={80} />
          <NumberField name="heads" label="Heads" />
          <Field name="heldOn" type="date" label="On" value={today} />
        </Beside>
        <Check name="hasChildren" label={`Some are under ${childAge}`} />
        <Ticks
          name="buckets"
          legend="Buckets the class dips from"
          options={buckets.map(({ code, name, colour, place, notForChildren }) => ({
            value: code,
            label: (
              <>
                <Chip colour={colour} /> {name} <span class="code">{code}</span>
              </>
            ),
            hint: notForChildren ? `Not for children. ${place}` : place,
          }))}
          form={form}
        />
        <TextArea
          name="roster"
          label="Who was there"
          hint="One name a line. Only you and the technicians see them."
          rows={8}
        />
        <Submit label="I have briefed them" small="Your name stands under it." />
      </Form>
      <p>
        <a href="/safety/briefings">Back to briefings</a>
      </p>
      <Caution />
    </>
  );
}

interface Props {
  briefing: Briefing;
  childAge: number;
  done: string | null;
}

export function BriefingPage({ briefing, childAge, done }: Props) {
  const { number, className, heads, hasChildren, heldOn, by, bucketCodes, roster } = briefing;
  const { struckBy, reason, mayStrikeOut } = briefing;
  return (
    <>
      {done && <Flash words={done} />}
      <h1>{className}</h1>
      <p class="soft">Briefing {number}</p>
      {struckBy === null ? (
        <WhatToDo briefing={briefing} childAge={childAge} />
      ) : (
        <Notice title="Struck out" tone="do-not-use">
          <p>
            By {struckBy}: <q>{reason}</q>
          </p>
          <p>It counts no longer. Brief the class again before anybody dips.</p>
        </Notice>
      )}
      <Panel>
        <Facts
          items={[
            ['Held on', shownDay(heldOn)],
            ['By', by],
            ['Heads', hasChildren ? `${heads}, some under ${childAge}` : `${heads}, no children`],
            ['Buckets', bucketCodes.length === 0 ? 'None' : bucketCodes.join(', ')],
          ]}
        />
      </Panel>
      <Panel title="Who was there">
        {roster === null ? (
          <p>Only whoever held it and the technicians see the names.</p>
        ) : (
          <>
            <ol>
              {roster.map((name, i) => (
                <li key={`${i} ${name}`}>{name}</li>
              ))}
            </ol>
            {roster.length < heads && (
              <p class="soft">
                {roster.length === 1 ? '1 name' : `${roster.length} names`} for {heads} heads.
              </p>
            )}
          </>
        )}
      </Panel>
      {mayStrikeOut && (
        <p>
          <a class="plain" href={`/safety/briefings/${number}/strike-out`}>
            Strike it out
          </a>
        </p>
      )}
      <p>
        <a href="/safety/briefings">Back to briefings</a>
      </p>
      <Caution />
    </>
  );
}

function WhatToDo({ briefing, childAge }: Pick<Props, 'briefing' | 'childAge'>) {
  const { bucketCodes, notForChildren } = briefing;
  return (
    <>
      {notForChildren.length > 0 && (
        <Notice title="Not for children" tone="ask-technician">
          <p>
            There were some under {childAge} in this class, and a notice keeps children from{' '}
            {notForChildren.join(', ')}. Nobody under {childAge} dips there: dip for them.
          </p>
        </Notice>
      )}
      <Notice title="What to do now">
        <p>
          You dip, or stand beside whoever does, and record it under your own name: once for the whole class
          at each bucket.
        </p>
        {bucketCodes.length > 0 && (
          <p class="to-dip">
            {bucketCodes.map((code) => (
              <a key={code} class="plain" href={`/buckets/${code}`}>
                {code}
              </a>
            ))}
          </p>
        )}
      </Notice>
    </>
  );
}

interface StrikeOutProps {
  briefing: Briefing;
  form: FormState;
  newKey: string;
}

export function StrikeOutBriefingPage({ briefing, form, newKey }: StrikeOutProps) {
  const { number, className, heldOn, by, struckBy } = briefing;
  const at = `/safety/briefings/${number}`;
  return (
    <>
      <h1>Strike out a briefing</h1>
      <p class="narrow">
        {className}, briefing {number}, held on {shownDay(heldOn)} by {by}. It stays on the list, crossed
        through, and counts no longer.
      </p>
      {struckBy === null ? (
        <Form action={`${at}/strike-out`} form={form} idempotencyKey={newKey}>
          <TextArea
            name="reason"
            label="What was wrong with it"
            hint="Everybody here reads this: no names of students."
            maxlength={300}
          />
          <Submit label="Strike it out" />
        </Form>
      ) : (
        <Empty title={`Struck out by ${struckBy}`} />
      )}
      <p>
        <a href={at}>Back to the briefing</a>
      </p>
      <Caution />
    </>
  );
}
