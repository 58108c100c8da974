import { CalendarView, type Shown, titleOf } from '../../../views/kilns/calendar.tsx';
import { FeedPage, NewFeedPage } from '../../../views/kilns/feed.tsx';
import { PlanLoadPage } from '../../../views/kilns/plan-load.tsx';
import { printedAddress } from '../../core/address.ts';
import {
  type Answer,
  download,
  emptyForm,
  type FormState,
  go,
  page,
  type Visit,
  watching,
} from '../../core/routes.ts';
import { absolute, actInSecret } from '../../members/visit.ts';
import { dateOf, daysFrom, mondayOf, weeksOfMonth } from '../calendar.ts';
import {
  calendarFeed,
  makeFeed,
  ownFeed,
  planForm,
  planLoad,
  revokeFeed,
  showCalendar,
  showPlan,
  unplanForm,
  unplanLoad,
} from '../service/index.ts';
import { doneIn, loadNumber, loadReaderOf } from './load-reader.ts';

/** A week or a month of the kilns. */
export async function showCalendarPage(visit: Visit): Promise<Answer> {
  const shown = shownOf(visit);
  const days = shown.weeks.flat();
  const span = { from: days[0]?.from ?? visit.now, to: days.at(-1)?.to ?? visit.now };
  return watching(
    ['kilns'],
    page(
      `Calendar, ${titleOf(shown)}`,
      'kilns',
      <CalendarView
        calendar={await showCalendar(visit.read, span)}
        shown={shown}
        done={null}
        reader={loadReaderOf(visit)}
      />,
    ),
  );
}

function shownOf({ query, now, studio: { timeZone } }: Visit): Shown {
  const on = isDate(query.on) ? query.on : dateOf(now, timeZone);
  if (query.view !== 'month') return { view: 'week', on, weeks: [daysFrom(mondayOf(on), 7, timeZone)] };
  const { monday, weeks } = weeksOfMonth(on);
  const days = daysFrom(monday, 7 * weeks, timeZone);
  return {
    view: 'month',
    on,
    weeks: Array.from({ length: weeks }, (_, week) => days.slice(7 * week, 7 * week + 7)),
  };
}

/** A day that a calendar of this studio can show. */
const isDate = (typed: unknown): typed is string =>
  typeof typed === 'string' &&
  /^20\d\d-\d\d-\d\d$/.test(typed) &&
  new Date(`${typed}T00:00Z`).toJSON()?.startsWith(typed) === true;

const PLANNED = {
  plan: 'It is on the calendar.',
  unplan: 'It is off the calendar.',
};

/** When a load could be fired. */
export async function showPlanPage(visit: Visit, form: FormState = emptyForm()): Promise<Answer> {
  const plan = await showPlan(visit.read, loadNumber(visit));
  return page(
    `When to fire load ${plan.load.number}`,
    'kilns',
    <PlanLoadPage
      plan={plan}
      form={form}
      done={doneIn(visit, form, PLANNED)}
      scheduleWord={plan.settings.scheduleWord}
      reader={loadReaderOf(visit)}
    />,
  );
}

export const placeLoad = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showPlanPage(visit, form),
    async () => {
      const number = loadNumber(visit);
      const command = visit.form(planForm);
      await visit.act((act) => planLoad(act, number, command));
      return go(`/kilns/loads/${number}/plan?did=plan`);
    },
  );

export const takeOffCalendar = (visit: Visit): Promise<Answer> =>
  visit.submit(
    (form) => showPlanPage(visit, form),
    async () => {
      const number = loadNumber(visit);
      const command = visit.form(unplanForm);
      await visit.act((act) => unplanLoad(act, number, command));
      return go(`/kilns/loads/${number}/plan?did=unplan`);
    },
  );

/** One's own private link. */
export async function showFeed(visit: Visit): Promise<Answer> {
  return page(
    'In your own calendar',
    'kilns',
    <FeedPage
      madeAt={await ownFeed(visit.read)}
      done={doneIn(visit, emptyForm(), {
        end: 'The link has ended. Nothing can read the calendar with it.',
      })}
      reader={loadReaderOf(visit)}
    />,
  );
}

/** A second tap makes a second link: the secret of the first is in no store of ours. */
export async function makeOwnFeed(visit: Visit): Promise<Answer> {
  const secret = await actInSecret(visit, makeFeed);
  return page(
    'Your calendar link',
    'kilns',
    <NewFeedPage url={absolute(visit, `/calendar/${secret}.ics`)} />,
  );
}

export async function endOwnFeed(visit: Visit): Promise<Answer> {
  await visit.act((act) => revokeFeed(act));
  return go('/kilns/calendar/feed?did=end');
}

/** The calendar itself, for whoever holds a link; nobody is signed in. */
export async function sendFeed(visit: Visit): Promise<Answer> {
  const { services, now } = visit;
  const text = await calendarFeed({ tx: services.database.db, now }, visit.param('secret'), (load) =>
    printedAddress(services.config, `/kilns/loads/${load}`),
  );
  return download('kilns.ics', 'text/calendar; charset=utf-8', inOne(text));
}

async function* inOne(text: string): AsyncGenerator<string> {
  yield text;
}
