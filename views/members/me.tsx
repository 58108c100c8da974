import type { Instant } from '../../server/core/clock.ts';
import { SCOPE_NAMES, type Scope } from '../../server/core/policy.ts';
import type { FormState } from '../../server/core/routes.ts';
import type { Caller } from '../../server/core/session.ts';
import { shownTime } from '../../server/core/wall-time.ts';
import type { OwnPage } from '../../server/members/service/own.ts';
import { Choice, Field, Form, Select, Submit } from '../ui/field.tsx';
import { Flash, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Ticks } from '../ui/ticks.tsx';
import { WallTabletPanel } from './own-card.tsx';
import { CurrentPassword, NewPassword, Whose } from './password.tsx';
import { CodeField } from './second-factor.tsx';
import { UNIT_OPTIONS } from './studio-fields.tsx';

/** The form that was refused. */
export interface Faulty {
  which: 'own' | 'password' | 'token' | 'pin';
  form: FormState;
}

interface MePageProps {
  person: Caller;
  own: OwnPage;
  now: Instant;
  done: string | undefined;
  faulty: Faulty | null;
  /** Whether a card would carry an address that a tablet can open. */
  cards: boolean;
  newKey: string;
}

export function MePage({ person, own, now, done, faulty, cards, newKey }: MePageProps) {
  const form = (which: Faulty['which']) => (faulty?.which === which ? faulty.form : undefined);
  return (
    <>
      {done && <Flash words={done} />}
      <h1>{person.name}</h1>
      <p class="soft">
        {person.email}, {person.role}
      </p>
      <p class="row">
        <a class="plain" href="/messages">
          {person.unread === 0 ? 'Messages' : messagesWords(person.unread)}
        </a>
        <a class="plain" href="/me/told">
          What reaches you
        </a>
      </p>
      <Panel title="Name and units">
        <Form id="own" action="/me" form={form('own')} idempotencyKey={newKey}>
          <Field name="name" label="Name" value={person.name} maxlength={80} autocomplete="name" />
          <Choice
            name="units"
            label="Units"
            value={own.units}
            options={[
              ...UNIT_OPTIONS,
              {
                value: 'studio',
                label: 'As the studio',
                hint: person.studio.units === 'us' ? 'US customary now' : 'metric now',
              },
            ]}
          />
          <Submit label="Save" look="plain" />
        </Form>
      </Panel>
      <WallTabletPanel own={own} cards={cards} form={form('pin')} newKey={newKey} />
      <Panel title="Password">
        <Form id="password" action="/me/password" form={form('password')}>
          <Whose email={person.email} />
          <CurrentPassword name="current" label="Current password" />
          <NewPassword label="New password" />
          <p class="hint">
            You stay signed in here. Everywhere else you are signed out, and your tokens end.
          </p>
          <Submit label="Change the password" look="plain" />
        </Form>
      </Panel>
      <Panel title="Second factor">
        <p class="hint">
          {own.hasFactor
            ? 'It is on: your phone shows a code that you type when you sign in.'
            : 'Besides your password you can be asked for a code from your phone, so that the password alone opens nothing.'}
        </p>
        <p>
          <a class="plain" href="/me/second-factor">
            {own.hasFactor ? 'Recovery codes, or end it' : 'Set up a second factor'}
          </a>
        </p>
      </Panel>
      <Tokens
        tokens={own.tokens}
        asksCode={own.hasFactor}
        {...{ person, now, newKey }}
        form={form('token')}
      />
      <Panel title="Sign out">
        <p class="hint">
          {own.browsers <= 1
            ? 'You are signed in in this browser only.'
            : `You are signed in in ${own.browsers} browsers.`}{' '}
          Everywhere means every browser, this one too. Tokens go on until they are revoked.
        </p>
        <div class="row">
          <Form id="out" action="/sign-out">
            <Submit label="Sign out" look="plain" />
          </Form>
          <Form id="everywhere" action="/me/sign-out-everywhere" idempotencyKey={newKey}>
            <Submit label="Sign out everywhere" look="plain" />
          </Form>
        </div>
      </Panel>
    </>
  );
}

const messagesWords = (count: number): string =>
  count === 1 ? 'One unread message' : `${count} unread messages`;

const SCOPE_WORDS: Record<Scope, string> = {
  'buckets:read': 'read buckets and gear',
  'buckets:record': 'record readings of buckets',
  'ware:read': 'read ware, clays and tiles',
  'kilns:read': 'read kilns, loads and firings',
  'kilns:log': 'send logs of firings',
  'materials:read': 'read materials and stock',
  'notices:read': 'read notices',
  'safety:read': 'read the safety log, containers and tests',
  'fees:read': 'read fees and accounts',
};

const scopeWords = (scope: string): string =>
  Object.hasOwn(SCOPE_WORDS, scope) ? SCOPE_WORDS[scope as Scope] : scope;

interface TokensProps {
  tokens: OwnPage['tokens'];
  asksCode: boolean;
  person: Caller;
  now: Instant;
  newKey: string;
  form: FormState | undefined;
}

function Tokens({ tokens, asksCode, person, now, newKey, form }: TokensProps) {
  const time = (at: Instant) => shownTime(at, now, person.studio.timeZone);
  return (
    <Panel title="Tokens for programs">
      <div class="form">
        <p class="hint">
          A program or instrument that sends a token of yours may do what you may do, or what you limit it to.{' '}
          <a href="/guide/devices">How an instrument sends a reading</a>
        </p>
        {tokens.length > 0 && (
          <Table
            caption="Your tokens"
            columns={[
              { label: 'Name', main: true },
              { label: 'May', keepLabel: true },
              { label: 'Made', keepLabel: true },
              { label: 'Ends', keepLabel: true },
              { label: 'Revoke' },
            ]}
            rows={tokens.map(({ name, scopes, createdAt, expiresAt }, at) => ({
              key: name,
              cells: [
                name,
                scopes === null ? 'do what you may' : scopes.map(scopeWords).join(', '),
                time(createdAt),
                expiresAt === null ? 'when revoked' : time(expiresAt),
                <Form
                  key={name}
                  id={`revoke${at}`}
                  action="/me/tokens/revoke"
                  idempotencyKey={newKey}
                  hidden={{ name }}
                >
                  <Submit label={`Revoke ${name}`} look="plain danger" />
                </Form>,
              ],
            }))}
          />
        )}
        <Form id="token" action="/me/tokens" form={form}>
          <Field
            name="name"
            label="Name of a new token"
            hint="Say which program it is for."
            maxlength={60}
            autocomplete="off"
          />
          <Select
            name="expires"
            label="Ends"
            value="90"
            options={[
              { value: '30', label: 'after 30 days' },
              { value: '90', label: 'after 90 days' },
              { value: '365', label: 'after a year' },
              { value: 'never', label: 'only when revoked' },
            ]}
          />
          <Ticks
            id="token"
            name="may"
            legend="May do"
            hint="Of what you may do yourself. Give an instrument no more than it needs."
            options={[
              { value: 'everything', label: 'everything I may do' },
              ...SCOPE_NAMES.map((value) => ({ value, label: SCOPE_WORDS[value] })),
            ]}
            form={form ?? { typed: {}, errors: [] }}
          />
          {asksCode && <CodeField hint="A program signs in without one, so this asks for it now." />}
          <Submit label="Make a token" look="plain" />
        </Form>
      </div>
    </Panel>
  );
}
