import type { FormState } from '../../server/core/routes.ts';
import type { Way } from '../../server/core/told.ts';
import type { ToldPage as Told } from '../../server/members/service/told.ts';
import { typedTime } from '../../server/members/told-form.ts';
import { Beside, Field, Form, Select, Submit } from '../ui/field.tsx';
import { Flash, Notice, Panel } from '../ui/panel.tsx';

const WAY_WORDS: Record<Way, string> = {
  inbox: 'Under Messages',
  mail: 'Under Messages and by mail',
  none: 'Not at all',
};

interface ToldPageProps extends Told {
  email: string;
  sendsMail: boolean;
  saved: boolean;
  form: FormState;
  newKey: string;
}

/** A way for each thing that somebody can be told of, and the hours without mail. */
export function ToldPage({ kinds, quiet, email, sendsMail, saved, form, newKey }: ToldPageProps) {
  return (
    <>
      {saved && <Flash words="Saved." />}
      <h1>What reaches you</h1>
      <p class="narrow">
        Mail goes to {email}. The same is never told twice, and small things of a day come together.
      </p>
      {!sendsMail && (
        <Notice title="No mail goes out from here yet" tone="ask-technician">
          <p>The studio has set up no mail server. What you choose counts as soon as it has.</p>
        </Notice>
      )}
      <Form action="/me/told" form={form} idempotencyKey={newKey}>
        {kinds.map(({ kind, words, way, ways }) => (
          <Select
            key={kind}
            name={kind}
            label={words}
            value={way}
            options={ways.map((value) => ({ value, label: WAY_WORDS[value] }))}
          />
        ))}
        <Panel title="Quiet time">
          <p class="hint">
            No mail goes out to you between these times on the studio's clock. It waits until they are over.
            Leave both empty for none.
          </p>
          <Beside>
            <Field name="quietFrom" type="time" label="From" value={typedTime(quiet.from)} optional />
            <Field name="quietUntil" type="time" label="Until" value={typedTime(quiet.until)} optional />
          </Beside>
        </Panel>
        <Submit label="Save" />
      </Form>
      <p>
        <a href="/me">Back to your page</a>
      </p>
    </>
  );
}
