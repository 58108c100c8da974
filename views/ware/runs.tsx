import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import type { RunPair } from '../../server/ware/service/runs.ts';
import { Field, Form, Select, Submit } from '../ui/field.tsx';
import { Empty, Flash, More } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';

interface Props {
  pairs: RunPair[];
  buckets: BucketNow[];
  form: FormState;
  mayEdit: boolean;
  done: string | null;
  newKey: string;
}

/** Which glazes run where one lies over the other. */
export function RunsPage({ pairs, buckets, form, mayEdit, done, newKey }: Props) {
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Glazes that run together</h1>
      <p class="soft narrow">
        Each may behave by itself. Where one lies over the other they melt more and run, whichever is on top.
        A piece with both needs a technician’s yes or stands on a tray in the kiln.
      </p>
      {pairs.length === 0 ? (
        <Empty title="No two glazes are known to run together">
          <p>What ran at an overlap goes on this list, so that the next pot stands on a tray.</p>
        </Empty>
      ) : (
        <ul class="plain-list">
          {pairs.map(({ a, b, why }, at) => (
            <li key={`${a.code},${b.code}`}>
              {a.code === b.code ? (
                <>
                  Two coats of <b>{a.name}</b> <span class="code">{a.code}</span>
                </>
              ) : (
                <>
                  <b>{a.name}</b> <span class="code">{a.code}</span> with <b>{b.name}</b>{' '}
                  <span class="code">{b.code}</span>
                </>
              )}
              : {why}
              {mayEdit && (
                <More
                  summary={
                    a.code === b.code
                      ? `Take two coats of ${a.name} off the list`
                      : `Take ${a.name} with ${b.name} off the list`
                  }
                >
                  <PlainAct
                    post="/ware/runs/remove"
                    idempotencyKey={`${newKey}-${at}`}
                    fields={{ a: a.code, b: b.code }}
                    label="They do not run"
                  />
                </More>
              )}
            </li>
          ))}
        </ul>
      )}
      {mayEdit && buckets.length > 0 && <NewPair buckets={buckets} form={form} newKey={newKey} />}
      <p class="row">
        <a href="/ware/glazes">Glazes in the kiln</a>
        <a href="/ware">Back to my ware</a>
      </p>
    </>
  );
}

function NewPair({ buckets, form, newKey }: Pick<Props, 'buckets' | 'form' | 'newKey'>) {
  const options = buckets.map(({ code, name }) => ({ value: code, label: `${name} ${code}` }));
  return (
    <>
      <h2>Two more</h2>
      <Form action="/ware/runs" form={form} idempotencyKey={newKey}>
        <Select name="a" label="This glaze" none="Choose" options={options} />
        <Select
          name="b"
          label="With this one"
          hint="The same again, if two coats of it run."
          none="Choose"
          options={options}
        />
        <Field
          name="why"
          label="What happens"
          hint="Such as: runs a hand’s breadth at the rim."
          maxlength={200}
        />
        <Submit label="They run together" />
      </Form>
    </>
  );
}
