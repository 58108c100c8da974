import type { Reader } from '../../server/buckets/actions/reader.ts';
import { PROBLEMS, type Problem } from '../../server/buckets/problems.ts';
import type { BucketNow } from '../../server/buckets/service/index.ts';
import type { FormState } from '../../server/core/routes.ts';
import { Form, Submit, TextArea } from '../ui/field.tsx';
import { Panel } from '../ui/panel.tsx';
import { SubPage } from './parts.tsx';

interface ProblemPageProps {
  bucket: BucketNow;
  form: FormState;
  reader: Reader;
}

export function ProblemPage({ bucket, form, reader }: ProblemPageProps) {
  const { contaminated, ...others } = PROBLEMS;
  const isNote = form.errors.length > 0 && form.typed.problem === undefined;
  return (
    <SubPage bucket={bucket} title="What is wrong?">
      <Form
        action={`/buckets/${bucket.code}/problem`}
        form={isNote ? undefined : form}
        idempotencyKey={reader.key}
      >
        <Submit
          label={contaminated}
          small="Stops its use at once and makes a tag to hang on it."
          name="problem"
          value="contaminated"
        />
        <div class="acts">
          {Object.entries(others).map(([problem, words]) => (
            <Submit key={problem} label={words} look="plain" name="problem" value={problem as Problem} />
          ))}
        </div>
        <TextArea
          name="note"
          label="In your words, before you tap"
          hint="Which glaze, how much, when."
          rows={2}
          maxlength={500}
          optional
        />
      </Form>
      <Panel title="Something else">
        <Form
          id="n"
          action={`/buckets/${bucket.code}/notes`}
          form={isNote ? form : undefined}
          idempotencyKey={`${reader.key}-note`}
        >
          <TextArea name="note" label="Write it down" rows={2} maxlength={500} />
          <Submit label="Keep this note" look="plain" />
        </Form>
      </Panel>
      <p>
        Somebody was hurt, or it was spilled?{' '}
        <a href={`/safety/log/new?bucket=${bucket.code}`}>Log it for safety</a>
      </p>
    </SubPage>
  );
}
