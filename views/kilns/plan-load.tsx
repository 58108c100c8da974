import type { FormState } from '../../server/core/routes.ts';
import { shownTime, toWallTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import type { Booking } from '../../server/kilns/calendar.ts';
import { firingActs } from '../../server/kilns/firing-acts.ts';
import type { PlanPage } from '../../server/kilns/service/index.ts';
import { firingWords } from '../../server/ware/firing.ts';
import { Field, Form, Submit } from '../ui/field.tsx';
import { Facts, Flash, Notice, Panel } from '../ui/panel.tsx';
import { Act, PlainAct } from '../ui/verdict.tsx';
import { dayBefore } from './calendar.tsx';
import { LoadIt, loadAddress } from './load-parts.tsx';
import { LoadStateMark } from './load-state.tsx';
import { hoursText, isToCome } from './load-words.ts';

interface Props {
  plan: PlanPage;
  form: FormState;
  done: string | null;
  scheduleWord: string;
  reader: LoadReader;
}

/** When a load is fired: the next times that work, one tap each, and any other that works too. */
export function PlanLoadPage({ plan, form, done, scheduleWord, reader }: Props) {
  const { load, due, slots, cannot } = plan;
  const { place, takes, kiln } = load;
  const post = `${loadAddress(load.number)}/plan`;
  const at = (instant: number) => shownTime(instant, reader.now, reader.timeZone);
  const isPlanned = load.startsAt !== null;
  const general = form.errors.filter(({ path }) => path === '');
  return (
    <>
      {done && <Flash words={done} />}
      {general.length > 0 && <Flash tone="refused" words={general.map(({ message }) => message).join(' ')} />}
      <h1>
        When to fire load {load.number} <span class="soft">{kiln.name}</span>
      </h1>
      <p>
        <LoadStateMark state={load.state} /> · {firingWords(load.firing)}
      </p>
      {done && isPlanned && load.troubles.length === 0 && <Next load={load} reader={reader} />}
      {load.troubles.length > 0 && (
        <Notice title="It does not fit where it is" tone="do-not-use">
          <p>{load.troubles.join(' ')}</p>
        </Notice>
      )}
      <Facts items={factsOf(plan, reader)} />
      {cannot !== null ? (
        <Notice title="It cannot be planned now" tone="ask-technician">
          <p>{cannot}</p>
          {takes === null && (
            <p>
              <a href={loadAddress(load.number)}>Choose a {scheduleWord} on its page</a>
            </p>
          )}
        </Notice>
      ) : (
        <>
          <Panel title="The next times that work">
            {slots.length === 0 ? (
              <p>None in the next six weeks. Look at the hours and the power in the settings.</p>
            ) : (
              <ul class="slots">
                {slots.map((slot) => (
                  <li key={slot.startsAt}>
                    <PlainAct
                      post={post}
                      idempotencyKey={`${reader.key}-${slot.startsAt}`}
                      fields={{ startsAt: toWallTime(slot.startsAt, reader.timeZone), version: load.version }}
                      label={`Start ${at(slot.startsAt)}`}
                      small={slotWords(slot, due, at)}
                    />
                  </li>
                ))}
              </ul>
            )}
          </Panel>
          <Panel title="Another time">
            <Form
              id="plan"
              action={post}
              form={{ ...form, errors: form.errors.filter(({ path }) => path !== '') }}
              idempotencyKey={`${reader.key}-other`}
              hidden={{ version: load.version }}
            >
              <Field
                name="startsAt"
                type="datetime-local"
                label="Starts"
                hint="Somebody is there then to start it. When it is emptied follows from it."
                value={place ? toWallTime(place.startsAt, reader.timeZone) : ''}
              />
              <Submit label="Put it there" look="plain" />
            </Form>
          </Panel>
        </>
      )}
      {isPlanned && isToCome(load) && (
        <PlainAct
          post={`${loadAddress(load.number)}/unplan`}
          idempotencyKey={`${reader.key}-unplan`}
          fields={{ version: load.version }}
          label="Take it off the calendar"
        />
      )}
      <p class="row">
        <a class="plain" href={loadAddress(load.number)}>
          Back to load {load.number}
        </a>
        <a class="plain" href="/kilns/calendar">
          Calendar
        </a>
      </p>
    </>
  );
}

function factsOf({ load, due, settings }: PlanPage, { now, timeZone }: LoadReader): [string, string][] {
  const at = (instant: number) => shownTime(instant, now, timeZone);
  const { place, takes, kiln } = load;
  const facts: [string, string | false | null][] = [
    ['On the calendar', place ? `starts ${at(place.startsAt)}, out about ${at(place.freeAt)}` : 'not yet'],
    ['Ought to be out by', due !== null && dayBefore(due, timeZone)],
    ['Heats', takes && `${hoursText(takes.hours)}, estimate`],
    ['Cools', takes && `${hoursText(takes.coolHours.from)} to ${hoursText(takes.coolHours.to)}, estimate`],
    [
      'Power',
      kiln.power === 'electric' &&
        kiln.kilowatts !== null &&
        `${kiln.kilowatts} kW${settings.siteKilowatts === null ? '' : ` of ${settings.siteKilowatts} kW in the studio`}`,
    ],
  ];
  return facts.filter((fact): fact is [string, string] => Boolean(fact[1]));
}

/** What a load with a place on the calendar wants next. */
function Next({ load, reader }: { load: PlanPage['load']; reader: LoadReader }) {
  const at = loadAddress(load.number);
  switch (load.state) {
    case 'proposed':
      return <Act href={at} label="Look it over and approve it" small="Approving reserves its pieces." />;
    case 'approved':
      return reader.mayLoad ? <LoadIt load={load.number} /> : null;
    case 'loaded': {
      const [first] = firingActs(load, reader);
      return first ? <Act {...first} /> : null;
    }
    default:
      return null;
  }
}

const slotWords = ({ freeAt }: Booking, due: number | null, at: (instant: number) => string): string =>
  `Out about ${at(freeAt)}${due !== null && freeAt > due ? ', later than it ought to be' : ''}`;
