import type { FormState } from '../../server/core/routes.ts';
import { shownDay } from '../../server/core/wall-time.ts';
import { VERB_WORDS } from '../../server/safety/induction.ts';
import type {
  ListedInduction,
  PersonInductions,
  VerbStanding,
} from '../../server/safety/service/inductions.ts';
import { type SafetySettings, VERBS, type Verb } from '../../server/safety/settings.ts';
import { Field, Form, Submit, TextArea } from '../ui/field.tsx';
import { State } from '../ui/icons.tsx';
import { Empty, Filter, Flash, Notice, Pages, Panel } from '../ui/panel.tsx';
import { Table } from '../ui/table.tsx';
import { Ticks } from '../ui/ticks.tsx';
import { Caution } from './parts.tsx';

const BackToSafety = () => (
  <p>
    <a href="/safety">Back to safety</a>
  </p>
);

interface Props {
  settings: SafetySettings;
  people: PersonInductions[];
  /** Only who does this. */
  verb: Verb | null;
  inductions: ListedInduction[];
  next: number | null;
  mayChoose: boolean;
  done: string | null;
}

/** Who was shown what, and until when it holds. */
export function InductionsPage({ settings, people, verb, inductions, next, mayChoose, done }: Props) {
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Inductions</h1>
      <p class="narrow">
        What people were shown, when and by whom. One holds for {monthsWords(settings.inductionMonths)}.
      </p>
      {settings.gated.length === 0 ? <NotGated mayChoose={mayChoose} /> : <Gated settings={settings} />}
      <p>
        <a class="do" href={verb === null ? '/safety/inductions/new' : `/safety/inductions/new?verb=${verb}`}>
          Note inductions
        </a>
      </p>
      <Filter
        label="Show"
        options={[
          { href: '/safety/inductions', label: 'Everything', current: verb === null },
          ...VERBS.map((one) => ({
            href: `/safety/inductions?verb=${one}`,
            label: VERB_WORDS[one].name,
            current: one === verb,
          })),
        ]}
      />
      <ul class="inducted">
        {people.map((person) => (
          <Person key={person.id} person={person} verb={verb} />
        ))}
      </ul>
      <Panel title="As they were written down">
        {inductions.length === 0 ? <p>Nothing yet.</p> : <Written inductions={inductions} />}
        <Pages
          newest={null}
          older={
            next === null
              ? null
              : `/safety/inductions?${new URLSearchParams({ ...(verb !== null && { verb }), before: String(next) })}`
          }
          olderWords="Older ones"
        />
      </Panel>
      <p>
        <a href="/safety/rules">The common rules</a>
      </p>
      {mayChoose && (
        <p>
          <a href="/safety/settings">What is asked for here</a>
        </p>
      )}
      <BackToSafety />
      <Caution />
    </>
  );
}

const monthsWords = (months: number): string => (months === 1 ? 'a month' : `${months} months`);

const Gated = ({ settings: { gated } }: Pick<Props, 'settings'>) => (
  <p class="narrow">
    Asked for: {gated.map((verb) => VERB_WORDS[verb].name.toLowerCase()).join(', ')}. Whoever was not shown it
    is stopped when they record it.
  </p>
);

/** What a studio begins with. */
export function NotGated({ mayChoose }: { mayChoose: boolean }) {
  return (
    <Notice title="Nobody is stopped yet">
      <p>
        Note the inductions people have had, then switch it on
        {mayChoose ? (
          <>
            {' '}
            in the <a href="/safety/settings">safety settings</a>
          </>
        ) : (
          ': a manager does that in the safety settings'
        )}
        . Technicians and managers may note inductions without one of their own: somebody is the first.
      </p>
    </Notice>
  );
}

function Person({ person, verb }: { person: PersonInductions; verb: Verb | null }) {
  const shown = person.verbs.filter((one) =>
    verb === null ? one.concerns || one.givenOn !== null : one.verb === verb,
  );
  const query = new URLSearchParams({ person: person.email, ...(verb !== null && { verb }) });
  return (
    <li>
      <h2>{person.name}</h2>
      <Standings verbs={shown} />
      <a class="plain" href={`/safety/inductions/new?${query}`}>
        Note<span class="hidden-text"> an induction of {person.name}</span>
      </a>
    </li>
  );
}

/** How one person stands with each verb: shape and words. */
export function Standings({ verbs }: { verbs: VerbStanding[] }) {
  return (
    <ul class="standings">
      {verbs.map((one) => (
        <li key={one.verb}>
          <b>{VERB_WORDS[one.verb].name}</b>
          <StandingWords {...one} />
          {one.by !== null && one.givenOn !== null && (
            <small class="soft">
              {shownDay(one.givenOn)}, {one.by}
            </small>
          )}
        </li>
      ))}
    </ul>
  );
}

