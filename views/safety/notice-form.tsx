import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import type { KilnNow } from '../../server/kilns/service/index.ts';
import type { NoticeReader } from '../../server/safety/actions/notice-reader.ts';
import { changeWords, type Draft, TASKS } from '../../server/safety/notice.ts';
import { type Classified, draftedFrom, type Target } from '../../server/safety/service/notices.ts';
import { Beside, Check, Field, Form, Select, Submit, TextArea } from '../ui/field.tsx';
import { Facts, Flash, Notice, Panel } from '../ui/panel.tsx';
import { NoticeBody, SCOPE_WORDS, taskWords, WorkedOut } from './notice-parts.tsx';
import { Caution, NotHarmless } from './parts.tsx';

interface WhereProps {
  buckets: Pick<BucketNow, 'code' | 'name'>[];
  kilns: Pick<KilnNow, 'code' | 'name'>[];
  materials: { id: number; name: string }[];
  form: FormState;
}

/** What a notice is to hang on: each a small form of its own. */
export function WhereFormPage({ buckets, kilns, materials, form }: WhereProps) {
  return (
    <>
      <h1>Where does the notice hang?</h1>
      {form.errors.length > 0 && (
        <Flash words={form.errors.map(({ message }) => message).join(' ')} tone="refused" />
      )}
      <p class="narrow">
        On a bucket or a material it is drafted from the classification. On a kiln, in a room and everywhere
        the words are yours.
      </p>
      <Panel title="On a bucket">
        <Form action="/notices/new" method="get" id="bucket">
          <Select
            name="bucket"
            label="Bucket"
            options={buckets.map(({ code, name }) => ({ value: code, label: `${name} ${code}` }))}
          />
          <Submit label="Draft it" look="plain" />
        </Form>
      </Panel>
      <Panel title="On a material">
        <Form action="/notices/new" method="get" id="material">
          <Select
            name="material"
            label="Material"
            options={materials.map(({ id, name }) => ({ value: String(id), label: name }))}
          />
          <Submit label="Draft it" look="plain" />
        </Form>
      </Panel>
      {kilns.length > 0 && (
        <Panel title="On a kiln">
          <Form action="/notices/new" method="get" id="kiln">
            <Select
              name="kiln"
              label="Kiln"
              options={kilns.map(({ code, name }) => ({ value: code, label: name }))}
            />
            <Submit label="Write it" look="plain" />
          </Form>
        </Panel>
      )}
      <Panel title="In a room">
        <Form action="/notices/new" method="get" id="room">
          <Field
            name="room"
            label="Room"
            hint="It shows at every bucket whose place begins with this."
            maxlength={60}
          />
          <Submit label="Write it" look="plain" />
        </Form>
      </Panel>
      <p>
        <a class="plain" href="/notices/new?everywhere=yes">
          Everywhere
        </a>
      </p>
      <p>
        <a href="/notices">All notices</a>
      </p>
      <Caution />
    </>
  );
}

interface Words extends Draft {
  validFrom: string;
  validTo: string | null;
  notForChildren: boolean;
}

interface FormProps {
  target: Target;
  classified: Classified | null;
  /** What the fields begin with. */
  words: Words;
  /** What would be drafted now, where the classification changed since. */
  fresh?: Draft | null;
  change?: { appeared: string[]; vanished: string[] } | null;
  /** Of the notice that is changed. */
  number?: number;
  action: string;
  hidden?: Record<string, string | number | undefined>;
  form: FormState;
  reader: NoticeReader;
}

export function NoticeFormPage(props: FormProps) {
  const { target, classified, words, fresh, change, number, action, hidden, form, reader } = props;
  return (
    <>
      <h1>{number === undefined ? 'New notice' : `Change notice ${number}`}</h1>
      <p class="soft">
        {SCOPE_WORDS[target.scope]}
        {target.scope !== 'everywhere' && `: ${target.name}`}
      </p>
      <Review change={change} fresh={fresh} target={target} />
      <Classes classified={classified} target={target} />
      {form.typed.preview !== undefined && form.errors.length === 0 && (
        <Preview classified={classified} target={target} form={form} />
      )}
      <Form
        action={action}
        form={form}
        idempotencyKey={reader.key}
        hidden={{ ...hidden, drafted: draftedFrom(classified) || undefined }}
      >
        <Field name="title" label="Title" value={words.title} maxlength={120} />
        {TASKS.filter((task) => target.scope !== 'kiln' || task === 'dipping').map((task) => (
          <TextArea
            key={task}
            name={task}
            label={taskWords(target.scope, task)}
            hint={task === 'dipping' ? 'Only what goes beyond the common rules. One short line.' : undefined}
            value={words[task]}
            rows={2}
            maxlength={240}
            optional
          />
        ))}
        <Check
          name="notForChildren"
          label="Not for children"
          hint="Classes with children do not dip from it."
          checked={words.notForChildren}
        />
        <Beside>
          <Field type="date" name="validFrom" label="From" value={words.validFrom} optional />
          <Field
            type="date"
            name="validTo"
            label="Up to and with"
            value={words.validTo ?? undefined}
            optional
          />
        </Beside>
        {classified === null && (
          <p class="soft">No classes stand behind it: everybody is asked again after every change.</p>
        )}
        <Submit label="Preview" look="plain" name="preview" value="yes" />
        <Submit
          label="Post it"
          small={`Members are asked to read it${target.scope === 'kiln' ? '' : ' before they dip'}.`}
        />
      </Form>
      <p>
        <a href={number === undefined ? '/notices' : `/notices/${number}`}>Leave it as it was</a>
      </p>
      <Caution />
    </>
  );
}

function Review({ change, fresh, target }: Pick<FormProps, 'change' | 'fresh' | 'target'>) {
  if (!change) return null;
  return (
    <Notice title="To be reviewed" tone="ask-technician">
      <p>The classification changed: {changeWords(change)}.</p>
      {fresh && (
        <>
          <p>Drafted anew it would say:</p>
          <Facts
            items={[
              ['Title', fresh.title],
              ...TASKS.filter((task) => fresh[task] !== '').map((task): [string, string] => [
                taskWords(target.scope, task),
                fresh[task],
              ]),
            ]}
          />
        </>
      )}
    </Notice>
  );
}

function Classes({ classified, target }: Pick<FormProps, 'classified' | 'target'>) {
  if (classified === null) return null;
  const { basis, unknown } = classified;
  return (
    <Panel title="Classified as">
      <p>{basis.classes.length > 0 ? basis.classes.join(', ') : 'Nothing that is known.'}</p>
      {unknown.map((words) => (
        <p key={words}>{words}</p>
      ))}
      <WorkedOut {...target} />
      <NotHarmless />
    </Panel>
  );
}

function Preview({ classified, target, form }: Pick<FormProps, 'classified' | 'target' | 'form'>) {
  const { typed } = form;
  const said = (name: string) => {
    const value = [typed[name]].flat().at(-1);
    return value?.trim() ?? '';
  };
  return (
    <Notice title={said('title')}>
      <NoticeBody
        signalWord={classified?.signalWord ?? null}
        pictograms={classified?.pictograms ?? []}
        notForChildren={said('notForChildren') === 'yes'}
        lines={TASKS.filter((task) => said(task) !== '').map((task) => ({
          task: taskWords(target.scope, task),
          words: said(task),
        }))}
      />
      <p class="soft">A preview: not posted yet.</p>
    </Notice>
  );
}
