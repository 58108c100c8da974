import type { StateName } from '../../server/buckets/verdict.ts';
import type { Instant } from '../../server/core/clock.ts';
import type { MailNow, Outbox } from '../../server/core/outbox.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { typedTime } from '../../server/members/told-form.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { StateIcon } from '../ui/icons.tsx';
import { Empty, Flash, More, Notice, Panel } from '../ui/panel.tsx';

interface MailPageProps extends Outbox {
  /** Whether there is a mail server to send it through. */
  sends: boolean;
  /** Whether a mail can say where in Wareboard to look. */
  links: boolean;
  /** When the day's list goes out, for whoever may change that. */
  digestAt: number | null;
  done: string | null;
  now: Instant;
  timeZone: string;
  form: FormState;
  newKey: string;
}

/** What goes out, what went, and what could not. */
export function MailPage(props: MailPageProps) {
  const { mails, waiting, givenUp, sends, links, digestAt, done, now, timeZone, form, newKey } = props;
  const time = (at: Instant) => shownTime(at, now, timeZone);
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Mail</h1>
      {!sends && (
        <Notice title="No mail goes out" tone="ask-technician">
          <p>
            There is no mail server in the settings (<code>SMTP_URL</code>). Mail is kept here for 60 days
            instead. When a server is set, what is younger than five days goes out.
          </p>
        </Notice>
      )}
      {!links && (
        <p class="hint narrow">
          The studio has no address that others can open (<code>PUBLIC_URL</code>), so mail says where to look
          without a link.
        </p>
      )}
      <p class="soft">
        {count(waiting, 'waits', 'wait')}, {givenUp === 0 ? 'none' : givenUp} given up.
      </p>
      {mails.length === 0 ? (
        <Empty title="No mail yet">
          <p>What people chose to be told by mail shows here, sent or not.</p>
        </Empty>
      ) : (
        <ul class="dues">
          {mails.map((mail, at) => (
            <li key={mail.id}>
              <MailCard mail={mail} {...{ sends, now, time }} newKey={`${newKey}-${at}`} />
            </li>
          ))}
        </ul>
      )}
      {digestAt !== null && (
        <Panel title="Once a day">
          <Form id="day" action="/mail/day" form={form} idempotencyKey={newKey}>
            <Field
              name="digestAt"
              type="time"
              label="The day's list and reminders go out at"
              hint="On the studio's clock."
              value={typedTime(digestAt)}
            />
            <Submit label="Save" look="plain" />
          </Form>
        </Panel>
      )}
      <p>
        <a href="/people">Back to people</a>
      </p>
    </>
  );
}

const count = (many: number, one: string, more: string): string =>
  many === 1 ? `1 ${one}` : `${many === 0 ? 'None' : many} ${more}`;

interface MailCardProps {
  mail: MailNow;
  sends: boolean;
  now: Instant;
  time: (at: Instant) => string;
  newKey: string;
}

function MailCard({ mail, sends, now, time, newKey }: MailCardProps) {
  const { id, to, subject, body, madeAt, lastError, sentTo } = mail;
  const { state, words, again } = standing(mail, sends, now, time);
  return (
    <article class={`due is-${state}`}>
      <p class="lid-state">
        <StateIcon state={state} />
        {words}
      </p>
      <h2 class="lid-name wraps">{subject}</h2>
      <p class="wraps">
        To {to.name}, {sentTo ?? to.email}. Made {time(madeAt)}.
      </p>
      {lastError !== null && <p class="wraps">{lastError}</p>}
      {body !== null && (
        <More summary="What it says">
          <p class="mail-words">{body}</p>
        </More>
      )}
      {again && (
        <Form id={`again${id}`} action="/mail/again" idempotencyKey={newKey} hidden={{ mail: id }}>
          <Submit label="Try again" look="plain" />
        </Form>
      )}
    </article>
  );
}

interface Standing {
  state: StateName;
  words: string;
  again: boolean;
}

function standing(
  { sentAt, givenUpAt, dueAt, tries, lastError }: MailNow,
  sends: boolean,
  now: Instant,
  time: (at: Instant) => string,
): Standing {
  if (sentAt !== null) return { state: 'ready', words: `Sent ${time(sentAt)}`, again: false };
  if (givenUpAt !== null) return { state: 'do-not-use', words: `Given up ${time(givenUpAt)}`, again: sends };
  if (!sends) return { state: 'on-test', words: 'Kept here', again: false };
  if (lastError !== null)
    return { state: 'needs-reading', words: `Not taken yet. Next try ${time(dueAt)}`, again: true };
  if (tries > 0) return { state: 'stir-first', words: 'Being sent', again: false };
  return dueAt > now
    ? { state: 'stir-first', words: `Waits until ${time(dueAt)}: their quiet time`, again: false }
    : { state: 'stir-first', words: 'Waits to be sent', again: false };
}