function StandingWords({ standing, until, isGated, concerns }: VerbStanding) {
  if (standing === 'held' && until) return <State state="ready" words={`until ${shownDay(until)}`} />;
  if (standing === 'soon' && until) return <State state="on-test" words={`ends ${shownDay(until)}`} />;
  const words = until ? `ran out ${shownDay(until)}` : 'not shown';
  if (!concerns || (!isGated && !until)) return <span class="soft">{words}</span>;
  return <State state={isGated ? 'do-not-use' : 'ask-technician'} words={words} />;
}

const Written = ({ inductions }: { inductions: ListedInduction[] }) => (
  <Table
    columns={[
      { label: 'Who', main: true },
      { label: 'Shown' },
      { label: 'On' },
      { label: 'By' },
      { label: 'Wrong?', wraps: true },
    ]}
    rows={inductions.map(({ id, person, verb, givenOn, by, struckBy, reason }) => ({
      key: id,
      struck: struckBy !== null,
      cells: [
        person,
        VERB_WORDS[verb].name,
        shownDay(givenOn),
        by,
        struckBy === null ? (
          <a class="plain" href={`/safety/inductions/${id}/void`}>
            Strike out
            <span class="hidden-text">
              {' '}
              {VERB_WORDS[verb].name} of {person}
            </span>
          </a>
        ) : (
          `Struck out by ${struckBy}: ${reason ?? ''}`
        ),
      ],
    }))}
  />
);

interface NewProps {
  people: Pick<PersonInductions, 'name' | 'email'>[];
  form: FormState;
  today: string;
  newKey: string;
}

/** Several people who were shown several things together. */
export function NewInductionsPage({ people, form, today, newKey }: NewProps) {
  return (
    <>
      <h1>Note inductions</h1>
      <p class="narrow">You showed them, on the floor and not on a screen. Your name stands beside it.</p>
      <Form action="/safety/inductions/new" form={form} idempotencyKey={newKey}>
        <Ticks
          name="people"
          legend="Who was shown"
          options={people.map(({ name, email }) => ({ value: email, label: name, hint: email }))}
          form={form}
        />
        <Ticks
          name="verbs"
          legend="What they were shown"
          options={VERBS.map((verb) => ({
            value: verb,
            label: VERB_WORDS[verb].name,
            ...(verb === 'common' && { hint: 'Once a year for everybody' }),
          }))}
          form={form}
        />
        <Field name="givenOn" type="date" label="On" value={today} />
        <Submit label="Note it" />
      </Form>
      <p>
        <a href="/safety/rules">The common rules</a>
      </p>
      <p>
        <a href="/safety/inductions">Back to inductions</a>
      </p>
      <Caution />
    </>
  );
}

interface StrikeOutProps {
  induction: ListedInduction;
  form: FormState;
  newKey: string;
}

export function StrikeOutInductionPage({ induction, form, newKey }: StrikeOutProps) {
  const { id, person, verb, givenOn, by, struckBy } = induction;
  return (
    <>
      <h1>Strike out an induction</h1>
      <p class="narrow">
        {person}: {VERB_WORDS[verb].name.toLowerCase()}, shown on {shownDay(givenOn)} by {by}. It stays on the
        list, crossed through, and counts no longer.
      </p>
      {struckBy === null ? (
        <Form action={`/safety/inductions/${id}/void`} form={form} idempotencyKey={newKey}>
          <TextArea name="reason" label="What was wrong with it" maxlength={300} />
          <Submit label="Strike it out" />
        </Form>
      ) : (
        <Empty title={`Struck out by ${struckBy}`} />
      )}
      <p>
        <a href="/safety/inductions">Back to inductions</a>
      </p>
      <Caution />
    </>
  );
}

/** One person's own. */
export function OwnInductionsPage({ settings, verbs }: { settings: SafetySettings; verbs: VerbStanding[] }) {
  const shown = verbs.filter((one) => one.concerns || one.givenOn !== null);
  return (
    <>
      <h1>What you were shown</h1>
      <p class="narrow">
        One induction holds for {monthsWords(settings.inductionMonths)}. To be shown something, ask a
        technician.
      </p>
      {settings.gated.length > 0 && <Gated settings={settings} />}
      <Standings verbs={shown} />
      <p>
        <a href="/safety/rules">The common rules</a>
      </p>
      <BackToSafety />
      <Caution />
    </>
  );
}
