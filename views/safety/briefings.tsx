import type { FormState } from '../../server/core/routes.ts';
import { shownDay } from '../../server/core/wall-time.ts';
import type { Briefing, BriefingRow, ClassBucket } from '../../server/safety/service/briefings.ts';
import { Beside, Check, Field, Form, NumberField, Submit, TextArea } from '../ui/field.tsx';
import { Chip } from '../ui/icons.tsx';
import { Empty, Facts, Flash, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Caution } from './parts.tsx';
import { Ticks } from './ticks.tsx';

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
            ]}
            rows={briefings.map(({ number, className, heldOn, heads, hasChildren, by, bucketCodes }) => ({
              key: number,
              cells: [
                <a href={`/safety/briefings/${number}`}>{className}</a>,
                shownDay(heldOn),
                hasChildren ? `${heads}, with children` : heads,
                by,
                bucketCodes.join(' '),
              ],
            }))}
          />
        </Panel>
      )}
      {next !== null && (
        <p>
          <a class="plain" href={`/safety/briefings?before=${next}`}>
            Older ones
          </a>
        </p>
      )}
      <p>
        <a href="/safety">Back to safety</a>
      </p>
      <Caution />
    </>
  );
}

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
  done: boolean;
}

export function BriefingPage({ briefing, childAge, done }: Props) {
  const { number, className, heads, hasChildren, heldOn, by, bucketCodes, roster, notForChildren } = briefing;
  return (
    <>
      {done && <Flash words="Written down." />}
      <h1>{className}</h1>
      <p class="soft">Briefing {number}</p>
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
      <p>
        <a href="/safety/briefings">Back to briefings</a>
      </p>
      <Caution />
    </>
  );
}
