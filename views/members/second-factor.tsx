import type { Instant } from '../../server/core/clock.ts';
import type { FormState } from '../../server/core/routes.ts';
import type { Caller } from '../../server/core/session.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { OwnFactor } from '../../server/members/service/second-factor.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { Flash, Notice, Panel } from '../ui/panel.tsx';
import { Qr } from '../ui/qr.tsx';
import { CurrentPassword, Whose } from './password.tsx';

interface CodeFieldProps {
  label?: string;
  hint?: string;
  /** Six digits and nothing else are asked for, so that a phone offers the keys for them. */
  digitsOnly?: boolean;
  autofocus?: boolean;
}

/** The six digits that a phone shows, or a recovery code. */
export const CodeField = ({ label = 'Code', digitsOnly, ...rest }: CodeFieldProps) => (
  <Field
    {...rest}
    name="code"
    label={label}
    maxlength={40}
    autocomplete="one-time-code"
    spellcheck={false}
    {...(digitsOnly && { inputMode: 'numeric' as const })}
  />
);

const OR_RECOVERY = 'The six digits that your phone shows, or a recovery code.';

interface SecondFactorPageProps {
  person: Caller;
  own: OwnFactor;
  now: Instant;
  done: string | null;
  faulty: { which: 'begin' | 'codes' | 'end'; form: FormState } | null;
}

export function SecondFactorPage({ person, own, now, done, faulty }: SecondFactorPageProps) {
  const form = (which: 'begin' | 'codes' | 'end') => (faulty?.which === which ? faulty.form : undefined);
  // It was turned on or off meanwhile, so that the refused form is not on the page.
  const isElsewhere = (faulty?.which === 'begin') !== (own.since === null);
  return (
    <>
      {done && <Flash words={done} />}
      {faulty && isElsewhere && (
        <Flash words={faulty.form.errors.map(({ message }) => message).join(' ')} tone="refused" />
      )}
      <h1>Your second factor</h1>
      {person.owesFactor && (
        <Notice title="Set it up to go on" tone="ask-technician">
          <p>
            This studio asks technicians and managers for it. Until you have it you see what a member sees and
            change nothing.
          </p>
        </Notice>
      )}
      {own.since === null ? (
        <Begin person={person} form={form('begin')} />
      ) : (
        <>
          <p class="narrow">
            On since {shownTime(own.since, now, person.studio.timeZone)}. When you sign in, you type the code
            that your phone shows after your password. A token for programs asks for one when you make it.
          </p>
          <Panel title="Recovery codes">
            <p>
              <b>{own.codesLeft === 0 ? 'None is left.' : `${own.codesLeft} of ten are left.`}</b> Each lets
              you in once without the phone.
            </p>
            <Form id="codes" action="/me/second-factor/codes" form={form('codes')}>
              <CodeField hint={OR_RECOVERY} />
              <Submit label="Make ten new ones" small="The old ones end." look="plain" />
            </Form>
          </Panel>
          <Panel title="Another phone, or do without">
            <p class="hint">
              End it here, then set it up anew with the other phone. You are signed out everywhere else.
            </p>
            <Form id="end" action="/me/second-factor/end" form={form('end')}>
              <Whose email={person.email} />
              <CurrentPassword name="password" label="Current password" />
              <CodeField hint={OR_RECOVERY} />
              <Submit label="End the second factor" look="plain danger" />
            </Form>
          </Panel>
        </>
      )}
      <p>
        <a href="/me">Back to your page</a>
      </p>
    </>
  );
}

function Begin({ person, form }: { person: Caller; form: FormState | undefined }) {
  return (
    <>
      <p class="narrow">
        A password can be watched or guessed. With a second factor you also type six digits that an app on
        your phone shows, new ones every 30 seconds: any app for one-time codes does, and it needs no network.
      </p>
      <Form id="begin" action="/me/second-factor" form={form}>
        <Whose email={person.email} />
        <CurrentPassword name="password" label="Current password" />
        <Submit label="Show me the key" small="For the app on your phone." />
      </Form>
    </>
  );
}

interface KeyPageProps {
  form: FormState | undefined;
  shownKey: string;
  /** The same in groups of four. */
  groups: string;
  /** What the QR code holds. */
  address: string;
}

export function KeyPage({ form, shownKey, groups, address }: KeyPageProps) {
  return (
    <>
      <h1>Set up your second factor</h1>
      <ol class="narrow factor-steps">
        <li>
          <p>In the app on your phone, add an account and scan this:</p>
          <div class="factor-scan">
            <Qr text={address} label="QR code with the key for the app on your phone" />
          </div>
          <p>
            <a class="plain" href={address} hx-boost="false">
              Open it in the app on this phone
            </a>
          </p>
          <p>
            Or type this key there, counted by time: <output class="factor-key">{groups}</output>
          </p>
        </li>
        <li>
          <p>Type the code that the app shows now.</p>
          <Form action="/me/second-factor/confirm" form={form} hidden={{ secondFactorKey: shownKey }}>
            <CodeField hint="Six digits." digitsOnly />
            <Submit label="Turn it on" small="You are signed out everywhere else." />
          </Form>
        </li>
      </ol>
      <p>
        <a href="/me/second-factor">Not now</a>
      </p>
    </>
  );
}

interface RecoveryCodesPageProps {
  codes: string[];
  studio: string;
  isFresh: boolean;
}

export function RecoveryCodesPage({ codes, studio, isFresh }: RecoveryCodesPageProps) {
  return (
    <>
      <div class="screen-only">
        {isFresh && <Flash words="Your second factor is on." />}
        <h1>Your recovery codes</h1>
        <Notice title="Keep them now: they are shown this once">
          <p>
            Each lets you in once when you do not have your phone. Print or copy them, and keep them where the
            phone is not.
          </p>
        </Notice>
      </div>
      <article class="recovery-codes" aria-label="Ten recovery codes">
        <p>
          <b>Recovery codes</b>, {studio}
        </p>
        <ul>
          {codes.map((code) => (
            <li key={code}>
              <code>{code}</code>
            </li>
          ))}
        </ul>
      </article>
      <div class="row screen-only">
        <button class="plain" type="button" data-print>
          Print the codes
        </button>
        <a class="plain" href="/me/second-factor">
          I have kept them
        </a>
      </div>
    </>
  );
}
