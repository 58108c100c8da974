import { toWallTime } from '../../server/core/wall-time.ts';
import type { LoadReader } from '../../server/kilns/actions/load-reader.ts';
import { addDays, addMonths, dateOf, type StudioDay } from '../../server/kilns/calendar.ts';
import { halfHourUp } from '../../server/kilns/cooling.ts';
import type { CalendarPage, OnCalendar } from '../../server/kilns/service/index.ts';
import { firingWords } from '../../server/ware/firing.ts';
import { liveRegion } from '../ui/live.ts';
import { Empty, Filter, Flash, Notice, Panel } from '../ui/panel.tsx';
import { CalendarBars } from './calendar-bars.tsx';
import { loadAddress } from './load-parts.tsx';
import { LoadStateMark } from './load-state.tsx';

export interface Shown {
  view: 'week' | 'month';
  /** Any day of the week or month that is shown. */
  on: string;
  weeks: StudioDay[][];
}

interface Props {
  calendar: CalendarPage;
  shown: Shown;
  done: string | null;
  reader: LoadReader;
}

/** Loads on kilns over time: what happens on which day as a list, then drawn. */
export function CalendarView({ calendar, shown, done, reader }: Props) {
  const { kilns, entries, unplaced, settings } = calendar;
  const { view, on, weeks } = shown;
  const month = view === 'month' ? on.slice(0, 7) : null;
  const days = weeks.flat().filter(({ date }) => month === null || date.startsWith(month));
  const troubled = entries.filter(({ troubles }) => troubles.length > 0);
  const busy = days.flatMap((day) => {
    const things = thingsOn(day, entries);
    return things.length === 0 ? [] : [{ day, things }];
  });
  return (
    <>
      {done && <Flash words={done} />}
      <div id="calendar" {...liveRegion({ on: 'kilns', href: address(view, on) })}>
        <h1>Calendar</h1>
        <p class="soft">{titleOf(shown)}</p>
        <Filter
          label="Show"
          options={(['week', 'month'] as const).map((one) => ({
            href: address(one, on),
            label: one === 'week' ? 'Week' : 'Month',
            current: one === view,
          }))}
        />
        <nav class="row" aria-label="Other times">
          <a class="plain" href={address(view, step(shown, -1))}>
            Earlier
          </a>
          <a class="plain" href={`/kilns/calendar${view === 'month' ? '?view=month' : ''}`}>
            Now
          </a>
          <a class="plain" href={address(view, step(shown, 1))}>
            Later
          </a>
        </nav>
        {troubled.length > 0 && (
          <Notice title="This does not fit any more" tone="do-not-use">
            <ul>
              {troubled.map((load) => (
                <li key={load.number}>
                  <a href={loadAddress(load.number)}>Load {load.number}</a>: {load.troubles.join(' ')}
                  {reader.mayPlan && (
                    <>
                      {' '}
                      <a href={`${loadAddress(load.number)}/plan`}>Find another time</a>
                    </>
                  )}
                </li>
              ))}
            </ul>
          </Notice>
        )}
        {kilns.length === 0 ? (
          <Empty title="No kiln yet">
            <p>Loads stand here once there is a kiln to fire them in.</p>
          </Empty>
        ) : busy.length === 0 ? (
          <Empty title={`Nothing is planned this ${view}`}>
            <p>A load comes here once somebody says when it starts.</p>
          </Empty>
        ) : (
          <div class="days">
            {busy.map(({ day, things }) => (
              <section key={day.date}>
                <h2>{dayTitle(day.date, dateOf(reader.now, reader.timeZone))}</h2>
                <ul class="day-list">
                  {things.map(({ load, what, at }) => (
                    <li key={`${load.number} ${what}`}>
                      <b class="num">{toWallTime(at, reader.timeZone).slice(11)}</b>
                      <span>
                        <a href={loadAddress(load.number)}>Load {load.number}</a> {DOES[what](load)} ·{' '}
                        {load.kiln.name}
                        <small class="soft">{firingWords(load.firing)}</small>
                      </span>
                      <LoadStateMark state={load.state} />
                    </li>
                  ))}
                </ul>
              </section>
            ))}
          </div>
        )}
        <CalendarBars
          weeks={weeks}
          kilns={kilns}
          places={entries.map(({ place }) => place)}
          staffed={settings.staffed}
          timeZone={reader.timeZone}
          now={reader.now}
          month={month}
        />
        {reader.mayPlan && <Unplaced unplaced={unplaced} reader={reader} />}
        <p class="row">
          <a class="plain" href="/kilns/calendar/feed">
            In your own calendar
          </a>
          <a class="plain" href="/kilns">
            The kilns
          </a>
        </p>
      </div>
    </>
  );
}

