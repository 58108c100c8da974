import type { StateName } from '../../server/buckets/verdict.ts';
import type { FormState } from '../../server/core/routes.ts';
import { shownDay, shownTime } from '../../server/core/wall-time.ts';
import type { LogReader } from '../../server/safety/actions/log-reader.ts';
import { everyWords, USUAL_DUTIES } from '../../server/safety/duty.ts';
import { KINDS } from '../../server/safety/log.ts';
import { DUTY_KINDS, type DutyNow } from '../../server/safety/service/duties.ts';
import { Beside, Field, Form, NumberField, Select, Submit } from '../ui/field.tsx';
import { StateIcon } from '../ui/icons.tsx';
import { liveRegion } from '../ui/live.ts';
import { Empty, Flash, More, Panel } from '../ui/panel.tsx';
import { PlainAct } from '../ui/verdict.tsx';
import { BackToSafety } from './log-parts.tsx';
import { Caution } from './parts.tsx';

const FOR_WORDS = { member: 'Everybody', technician: 'Technicians', manager: 'Managers' } as const;

interface DutiesProps {
  duties: DutyNow[];
  done: string | null;
  form: FormState;
  reader: LogReader;
}

export function DutiesPage({ duties, done, form, reader }: DutiesProps) {
  const names = new Set(duties.map(({ name }) => name.toLowerCase()));
  const missing = USUAL_DUTIES.filter(({ name }) => !names.has(name.toLowerCase()));
  return (
    <>
      {done && <Flash words={done} />}
      <h1>Duties</h1>
      <p class="soft narrow">What comes round again. A tap on Done writes it into the log with your name.</p>
      <DutyList duties={duties} reader={reader} />
      {reader.mayEditDuties && (
        <div class="split">
          <NewDuty form={form} reader={reader} />
          {missing.length > 0 && (
            <Panel title="What most studios do">
              <ul>
                {missing.map(({ name, everyDays }) => (
                  <li key={name}>
                    {name}, {everyWords(everyDays)}
                  </li>
                ))}
              </ul>
              <PlainAct
                post="/safety/duties/usual"
                idempotencyKey={`${reader.key}-usual`}
                label="Add these"
              />
            </Panel>
          )}
        </div>
      )}
      <Caution />
      <p>
        <BackToSafety />
      </p>
    </>
  );
}

/** Every duty as it stands; it asks for itself again. */
export function DutyList({ duties, reader }: Pick<DutiesProps, 'duties' | 'reader'>) {
  return (
    <div id="duties" {...liveRegion({ on: 'safety', href: '/safety/duties' })}>
      {duties.length === 0 ? (
        <Empty title="No duties yet">
          <p>Wet cleaning, filters, the eyewash: whatever must not be forgotten.</p>
        </Empty>
      ) : (
        <ul class="dues">
          {duties.map((duty) => (
            <li key={duty.number}>
              <DutyCard duty={duty} from="duties" reader={reader} />
              {reader.mayEditDuties && (
                <More summary={`End “${duty.name}”`}>
                  <PlainAct
                    post={`/safety/duties/${duty.number}/end`}
                    idempotencyKey={`${reader.key}-end-${duty.number}`}
                    label="It comes round no more"
                  />
                </More>
              )}
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}

function NewDuty({ form, reader }: Pick<DutiesProps, 'form' | 'reader'>) {
  return (
    <Panel title="Add a duty">
      <Form action="/safety/duties" form={form} idempotencyKey={`${reader.key}-new`}>
        <Field name="name" label="What is to be done" maxlength={80} autocomplete="off" />
        <Beside>
          <NumberField
            name="everyDays"
            label="Every so many days"
            unit="days"
            hint="0: after each session."
            value={30}
          />
          <Field type="date" name="fromOn" label="First due on" value={reader.today} optional />
        </Beside>
        <Select
          name="kind"
          label="Written down as"
          options={DUTY_KINDS.map((kind) => ({ value: kind, label: KINDS[kind].words }))}
        />
        <Select
          name="forRole"
          label="Whose duty"
          value="technician"
          options={(['member', 'technician', 'manager'] as const).map((role) => ({
            value: role,
            label: FOR_WORDS[role],
          }))}
        />
        <Submit label="Add this duty" />
      </Form>
    </Panel>
  );
}

interface CardProps {
  duty: DutyNow;
  /** Where Done leads back to. */
  from: 'hub' | 'duties';
  reader: LogReader;
}

export function DutyCard({ duty, from, reader }: CardProps) {
  const { number, name, everyDays, kind, forRole, last, isMine } = duty;
  const { state, words } = stateOf(duty);
  const Heading = from === 'hub' ? 'h3' : 'h2';
  return (
    <article class={`due is-${state}`}>
      <p class="lid-state">
        <StateIcon state={state} />
        {words}
      </p>
      <Heading class="lid-name">{name}</Heading>
      <p>
        {upper(everyWords(everyDays))}. {FOR_WORDS[forRole]}.{' '}
        {last ? (
          <>
            Last <a href={`/safety/log/${last.number}`}>{shownTime(last.at, reader.now, reader.timeZone)}</a>{' '}
            by {last.by}.
          </>
        ) : (
          'Not done yet.'
        )}
      </p>
      {isMine && (
        <div class="duty-acts">
          <PlainAct
            post={`/safety/duties/${number}/done`}
            idempotencyKey={`${reader.key}-done-${number}`}
            fields={{ from }}
            label={
              <>
                Done<span class="hidden-text">: {name}</span>
              </>
            }
          />
          <a class="plain" href={`/safety/log/new?kind=${kind}&duty=${number}`}>
            More to say<span class="hidden-text">: {name}</span>
          </a>
        </div>
      )}
    </article>
  );
}

/** How a duty stands, in a state's shape and words. */
function stateOf({ standing, everyDays, last }: DutyNow): { state: StateName; words: string } {
  const next = shownDay(standing.nextOn);
  if (standing.state === 'late')
    return {
      state: 'too-thick',
      words: `Overdue by ${standing.lateDays} ${standing.lateDays === 1 ? 'day' : 'days'}`,
    };
  if (standing.state === 'due')
    return { state: 'needs-reading', words: everyDays === 0 ? 'After this session' : 'Due today' };
  if (last === null) return { state: 'ready', words: `First due on ${next}` };
  return { state: 'ready', words: everyDays === 0 ? 'Done for today' : `Done, next on ${next}` };
}

const upper = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);
