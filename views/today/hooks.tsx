import type { Instant } from '../../server/core/clock.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import { type CallKind, WHATS, type What } from '../../server/today/hook-call.ts';
import type { ShownCall, ShownHook } from '../../server/today/service/hooks.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { Empty, Facts, Flash, More, Notice, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Ticks } from '../ui/ticks.tsx';

const WHAT_WORDS: Record<What, string> = {
  bucket: 'Buckets',
  load: 'Loads',
  kiln: 'Kilns',
  piece: 'Pieces',
  notice: 'Notices',
  duty: 'Duties',
  entry: 'Safety log',
};

const ONE_WORDS: Record<CallKind, string> = {
  bucket: 'Bucket',
  load: 'Load',
  kiln: 'Kiln',
  piece: 'Piece',
  notice: 'Notice',
  duty: 'Duty',
  entry: 'Entry of the safety log',
  test: 'Test',
  everything: 'Everything',
};

interface HooksPageProps {
  hooks: ShownHook[];
  /** Systems in the studio's own network may be called. */
  toPrivate: boolean;
  done: string | null;
  form: FormState;
  now: Instant;
  timeZone: string;
  newKey: string;
}

export function HooksPage({ hooks, toPrivate, done, form, now, timeZone, newKey }: HooksPageProps) {
  const time = (at: Instant) => shownTime(at, now, timeZone);
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Hooks</h1>
      <p class="narrow">
        A hook tells another system of the studio that something changed: which bucket, which load. It says no
        more than that, and nothing about people. The other system asks for the rest with a token.
      </p>
      {hooks.length === 0 && <Empty title="No system is told of anything yet" />}
      {hooks.map((hook, at) => (
        <HookPanel key={hook.name} {...{ hook, time }} keys={`${newKey}-${at}`} />
      ))}
      <Panel title="A new hook">
        <Form id="new" action="/hooks" form={form}>
          <Field
            name="name"
            label="Name"
            hint="Which system it is: the shop, the screen at the door."
            maxlength={60}
            autocomplete="off"
          />
          <Field
            name="url"
            label="Address that is called"
            hint={
              toPrivate
                ? 'With https:, or http: in your own network.'
                : 'With https:. A private network is not reached from here.'
            }
            maxlength={500}
            autocomplete="off"
            spellcheck={false}
          />
          <Ticks
            id="new"
            name="whats"
            legend="Told of"
            options={WHATS.map((value) => ({ value, label: WHAT_WORDS[value] }))}
            form={form}
          />
          <Submit label="Make the hook" look="plain" />
        </Form>
      </Panel>
      <More summary="What is sent, and how to know that it comes from here">
        <p>
          A POST with JSON: <code>id</code>, <code>what</code>, <code>subject</code> (a code or number),{' '}
          <code>changedAt</code> and <code>href</code>, where to look. Several changes of one thing within a
          minute come as one call. <code>everything</code> means that it is too long ago to say what.
        </p>
        <p>
          It is signed as the open specification Standard Webhooks says: the header{' '}
          <code>webhook-signature</code> is <code>v1,</code> and the base64 of an HMAC-SHA256, by the secret
          of the hook, over <code>webhook-id</code>, a dot, <code>webhook-timestamp</code>, a dot and the
          body. Refuse a call whose time is more than five minutes off, and one whose id you had already.
        </p>
        <p>
          Answer with a status from 200 to 299 within ten seconds. Anything else is tried again, up to eight
          times in all within about thirty hours. 410 ends the hook. After five calls in a row that came to
          nothing it is paused.
        </p>
      </More>
    </>
  );
}

interface HookPanelProps {
  hook: ShownHook;
  time: (at: Instant) => string;
  keys: string;
}

function HookPanel({ hook, time, keys }: HookPanelProps) {
  const button = (path: string, label: string, look: 'plain' | 'plain danger' = 'plain') => (
    <Form action={`/hooks/${path}`} idempotencyKey={`${keys}-${path}`} hidden={{ name: hook.name }}>
      <Submit label={label} look={look} />
    </Form>
  );
  return (
    <Panel title={hook.name}>
      {hook.pausedAt !== null && (
        <Notice title="Paused" tone="ask-technician">
          <p>
            Since {time(hook.pausedAt)}
            {hook.pausedWhy && `: ${hook.pausedWhy}`}.
          </p>
        </Notice>
      )}
      <Facts
        items={[
          ['Address', <span class="hook-address">{hook.url}</span>],
          ['Told of', hook.whats.map((what) => WHAT_WORDS[what as What]).join(', ')],
          ['Made', `${time(hook.madeAt)} by ${hook.by}`],
        ]}
      />
      {hook.calls.length === 0 ? (
        <p class="soft">Nothing was sent yet.</p>
      ) : (
        <Table
          caption="Last calls"
          columns={[
            { label: 'Of', main: true },
            { label: 'Changed', keepLabel: true },
            { label: 'Tries', keepLabel: true, number: true },
            { label: 'What came of it', keepLabel: true },
          ]}
          rows={hook.calls.map((call, at) => ({
            key: at,
            cells: [
              `${ONE_WORDS[call.what]} ${call.subject}`,
              time(call.changedAt),
              call.tries,
              outcomeWords(call, time),
            ],
          }))}
        />
      )}
      <div class="row">
        {button('test', 'Send a test call')}
        {hook.pausedAt === null ? button('pause', 'Pause') : button('resume', 'Go on')}
        {button('end', 'End this hook', 'plain danger')}
      </div>
    </Panel>
  );
}

function outcomeWords(call: ShownCall, time: (at: Instant) => string): string {
  const said = call.status === null ? call.error : `answered ${call.status}`;
  if (call.standing === 'done') return `Taken: ${said}`;
  if (call.standing === 'given-up') return `Given up: ${said ?? 'not sent'}`;
  return said === null ? 'Waits to be sent' : `Not taken: ${said}. Next try ${time(call.dueAt)}`;
}

interface HookSecretPageProps {
  name: string;
  secret: string;
}

export function HookSecretPage({ name, secret }: HookSecretPageProps) {
  return (
    <>
      <h1>The secret of {name}</h1>
      <Notice title="Copy it now">
        <p>
          It is shown this once. The other system needs it to know that a call comes from here; whoever else
          has it can pretend to be this studio.
        </p>
      </Notice>
      <div class="form">
        <Field name="secret" label={name} value={secret} readOnly spellcheck={false} autocomplete="off" />
      </div>
      <p>
        <a class="plain" href="/hooks">
          I have copied it
        </a>
      </p>
    </>
  );
}