type What = 'starts' | 'off' | 'free';

const DOES: Record<What, (load: OnCalendar) => string> = {
  starts: ({ startedAt }) => (startedAt === null ? 'starts' : 'started'),
  off: ({ shutOffAt }) => (shutOffAt === null ? 'stops heating about then, by plan' : 'was shut off'),
  free: ({ unloadedAt }) =>
    unloadedAt === null ? 'may be cold enough to empty, by forecast' : 'was emptied',
};

/** What begins or ends on a day, in its order. */
function thingsOn({ from, to }: StudioDay, entries: CalendarPage['entries']) {
  return entries
    .flatMap((load) => {
      const { startsAt, offAt, freeAt } = load.place;
      const all: { load: typeof load; what: What; at: number }[] = [
        { load, what: 'starts', at: startsAt },
        // By plan it is an estimate: no minutes.
        { load, what: 'off', at: load.shutOffAt === null ? halfHourUp(offAt) : offAt },
        { load, what: 'free', at: freeAt },
      ];
      return all;
    })
    .filter(({ at }) => from <= at && at < to)
    .sort((a, b) => a.at - b.at || a.load.number - b.load.number);
}

function Unplaced({ unplaced, reader }: { unplaced: CalendarPage['unplaced']; reader: LoadReader }) {
  return (
    <Panel title="Not on the calendar yet">
      {unplaced.length === 0 ? (
        <p class="soft">Every load has its time.</p>
      ) : (
        <ul class="wishes">
          {unplaced.map((load) => (
            <li key={load.number}>
              <span>
                <a href={loadAddress(load.number)}>Load {load.number}</a>, {load.kiln.name},{' '}
                {firingWords(load.firing)}
                {load.due !== null && (
                  <small class="soft"> · ought to be out by {dayBefore(load.due, reader.timeZone)}</small>
                )}
              </span>
              <a class="plain" href={`${loadAddress(load.number)}/plan`}>
                <span>
                  Find a time<span class="hidden-text"> for load {load.number}</span>
                </span>
              </a>
            </li>
          ))}
        </ul>
      )}
    </Panel>
  );
}

const address = (view: Shown['view'], on: string): string =>
  `/kilns/calendar?${view === 'month' ? 'view=month&' : ''}on=${on}`;

const step = ({ view, on }: Shown, by: 1 | -1): string =>
  view === 'month' ? addMonths(on, by) : addDays(on, 7 * by);

const dayFormat = new Intl.DateTimeFormat('en-GB', {
  weekday: 'long',
  day: 'numeric',
  month: 'long',
  timeZone: 'UTC',
});
const monthFormat = new Intl.DateTimeFormat('en-GB', { month: 'long', year: 'numeric', timeZone: 'UTC' });
const shortFormat = new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'short', timeZone: 'UTC' });

/** The last day before an instant, such as '9 Dec': what is due at midnight is due by the day that ends then. */
export const dayBefore = (at: number, timeZone: string): string =>
  shortFormat.format(utc(dateOf(at - 1, timeZone)));

const utc = (date: string): number => Date.parse(`${date}T00:00Z`);

/** 'Today, Friday 27 November' */
function dayTitle(date: string, today: string): string {
  const words = dayFormat.format(utc(date));
  if (date === today) return `Today, ${words}`;
  return date === addDays(today, 1) ? `Tomorrow, ${words}` : words;
}

export function titleOf({ view, on, weeks }: Shown): string {
  if (view === 'month') return monthFormat.format(utc(on));
  const days = weeks.flat();
  const [first, last] = [days[0]?.date ?? on, days.at(-1)?.date ?? on];
  return `${shortFormat.format(utc(first))} to ${shortFormat.format(utc(last))} ${last.slice(0, 4)}`;
}
